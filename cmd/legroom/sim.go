package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os/signal"
	"strconv"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"legroom/mount/alpaca"
	"legroom/mount/sim"
	"legroom/report"
	"legroom/rig"
)

func newSim() *cobra.Command {
	var s simulating
	c := &cobra.Command{
		Use:   "sim RIG --alpaca ADDRESS --indi ADDRESS",
		Short: "A simulated mount that carries the rig, to try the watch and its faults on",
		Long: `Serves a simulated German equatorial mount on this machine, by the Alpaca device API, the INDI protocol or both. It does
what the rig's document says of the mount. The rig that it carries is not quite the document's: each length and angle is drawn
within its tolerance, and the true rig's contacts are counted along the way. Over --control it is told where to slew, faults are
switched on and off, and where the mount really is can be read: open its address for what there is. It starts parked; Ctrl-C
ends it.`,
		Example: "  legroom sim examples/terrace-long-refractor.yaml --alpaca 127.0.0.1:7434 --indi 127.0.0.1:7624 --control 127.0.0.1:7436\n" +
			"  legroom sim examples/karoo-newtonian.yaml --alpaca 127.0.0.1:0 --clock 20 --seed 7",
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return s.run(c, args[0]) },
	}
	f := c.Flags()
	f.StringVar(&s.alpaca, "alpaca", "", "the address and port for Alpaca, such as 127.0.0.1:7434; port 0 takes any that is free")
	f.StringVar(&s.indi, "indi", "", "the address and port for INDI, such as 127.0.0.1:7624")
	f.StringVar(&s.control, "control", "", "the address and port of the control API, such as 127.0.0.1:7436")
	f.Float64Var(&s.clock, "clock", 1, "how many times as fast as this computer's the mount's clock runs")
	f.StringVar(&s.seed, "seed", "", "what is drawn: a whole number; another one each time when not given, and printed")
	f.StringVar(&s.at, "at", "", "when the mount's clock starts, such as 2026-11-25T21:00:00Z; now when not given")
	f.StringArrayVar(&s.holds, "with", nil, "a condition that holds, such as \"roof shut\" (may be repeated)")
	f.StringArrayVar(&s.holdsNot, "without", nil, "a condition that does not hold; one that is not named counts at its worst")
	s.flag(c, "text", "json")
	return c
}

// simulating is how a simulated mount is served.
type simulating struct {
	alpaca, indi, control string
	clock                 float64
	seed, at              string
	holds, holdsNot       []string
	format
}

func (s *simulating) run(c *cobra.Command, path string) error {
	ctx, stop := signal.NotifyContext(c.Context(), syscall.SIGTERM)
	defer stop()
	m, clock, err := s.mount(c, path)
	if err != nil {
		return err
	}
	doc := report.SimDoc{Seed: m.Seed(), Clock: s.clock, Habits: m.Habits().String()}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	g := group{ctx: ctx, ended: make(chan error)}
	defer func() { // what runs already ends before the command does
		cancel()
		for range g.n {
			<-g.ended
		}
	}()
	if err := s.serve(c, &g, m, clock, &doc); err != nil {
		return err
	}
	if err := announceSim(c, s.name == "json", doc); err != nil {
		return err
	}
	for g.n > 0 {
		err = errors.Join(err, <-g.ended)
		g.n--
		cancel() // one that ends ends the others
	}
	return err
}

// group is servers that end together.
type group struct {
	ctx   context.Context
	ended chan error
	n     int
}

func (g *group) start(f func(ctx context.Context) error) {
	g.n++
	go func() { g.ended <- f(g.ctx) }()
}

// mount sets up what was asked for.
func (s *simulating) mount(c *cobra.Command, path string) (*sim.Mount, *sim.Clock, error) {
	if err := s.check(); err != nil {
		return nil, nil, err
	}
	if s.alpaca == "" && s.indi == "" {
		return nil, nil, fmt.Errorf("sim: nothing to serve; give --alpaca, --indi or both, as in `%s`", example(c))
	}
	if err := between(c, "clock", s.clock, 0.01, 1000); err != nil {
		return nil, nil, err
	}
	seed := rand.Uint64N(1_000_000) // short enough to be typed again
	if s.seed != "" {
		var err error
		if seed, err = strconv.ParseUint(s.seed, 10, 64); err != nil {
			return nil, nil, fmt.Errorf("sim: --seed %q: give a whole number of 0 or more", s.seed)
		}
	}
	from := time.Now()
	if s.at != "" {
		var err error
		if from, err = time.Parse(time.RFC3339, s.at); err != nil {
			return nil, nil, fmt.Errorf("sim: --at %q: give a moment such as 2026-11-25T21:00:00Z", s.at)
		}
	}
	r, err := rig.Load(path)
	if err != nil {
		return nil, nil, err
	}
	known, err := r.Known(s.holds, s.holdsNot)
	if err != nil {
		return nil, nil, err
	}
	clock := sim.NewClock(from, s.clock)
	m, err := sim.New(r, sim.Options{Seed: seed, Now: clock.Now, Conditions: known, Parked: true})
	return m, clock, err
}

