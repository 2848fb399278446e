package indi

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net"
	"slices"
	"sync"
	"time"

	"legroom/mount"
)

// maxClients bounds the connections. Beyond it the client that was silent for longest has to go.
const maxClients = 64

// Server serves the properties of devices to its clients. The zero value has none. Define, Set, Update, Delete and Say may be
// called at any time, from New and Asked as well; they never wait for a client.
type Server struct {
	// New is told a client's wish: Device, Name, Kind and the Members that the client gave. The property is there and can be
	// written, members have its names, numbers are within its range, and no more switches are on than its rule allows. The
	// answer is a Set of the property: the client holds it for Busy until then. Wishes of one client come one after the other,
	// those of several clients at the same time.
	New func(wish Vector)
	// Asked, if there, is told that a client asks for the definitions of a device (of all: ""), or of one property, before they
	// go out: the time to Update what changes by itself.
	Asked func(device, name string)

	mu      sync.Mutex
	vectors []Vector // in the order in which they were defined
	clients map[*client]bool
}

// Define adds a property, or replaces it, and tells the clients.
func (s *Server) Define(v Vector) error {
	if err := v.check(); err != nil {
		return err
	}
	v.Members = slices.Clone(v.Members)
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := s.find(v.Device, v.Name); i >= 0 {
		s.vectors[i] = v
	} else {
		s.vectors = append(s.vectors, v)
	}
	s.tell(Element{Op: Def, Vector: v})
	return nil
}

// check finds what cannot be told.
func (v Vector) check() error {
	fault := func(what string) error {
		return fmt.Errorf("property %q of %q: %w: %s", v.Name, v.Device, mount.ErrValue, what)
	}
	switch {
	case v.Device == "" || v.Name == "":
		return fault("give a device and a name")
	case v.Kind < Text || v.Kind > Light:
		return fault("give a kind other than BLOB")
	case v.State == Unstated:
		return fault("give a state")
	case !slices.Contains([]string{"ro", "wo", "rw"}, v.Perm) && v.Kind != Light:
		return fault("give ro, wo or rw as its permission")
	case !slices.Contains([]string{"OneOfMany", "AtMostOne", "AnyOfMany"}, v.Rule) && v.Kind == Switch:
		return fault("give OneOfMany, AtMostOne or AnyOfMany as its rule")
	}
	names := map[string]bool{}
	for _, m := range v.Members {
		if m.Name == "" || names[m.Name] {
			return fault(fmt.Sprintf("member %q has no name, or that of another", m.Name))
		}
		if x := m.Number + m.Min + m.Max + m.Step; math.IsNaN(x) || math.IsInf(x, 0) {
			return fault(fmt.Sprintf("member %s is not finite", m.Name))
		}
		names[m.Name] = true
	}
	return nil
}

func (s *Server) find(device, name string) int {
	return slices.IndexFunc(s.vectors, func(v Vector) bool { return v.Device == device && v.Name == name })
}

// Set changes the given members of a property, its state unless Unstated, and its message, and tells the clients.
func (s *Server) Set(v Vector) error { return s.change(v, true) }

// Update is Set without telling: the next one to ask is told.
func (s *Server) Update(v Vector) error { return s.change(v, false) }

func (s *Server) change(set Vector, aloud bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.find(set.Device, set.Name)
	if i < 0 {
		return fmt.Errorf("property %q of %q: %w: it is not defined", set.Name, set.Device, mount.ErrLacks)
	}
	for _, m := range set.Members {
		if _, ok := s.vectors[i].Member(m.Name); !ok {
			return fmt.Errorf("property %q of %q: %w: member %q", set.Name, set.Device, mount.ErrLacks, m.Name)
		}
	}
	now := s.vectors[i].with(set)
	if err := now.check(); err != nil {
		return err
	}
	s.vectors[i] = now
	if aloud {
		s.tell(Element{Op: Set, Vector: now})
	}
	s.vectors[i].Message = "" // said once
	return nil
}

// Delete takes a property away, or the whole device without a name, and tells the clients.
func (s *Server) Delete(device, name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.vectors = slices.DeleteFunc(s.vectors, func(v Vector) bool { return v.Device == device && (name == "" || v.Name == name) })
	s.tell(Element{Op: Delete, Vector: Vector{Device: device, Name: name}})
}

// Say tells the clients a word to people.
func (s *Server) Say(device, message string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tell(Element{Op: Message, Vector: Vector{Device: device, Message: message}})
}

