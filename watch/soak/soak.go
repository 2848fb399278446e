// Package soak lets the watch live through many simulated nights and counts what went wrong: the real loop of package watch, in
// virtual time or over real sockets, against the simulated mount of package sim, whose true rig is not the document's. Other
// software goes about its work, some of it announced to the watch and some not; mount and link fail and recover; the owner looks
// now and then. What the true rig touches is the judge.
//
// A night is made of its seed alone: in virtual time the same seed gives the same night to the last step.
package soak

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"legroom/rig"
	"legroom/watch"
)

// Options says what to soak.
type Options struct {
	Rigs   []*rig.Rig
	Nights int
	Seed   uint64
	Night  time.Duration // how long one is; 8 h when 0
	Only   int           // this night alone, counted from 1; all when 0
	// Sockets, when it is more than 0, is how many times as fast as the computer's the clock runs, over real sockets. 0 is virtual
	// time in the process.
	Sockets float64
	Workers int         // nights at a time; as many as processors when 0
	Plant   watch.Fault // a guard of the watch to take away, to see that it is missed
	// Progress is called after each night, from one goroutine at a time.
	Progress func(done, of int, r *Report)
}

// The owner's choices that Options leaves open.
const (
	nightLength = 8 * time.Hour
	mostSockets = 20 // times as fast as the computer's clock
)

// Validate says what is out of range.
func (o *Options) Validate() error {
	switch {
	case len(o.Rigs) == 0:
		return errors.New("no rig to soak")
	case o.Nights < 1:
		return fmt.Errorf("%d nights: give at least 1", o.Nights)
	case o.Night < 0 || o.Night > 24*time.Hour || o.Night > 0 && o.Night < time.Minute:
		return fmt.Errorf("a night of %v: give from a minute to a day", o.Night)
	case o.Only < 0 || o.Only > o.Nights:
		return fmt.Errorf("night %d: there are %d", o.Only, o.Nights)
	case !(o.Sockets >= 0 && o.Sockets <= mostSockets):
		return fmt.Errorf("a clock × %g: give up to %d over sockets", o.Sockets, mostSockets)
	}
	return nil
}

// Run lives through the nights. Every second one is on a rig that is changed at random. It ends early, with what there is by then
// and the context's error, when ctx ends.
func Run(ctx context.Context, o Options) (*Report, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	if o.Night == 0 {
		o.Night = nightLength
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	dir, err := os.MkdirTemp("", "legroom-soak-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	stable := newStable(o.Rigs)
	first, last := 0, o.Nights
	if o.Only > 0 {
		first, last = o.Only-1, o.Only
	}
	total := newReport(&o)
	if err := stable.watchable(ctx, dir); err != nil {
		return total, err
	}

	// The nights are added up in their order, so that the sum does not depend on who was first.
	todo, ended := make(chan int), make(chan *Report)
	parts := map[int]*Report{}
	var wait sync.WaitGroup
	for range min(o.Workers, last-first) {
		wait.Go(func() {
			for i := range todo {
				ended <- stable.night(ctx, &o, i, dir)
			}
		})
	}
	go func() {
		defer close(todo)
		for i := first; i < last; i++ {
			select {
			case todo <- i:
			case <-ctx.Done():
				return
			}
		}
	}()
	go func() { wait.Wait(); close(ended) }()
	next, done := first, 0
	for r := range ended {
		parts[r.index] = r
		for parts[next] != nil {
			total.add(parts[next])
			delete(parts, next)
			next++
		}
		if done++; o.Progress != nil {
			o.Progress(done, last-first, total)
		}
	}
	for ; len(parts) > 0; next++ { // nights are missing when ctx ended
		if p := parts[next]; p != nil {
			total.add(p)
			delete(parts, next)
		}
	}
	total.conclude()
	return total, ctx.Err()
}