// serve starts what was asked for and writes down where it is.
func (s *simulating) serve(c *cobra.Command, g *group, m *sim.Mount, clock *sim.Clock, doc *report.SimDoc) error {
	taken := map[netip.AddrPort]string{}
	listen := func(flag, address string) (net.Listener, error) {
		at, err := netip.ParseAddrPort(address)
		if err != nil || !at.Addr().IsLoopback() {
			return nil, fmt.Errorf("sim: --%s %q: give a loopback address and a port, such as 127.0.0.1:7434", flag, address)
		}
		if other, ok := taken[at]; ok && at.Port() != 0 {
			return nil, fmt.Errorf("sim: --%s %q: --%s is there already: --%s needs a port of its own", flag, address, other, flag)
		}
		taken[at] = flag
		l, err := (&net.ListenConfig{}).Listen(g.ctx, "tcp", address)
		if err != nil {
			return nil, fmt.Errorf("sim: --%s %q: %w; another program may have it: end that, or give another port", flag, address, err)
		}
		return l, nil
	}
	if s.alpaca != "" {
		h, err := sim.Alpaca(m, clock)
		if err != nil {
			return err
		}
		l, err := listen("alpaca", s.alpaca)
		if err != nil {
			return err
		}
		g.start(func(ctx context.Context) error { return alpaca.Serve(ctx, l, h) })
		doc.Alpaca = fmt.Sprintf("alpaca://%s/0", l.Addr())
		doc.Discovered = discoverable(c, g, l)
	}
	if s.indi != "" {
		l, err := listen("indi", s.indi)
		if err != nil {
			return err
		}
		g.start(func(ctx context.Context) error { return sim.ServeINDI(ctx, m, clock, l) })
		doc.INDI = fmt.Sprintf("indi://%s/%s", l.Addr(), url.PathEscape(sim.Name))
	}
	if s.control != "" {
		l, err := listen("control", s.control)
		if err != nil {
			return err
		}
		var h http.Handler = sim.Control(m)
		g.start(func(ctx context.Context) error { return alpaca.Serve(ctx, l, h) })
		doc.Control = fmt.Sprintf("http://%s/", l.Addr())
	}
	return nil
}

// discoverable answers discovery for a listener, if its port is not taken: a second mount on this computer has to do without.
func discoverable(c *cobra.Command, g *group, l net.Listener) bool {
	at := l.Addr().(*net.TCPAddr)
	conns, err := alpaca.ListenDiscovery(at.AddrPort().Addr(), alpaca.DiscoveryPort)
	if err != nil {
		fmt.Fprintf(c.ErrOrStderr(), "sim: it cannot be discovered, only named: %v\n", err)
		return false
	}
	for _, conn := range conns {
		g.start(func(ctx context.Context) error { return alpaca.Respond(ctx, conn, at.Port) })
	}
	return true
}

// announceSim says where the mount is.
func announceSim(c *cobra.Command, asJSON bool, doc report.SimDoc) error {
	out := c.OutOrStdout()
	if asJSON {
		return report.WriteLine(out, doc)
	}
	for _, at := range []string{doc.Alpaca, doc.INDI, doc.Control} {
		if at != "" {
			fmt.Fprintf(out, "listening on %s\n", at)
		}
	}
	fmt.Fprintf(out, "seed %d, clock × %g\n", doc.Seed, doc.Clock)
	fmt.Fprintln(out, doc.Habits)
	if doc.Control == "" {
		_, err := fmt.Fprintln(out, "With --control 127.0.0.1:7436 it can be told where to slew, and what to do wrong.")
		return err
	}
	_, err := fmt.Fprintf(out, `To see it slew, from another terminal:
  curl --json '{"hour_angle_h": -2, "dec_deg": 0, "side": "west"}' %sslew
What else it can be told: curl %[1]s
`, doc.Control)
	return err
}
