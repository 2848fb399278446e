package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os/signal"
	"strconv"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/rig"
	"legroom/watch/soak"
)

func newSoak() *cobra.Command {
	var s soaking
	c := &cobra.Command{
		Use:   "soak RIG...",
		Short: "Try the watch on many simulated nights with faults, and count what goes wrong",
		Long: `Lets the watch live through simulated nights on the rigs that are named, every second one on a rig that is changed at
random. Other software slews, flips, parks, syncs and tracks past the limits, announced to the watch and not; mount and link fail
and recover. The simulated mount's true rig is drawn within the tolerances, and its contacts are counted. In virtual time a seed
gives the same nights again, and --night K one of them alone; --sockets lives through them over real sockets on this computer, by
both open protocols, with a clock that runs at most 20 times as fast. No hardware is moved.

Exit code 1 when a demand was not met: no contact with a mount that obeys for anything that the watch says it protects, the hook in
time with one that does not, fewer than one false stop in 100 nights, every fault seen, every journal row kept.`,
		Example: "  legroom soak examples/terrace-long-refractor.yaml examples/karoo-newtonian.yaml --nights 100 --seed 1\n" +
			"  legroom soak examples/balcony-strain-wave.yaml --nights 2000 --format json\n" +
			"  legroom soak examples/karoo-newtonian.yaml --nights 4 --hours 0.5 --sockets",
		RunE: func(c *cobra.Command, args []string) error { return s.run(c, args) },
	}
	f := c.Flags()
	f.IntVar(&s.o.Nights, "nights", 20, "how many nights")
	f.StringVar(&s.seed, "seed", "", "what the nights are drawn with: a whole number; another one each time when not given, and printed")
	f.Float64Var(&s.hours, "hours", 8, "how long a night is")
	f.IntVar(&s.o.Only, "night", 0, "this night alone, counted from 1")
	f.BoolVar(&s.sockets, "sockets", false, "over real sockets, by the computer's clock")
	f.Float64Var(&s.clock, "clock", 20, "with --sockets, how many times as fast as the computer's the clock runs")
	s.flag(c, "text", "json")
	return c
}

// soaking is how the watch is soaked.
type soaking struct {
	o            soak.Options
	seed         string
	hours, clock float64
	sockets      bool
	format
}

func (s *soaking) run(c *cobra.Command, args []string) error {
	if err := s.check(); err != nil {
		return err
	}
	if len(args) == 0 {
		return fmt.Errorf("soak: no rig document given; name one or more, such as `%s`", example(c))
	}
	if err := errors.Join(between(c, "nights", float64(s.o.Nights), 1, 1e6), between(c, "hours", s.hours, 0.02, 24),
		between(c, "night", float64(s.o.Only), 0, float64(s.o.Nights)), between(c, "clock", s.clock, 1, 20)); err != nil {
		return err
	}
	if c.Flags().Changed("clock") && !s.sockets {
		return errors.New("soak: --clock is for --sockets; virtual time is as fast as it can be")
	}
	s.o.Seed = rand.Uint64N(1_000_000)
	if s.seed != "" {
		var err error
		if s.o.Seed, err = strconv.ParseUint(s.seed, 10, 64); err != nil {
			return fmt.Errorf("soak: --seed %q: give a whole number of 0 or more", s.seed)
		}
	}
	for _, path := range args {
		r, err := rig.Load(path)
		if err != nil {
			return err
		}
		s.o.Rigs = append(s.o.Rigs, r)
	}
	s.o.Night = time.Duration(s.hours * float64(time.Hour))
	if s.sockets {
		s.o.Sockets, s.o.Workers = s.clock, 2
	}
	ctx, stop := signal.NotifyContext(c.Context(), syscall.SIGTERM)
	defer stop()
	errs := c.ErrOrStderr()
	fmt.Fprintf(errs, "soak: seed %d, %d nights\n", s.o.Seed, s.o.Nights)
	began, last, told := time.Now(), time.Now(), 0
	s.o.Progress = func(done, of int, r *soak.Report) {
		for ; told < len(r.Findings); told++ {
			f := r.Findings[told]
			fmt.Fprintf(errs, "soak: night %d, %s: %s: %s\n", f.Night, f.Rig, f.Kind, f.Text)
		}
		if now := time.Now(); now.Sub(last) >= 2*time.Second {
			last = now
			fmt.Fprintf(errs, "soak: %d of %d nights, %v, %d findings\n", done, of, now.Sub(began).Round(time.Second), len(r.Findings))
		}
	}
	r, err := soak.Run(ctx, s.o)
	if r == nil || r.Nights == 0 && err != nil {
		return err
	}
	// One that was broken off still tells what it has seen.
	if s.name == "json" {
		err = errors.Join(err, report.Write(c.OutOrStdout(), r))
	} else {
		err = errors.Join(err, r.WriteText(c.OutOrStdout()))
	}
	switch {
	case errors.Is(err, context.Canceled):
		fmt.Fprintf(errs, "soak: broken off after %d nights\n", r.Nights)
		return err
	case err == nil && !r.Passed:
		return errNo
	}
	return err
}