// tell sends an element to the clients that asked for it.
func (s *Server) tell(e Element) {
	var wire []byte
	for c := range s.clients {
		if !c.wants(e.Device, e.Name) {
			continue
		}
		if wire == nil {
			wire = e.wire()
		}
		c.send(wire)
	}
}

// define answers a client that asks.
func (s *Server) define(c *client, device, name string) error {
	if s.Asked != nil {
		s.Asked(device, name)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := c.want(device, name); err != nil {
		return err
	}
	for _, v := range s.vectors {
		if (device == "" || v.Device == device) && (name == "" || v.Name == name) {
			c.send(Element{Op: Def, Vector: v}.wire())
		}
	}
	return nil
}

// wish passes a client's wish on, or tells this client alone why not: one client's nonsense is no alert to the others.
func (s *Server) wish(c *client, e Element) {
	s.mu.Lock()
	i := s.find(e.Device, e.Name)
	if i < 0 {
		word := Vector{Device: e.Device, Message: fmt.Sprintf("there is no property %q", clipped(e.Name))}
		c.send(Element{Op: Message, Vector: word}.wire())
		s.mu.Unlock()
		return
	}
	v := s.vectors[i]
	if why := v.refuses(e); why != "" {
		v.State, v.Message = Alert, why
		c.send(Element{Op: Set, Vector: v}.wire())
		s.mu.Unlock()
		return
	}
	s.mu.Unlock()
	if s.New != nil {
		s.New(e.Vector)
	}
}

// refuses says what is wrong with a wish, "" if nothing is.
func (v Vector) refuses(wish Element) string {
	switch {
	case wish.Bad != nil:
		return wish.Bad.Error()
	case wish.Kind != v.Kind:
		return fmt.Sprintf("this is a %s, not a %s", v.Kind, wish.Kind)
	case v.Perm == "ro" || v.Kind == Light:
		return "this can only be read"
	case len(wish.Members) == 0:
		return "no member is given"
	}
	for _, m := range wish.Members {
		is, ok := v.Member(m.Name)
		if !ok {
			return fmt.Sprintf("there is no member %q", clipped(m.Name))
		}
		if v.Kind == Number && is.Max > is.Min && !(m.Number >= is.Min && m.Number <= is.Max) {
			return fmt.Sprintf("%s %g is not from %g to %g", m.Name, m.Number, is.Min, is.Max)
		}
	}
	on := len(wish.On())
	if v.Kind == Switch && (on > 1 && v.Rule != "AnyOfMany" || on != 1 && v.Rule == "OneOfMany") {
		return fmt.Sprintf("%d switches on do not fit %s", on, v.Rule)
	}
	return ""
}

// Serve serves the clients of a listener until the context ends; then it closes all.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	var running sync.WaitGroup
	defer running.Wait()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer context.AfterFunc(ctx, func() { l.Close() })()
	for {
		conn, err := l.Accept()
		switch {
		case ctx.Err() != nil:
			if err == nil {
				_ = conn.Close()
			}
			return nil
		case errors.Is(err, net.ErrClosed):
			return err
		case err != nil: // no descriptors left, say: wait for better times
			select {
			case <-ctx.Done():
			case <-time.After(100 * time.Millisecond):
			}
			continue
		}
		c := newClient(conn)
		s.admit(c)
		running.Go(func() {
			stop := context.AfterFunc(ctx, c.drop)
			s.serve(c)
			stop()
		})
	}
}

// admit takes a client in.
func (s *Server) admit(c *client) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.clients == nil {
		s.clients = map[*client]bool{}
	}
	if len(s.clients) >= maxClients {
		var silent *client
		for other := range s.clients {
			if silent == nil || other.heard.Load() < silent.heard.Load() {
				silent = other
			}
		}
		silent.drop()
		delete(s.clients, silent)
	}
	s.clients[c] = true
}

// serve reads what a client says until it ends, breaks the protocol or is dropped.
func (s *Server) serve(c *client) {
	defer func() {
		c.drop()
		s.mu.Lock()
		delete(s.clients, c)
		s.mu.Unlock()
	}()
	r := NewReader(c.conn)
	r.src.under = limitElement(c.conn)
	for {
		e, err := r.Next()
		if err != nil {
			return
		}
		c.heard.Store(time.Now().UnixNano())
		switch e.Op {
		case Get:
			if s.define(c, e.Device, e.Name) != nil {
				return
			}
		case New:
			s.wish(c, e)
		}
	}
}
