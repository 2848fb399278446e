package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/mount"
	"legroom/rig"
	"legroom/watch"
	"legroom/watch/mqtt"
)

// options makes of the flags what the watch takes, but for what comes from the rig or a broker.
func (s *watching) options(c *cobra.Command) (watch.Options, error) {
	o := watch.Options{Covered: s.capped, SunAngleDeg: s.sunDeg, IgnoreSide: s.ignoreSide, TrySwitch: s.trySwitch, Without: s.holdsNot,
		WarnBefore: time.Duration(s.warnMin * float64(time.Minute)), BrakeTime: time.Duration(s.brakeS * float64(time.Second)),
		Blind: watch.Reaction(s.blind)}
	err := errors.Join(s.format.check(), between(c, "warn", s.warnMin, 0.5, 360), between(c, "brake", s.brakeS, 0.1, 60), between(c, "sun", s.sunDeg, 10, 90))
	if (s.mount == "") == !s.discover {
		err = errors.Join(err, fmt.Errorf("watch: give the mount as --mount, or --discover to look for it, as in `%s`", example(c)))
	}
	if o.Blind != watch.StopBlind && o.Blind != watch.AlarmBlind {
		err = errors.Join(err, fmt.Errorf("watch: --blind %q: give stop or alarm", s.blind))
	}
	switch s.equinox {
	case "":
	case "date":
		o.Equinox = mount.OfDate
	case "j2000":
		o.Equinox = mount.OfJ2000
	default:
		err = errors.Join(err, fmt.Errorf("watch: --equinox %q: give date or j2000", s.equinox))
	}
	if s.tolerance == string(rig.None) {
		err = errors.Join(err, errors.New("watch: --tolerance none: lengths are never exact; give rss or worst"))
	}
	if s.around && s.guard == "" {
		err = errors.Join(err, errors.New("watch: --around: it says what the guard may do; give --guard too"))
	}
	if s.mqttHook && s.mqtt == "" {
		err = errors.Join(err, errors.New("watch: --mqtt-hook: there is no broker; give --mqtt too"))
	}
	if s.cutsPower && len(s.hooks)+len(s.webHooks) == 0 && !s.mqttHook {
		err = errors.Join(err, errors.New("watch: --hook-cuts-power: there is no hook; give --hook, --web-hook or --mqtt-hook too"))
	}
	if s.feed != "" && s.webFeed != "" {
		err = errors.Join(err, errors.New("watch: --feed and --web-feed: give one of them"))
	}
	for flag, address := range map[string]string{"guard": s.guard, "listen": s.listen} {
		if address != "" {
			err = errors.Join(err, listenable(flag, address))
		}
	}
	var e error
	if o.Hooks, e = hooksOf("hook", s.hooks, s.webHooks, s.cutsPower); e != nil {
		err = errors.Join(err, e)
	}
	var feeds []watch.Hook
	if feeds, e = hooksOf("feed", only(s.feed), only(s.webFeed), false); e != nil {
		err = errors.Join(err, e)
	} else if len(feeds) > 0 {
		o.Feed = &feeds[0]
	}
	return o, err
}

func only(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}

// listenable wants one address of this machine.
func listenable(flag, address string) error {
	host, _, err := net.SplitHostPort(address)
	if ip := net.ParseIP(host); err != nil || ip == nil || ip.IsUnspecified() {
		return fmt.Errorf("watch: --%s %q: give one address of this machine and a port, such as 127.0.0.1:7435", flag, address)
	}
	return nil
}

// hooksOf makes hooks of programs, whose arguments are divided by spaces, and of addresses.
func hooksOf(flag string, commands, addresses []string, cutsPower bool) ([]watch.Hook, error) {
	var out []watch.Hook
	for _, text := range commands {
		h, err := watch.CommandHook(strings.Fields(text), cutsPower)
		if err != nil {
			return nil, fmt.Errorf("watch: --%s %q: %w", flag, text, err)
		}
		out = append(out, h)
	}
	for _, text := range addresses {
		h, err := watch.WebHook(text, cutsPower)
		if err != nil {
			return nil, fmt.Errorf("watch: --web-%s %q: %w", flag, text, err)
		}
		out = append(out, h)
	}
	return out, nil
}

// confirmed looks at the set-up before anything else takes time.
func (s *watching) confirmed(c *cobra.Command, r *rig.Rig, o *watch.Options) error {
	if setup := r.SetupTonight(o.Without, time.Now()); !setup.Confirmed {
		return s.refused(c, fmt.Errorf("%w: the set-up is not confirmed for tonight: %s; confirm it at the rig with `legroom confirm %s`", watch.ErrRefused, setup.Reason, r.Path))
	}
	return nil
}

// refused says why there is no watch: the answer is no, not wrong use.
func (s *watching) refused(c *cobra.Command, err error) error {
	fmt.Fprintf(c.ErrOrStderr(), "legroom: %v\n", err)
	return errNo
}

// broker begins to connect to the MQTT broker, if there is to be one.
func (s *watching) broker(ctx context.Context) (*mqtt.Publisher, error) {
	if s.mqtt == "" {
		return nil, nil
	}
	server, user, err := mqtt.Address(s.mqtt)
	if err != nil {
		return nil, fmt.Errorf("watch: --mqtt: %w", err)
	}
	o := mqtt.Options{Server: server, User: user, Prefix: s.mqttPrefix, Password: []byte(os.Getenv("LEGROOM_MQTT_PASSWORD"))}
	p, err := mqtt.Open(ctx, o)
	if err != nil {
		return nil, fmt.Errorf("watch: --mqtt: %w", err)
	}
	return p, nil
}
