package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"legroom/mount/alpaca"
	"legroom/rig"
)

func newWatch() *cobra.Command {
	var s watching
	c := &cobra.Command{
		Use:   "watch RIG --mount ADDRESS",
		Short: "Watch a mount: read it once a second, and stop it before the rig touches itself",
		Long: `Reads the mount once a second and faster while it slews, proves how much room is left, warns, and
stops the mount while stopping still fits. The set-up has to be confirmed for tonight first (legroom
confirm RIG). Then look at the rig, and say here how it stands: confirm west or confirm east, the side
that the tube is on when its target is highest. Until then the watch is blind, for a mount that was
moved by hand, or has lost its power, says a side and a place that are wrong. confirm alone tells how
the rig would look on either side, parked too.

Other programs can reach the mount through the watch (--guard): a slew that is not proven free is then
refused before it begins, and one of any speed is protected.

Type a word and Enter: ` + orderHelp + `

It is a supervision aid, not a safety function: keep the mount's own limits and stops set, and a hand on the power switch for
every first run. A slipped clutch cannot be seen. Exit code 1 when it refuses to watch, or when it is ended while the mount
is not safe: a stop due, under way or done, or the watch blind.`,
		Example: "  legroom watch mine.yaml --mount alpaca://127.0.0.1:7434/0 --guard 127.0.0.1:7435 --journal night.db\n" +
			"  legroom watch mine.yaml --mount indi://192.168.1.20:7624/Mount --blind alarm --listen 127.0.0.1:7433",
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return s.run(c, args[0]) },
	}
	s.define(c)
	return c
}

// watching is what `legroom watch` was told.
type watching struct {
	ask
	mount                         string
	discover                      bool
	guard, journal, listen        string
	around                        bool
	blind, equinox                string
	capped, ignoreSide, trySwitch bool
	warnMin, brakeS, sunDeg       float64
	mqtt, mqttPrefix              string
	hooks, webHooks               []string
	mqttHook, cutsPower           bool
	feed, webFeed                 string
	tells, webTells               []string
}

func (s *watching) define(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&s.mount, "mount", "", "the mount: alpaca://HOST:PORT/N or indi://HOST:PORT/DEVICE")
	f.BoolVar(&s.discover, "discover", false, "look for the mount by Alpaca discovery; it has to be the only one")
	f.StringVar(&s.guard, "guard", "", "serve the guarded telescope and the safety monitor here, such as 127.0.0.1:7435")
	f.BoolVar(&s.around, "around", false, "with --guard: where the straight slew is refused, go over waypoints when such a way is proven")
	f.StringVar(&s.journal, "journal", "", "keep a journal of everything in this file")
	f.StringVar(&s.listen, "listen", "", "serve the page here too, such as 127.0.0.1:7433")
	f.StringVar(&s.blind, "blind", "stop", "when what is read does not tell where the parts are: stop a mount that moves, or only alarm")
	f.BoolVar(&s.capped, "capped", false, "the tube is covered, or filtered for the Sun; otherwise no slew by day comes near the Sun")
	f.Float64Var(&s.sunDeg, "sun", 30, "how far from the Sun an uncovered tube stays by day, degrees")
	f.BoolVar(&s.ignoreSide, "ignore-side", false, "the driver's side is worth nothing, such as one made from the hour angle: go by the confirmed one")
	f.StringVar(&s.equinox, "equinox", "", "what the mount's coordinates refer to when its driver does not say: date or j2000")
	f.BoolVar(&s.trySwitch, "try-switch", false, "yes, switch tracking off once at the start, to see whether that can be done")
	f.Float64Var(&s.warnMin, "warn", 10, "warn so many minutes before a stop is due")
	f.Float64Var(&s.brakeS, "brake", 2, "seconds from an abort at full rate to a standstill")
	f.StringArrayVar(&s.hooks, "hook", nil, "program to run, with its arguments, when the mount does not stop (may be repeated)")
	f.StringArrayVar(&s.webHooks, "web-hook", nil, "address to POST to when the mount does not stop (may be repeated)")
	f.BoolVar(&s.mqttHook, "mqtt-hook", false, "tell the broker's topic hook when the mount does not stop")
	f.BoolVar(&s.cutsPower, "hook-cuts-power", false, "these hooks cut the mount's power; the document has to say axes_hold: yes")
	f.StringVar(&s.feed, "feed", "", "program to run every 5 s as long as the mount obeys: a relay that is not fed acts")
	f.StringVar(&s.webFeed, "web-feed", "", "address to POST to, instead")
	f.StringArrayVar(&s.tells, "tell", nil, "program to run at every alarm (may be repeated)")
	f.StringArrayVar(&s.webTells, "web-tell", nil, "address to POST to at every alarm (may be repeated)")
	f.StringVar(&s.mqtt, "mqtt", "", "broker to tell: mqtt://[USER@]HOST:PORT or tls://…; the password is in LEGROOM_MQTT_PASSWORD")
	f.StringVar(&s.mqttPrefix, "mqtt-prefix", "legroom", "what the topics begin with")
	s.ask.flags(c, "text", "json")
}

// run watches until the command is interrupted or told to end.
func (s *watching) run(c *cobra.Command, path string) error {
	ctx, stop := signal.NotifyContext(c.Context(), syscall.SIGTERM)
	// A terminal that is closed, or a reader that is gone, ends no watch. Ignored, they would be for the programs of hooks too.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGHUP, syscall.SIGPIPE)
	defer stop()
	defer endAtSecond(c.ErrOrStderr(), "legroom: ended at once, told twice to; a stop that was under way was not seen to its end, and "+
		"nothing stops this mount now")()
	o, err := s.options(c)
	if err != nil {
		return err
	}
	g, err := s.gauge(c, path)
	if err != nil {
		return err
	}
	if o.AxesHold = g.Model.Rig.Mount.Rules.AxesHold == "yes"; s.cutsPower && !o.AxesHold {
		return fmt.Errorf("watch: --hook-cuts-power: the document does not say that the axes hold without power, and a tube may swing or fall; " +
			"try it by hand, capped, and write `axes_hold: yes` under mount.own_rules if they do")
	}
	o.Fingerprint = func() (string, error) { return s.fingerprint(c, path) }
	address, err := s.address(ctx)
	if err != nil {
		return err
	}
	if err := s.confirmed(c, g.Model.Rig, &o); err != nil {
		return err
	}
	tel, err := openMount(ctx, address)
	if err != nil {
		return err
	}
	defer tel.Close()
	m, err := newMapFor(c, g, 0.25)
	if err != nil {
		return err
	}
	p := &patrol{s: s, c: c, m: m, tel: tel, address: address}
	return p.run(ctx, o)
}

// fingerprint is that of the document as it is now, with the margin that was asked for.
func (s *watching) fingerprint(c *cobra.Command, path string) (string, error) {
	r, err := rig.Load(path)
	if err != nil {
		return "", err
	}
	if c.Flags().Changed("margin") {
		r.MarginMM.Value = s.margin
	}
	return r.Fingerprint(), nil
}

// address is where the mount is.
func (s *watching) address(ctx context.Context) (string, error) {
	if s.mount != "" {
		return mountAddress(s.mount)
	}
	all, err := alpaca.Everywhere()
	if err != nil {
		return "", fmt.Errorf("--discover: %w", err)
	}
	address, err := discover(ctx, all, 2*time.Second)
	if err != nil {
		return "", err
	}
	return mountAddress(address)
}
