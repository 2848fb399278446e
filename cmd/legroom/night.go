package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/night"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// nightAsk is what a question about a night takes.
type nightAsk struct {
	ask
	date                  string
	list                  string
	single                []string
	subS, downS, ditherS  float64
	blockMin, altitudeDeg float64
	sun                   string
	moonDeg, moonLit      float64
	limits                string
}

// flags adds the flags that say how a night is planned.
func (a *nightAsk) flags(c *cobra.Command, formats ...string) {
	f := c.Flags()
	f.StringVar(&a.date, "date", "", "the evening's date, year-month-day (tonight's when not given)")
	f.Float64Var(&a.subS, "sub-s", 300, "length of a sub-exposure, seconds, for targets that do not say")
	f.Float64Var(&a.downS, "download-s", 0, "from a sub-exposure's end until its picture is in, seconds")
	f.Float64Var(&a.ditherS, "dither-s", 0, "from then until the next one's start, seconds")
	f.StringVar(&a.limits, "limits", string(report.ByDeclination), "plan by the limits of each declination, or by the pair that the mount enforces: declination, two-number")
	a.skyFlags(c)
	a.ask.flags(c, formats...)
}

// skyFlags adds the flags that say which targets, and when the sky has them.
func (a *nightAsk) skyFlags(c *cobra.Command) {
	f := c.Flags()
	f.StringArrayVar(&a.single, "target", nil, `a target: "name,ra_deg,dec_deg" (J2000), or the name of a built-in object alone (may be repeated)`)
	f.Float64Var(&a.altitudeDeg, "least-altitude-deg", 0, "least altitude of a target, degrees, besides the site's horizon")
	f.StringVar(&a.sun, "sun", "astronomical", "expose while the Sun is below: civil, nautical or astronomical twilight's end, or degrees such as -15")
	f.Float64Var(&a.moonDeg, "moon-apart-deg", 0, "least distance of a target from the Moon while it is up, degrees")
	f.Float64Var(&a.moonLit, "moon-lit", 0, "a Moon that is lit less than this share, 0 to 1, does not matter to --moon-apart-deg")
}

// options reads the flags.
func (a *nightAsk) options(c *cobra.Command) (night.Options, error) {
	var o night.Options
	for _, f := range []struct {
		flag     string
		x        float64
		from, to float64
	}{
		{"sub-s", a.subS, 1, 6 * 3600}, {"download-s", a.downS, 0, 3600}, {"dither-s", a.ditherS, 0, 3600},
		{"least-altitude-deg", a.altitudeDeg, 0, 90}, {"moon-apart-deg", a.moonDeg, 0, 180}, {"moon-lit", a.moonLit, 0, 1},
	} {
		if err := between(c, f.flag, f.x, f.from, f.to); err != nil {
			return o, err
		}
	}
	if err := checkDate(a.date); err != nil {
		return o, err
	}
	sun, err := sunAltitude(a.sun)
	if err != nil {
		return o, err
	}
	mode := report.LimitMode(a.limits)
	if mode != report.ByDeclination && mode != report.ByTwoNumber {
		return o, fmt.Errorf("--limits %q: give %s or %s", a.limits, report.ByDeclination, report.ByTwoNumber)
	}
	seconds := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	return night.Options{SunAltitude: sun, MinAltitude: axes.Rad(a.altitudeDeg), MoonApart: axes.Rad(a.moonDeg), MoonLit: a.moonLit,
		Sub: seconds(a.subS), Download: seconds(a.downS), Dither: seconds(a.ditherS), TwoNumber: mode == report.ByTwoNumber}, nil
}

// sunAltitude reads the end of a twilight by its name, or degrees.
func sunAltitude(s string) (float64, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "civil":
		return sky.Civil, nil
	case "nautical":
		return sky.Nautical, nil
	case "astronomical":
		return sky.Astronomical, nil
	}
	deg, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), "−", "-", 1), 64)
	if err != nil || !(deg >= -90 && deg < 0) {
		return 0, fmt.Errorf("--sun %q: give civil, nautical or astronomical, or the Sun's altitude in degrees, below 0, such as -15", s)
	}
	return axes.Rad(deg), nil
}

// targets reads the list and the single targets, in this order; names must differ.
func (a *nightAsk) targets(c *cobra.Command) ([]sky.Target, error) {
	var out []sky.Target
	if a.list != "" {
		list, err := sky.LoadTargets(a.list)
		if err != nil {
			return nil, err
		}
		out = list
	}
	for _, s := range a.single {
		t, err := sky.ParseTarget(s)
		if err != nil {
			return nil, badTarget("--target", s, err)
		}
		out = append(out, *t)
	}
	seen := map[string]bool{}
	for _, t := range out {
		name := strings.ToLower(t.Name)
		if seen[name] {
			return nil, fmt.Errorf("%s: %q is given twice: keep one of the two, or give them different names", c.Name(), t.Name)
		}
		seen[name] = true
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s: no targets: give a list with --targets, or one with --target, as in `%s`", c.Name(), example(c))
	}
	return out, nil
}

// badTarget says which target cannot be read, and why.
func badTarget(flag, text string, err error) error {
	var e *rig.Error
	if errors.As(err, &e) {
		return fmt.Errorf("%s %q: %s; %s", flag, text, e.Problem, e.Remedy)
	}
	return fmt.Errorf("%s %q: %w", flag, text, err)
}

// place gives a rig's site, and the date that was asked for or else tonight's.
func (a *nightAsk) place(r *rig.Rig, now time.Time) (site sky.Site, date time.Time, err error) {
	if site, err = sky.NewSite(r.Site); err != nil {
		return site, date, fmt.Errorf("%s: site: %w", r.Path, err)
	}
	evening := a.date
	if evening == "" {
		if evening, err = r.Site.Evening(now); err != nil {
			return site, date, fmt.Errorf("%s: site: %w", r.Path, err)
		}
	}
	date, err = time.Parse(time.DateOnly, evening)
	return site, date, err
}

// room is the room map of a rig, and the site and evening that the plan is for.
func (a *nightAsk) room(c *cobra.Command, path string, now time.Time) (m *room.Map, site sky.Site, date time.Time, err error) {
	g, err := a.gauge(c, path)
	if err != nil {
		return nil, site, date, err
	}
	if site, date, err = a.place(g.Model.Rig, now); err != nil {
		return nil, site, date, err
	}
	m, err = newMapFor(c, g, 0.25)
	return m, site, date, err
}

// setup is what the owner confirmed for the night of a date.
func (a *nightAsk) setup(m *room.Map, date, now time.Time) rig.Setup {
	model := m.Gauge().Model
	return model.Rig.SetupFor(date.Format(time.DateOnly), model.Assembly.Without, now)
}

func newNight() *cobra.Command {
	var a nightAsk
	var table, output string
	c := &cobra.Command{
		Use:   "night RIG --targets FILE",
		Short: "Plan a night: what each target can have, what the rig costs it, and a schedule",
		Long: `Plans the night of a date for a list of targets: for each when it is usable, where it must stop, when to
flip or how long it stands idle, and how many sub-exposures fit, none of them cut; then one schedule
for all of them, in which every slew is proven. The same night is planned with the other kind of
limits too, so that the difference shows.

A list is YAML or CSV; each entry is the name of a built-in object, or a name with ra and dec
(J2000), and may have priority, sub_s, wanted_h, extent_deg. A target may come from --target as well.
Exit code 1 when nothing can be exposed that night: the plan is written all the same, and says why.`,
		Example: `  legroom night examples/terrace-long-refractor.yaml --targets examples/terrace/targets.yaml
  legroom night examples/terrace-long-refractor.yaml --date 2026-11-10 --target "M 31" --target "IC 1805" \
      --sub-s 180 --dither-s 15 --least-altitude-deg 30
  legroom night examples/terrace-long-refractor.yaml --target "my field,83.8,22.0" --sun nautical --limits two-number
  legroom night examples/terrace-long-refractor.yaml --targets examples/terrace/targets.yaml --output tonight.pdf
  legroom night examples/terrace-long-refractor.yaml --targets examples/terrace/targets.yaml --format csv --table targets`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			kind := a.name
			if err := a.format.check(); err != nil {
				return err
			}
			if output != "" {
				end, err := checkOutput(output, ".pdf", ".ics", ".csv", ".json", ".txt", ".svg", ".png")
				if err != nil {
					return err
				}
				kind = strings.TrimPrefix(end, ".")
			}
			if table != "schedule" && table != "targets" {
				return fmt.Errorf("--table %q: give schedule or targets", table)
			}
			if c.Flags().Changed("table") && kind != "csv" {
				return fmt.Errorf("night: --table chooses what --format csv writes; give that too, or leave it out")
			}
			o, err := a.options(c)
			if err != nil {
				return err
			}
			if err := between(c, "least-block-min", a.blockMin, 1, 24*60); err != nil {
				return err
			}
			o.MinBlock = time.Duration(math.Ceil(a.blockMin * float64(time.Minute)))
			targets, err := a.targets(c)
			if err != nil {
				return err
			}
			now := time.Now()
			m, site, date, err := a.room(c, args[0], now)
			if err != nil {
				return err
			}
			p, other, err := night.Both(c.Context(), m, site, date, targets, o)
			if err != nil {
				return err
			}
			doc := report.Night(m, p, other, a.setup(m, date, now))
			var answer error
			if len(doc.Schedule) == 0 {
				answer = errNo
			}
			if output == "" {
				return cmp.Or(report.WriteNightAs(c.OutOrStdout(), kind, table, p, doc, now), answer)
			}
			var b bytes.Buffer
			if err := report.WriteNightAs(&b, kind, table, p, doc, now); err != nil {
				return err
			}
			if err := writeFile(output, b.Bytes()); err != nil {
				return err
			}
			return cmp.Or(a.wrote(c.OutOrStdout(), output), answer)
		},
	}
	a.flags(c, "text", "json", "csv", "ics")
	f := c.Flags()
	f.StringVar(&a.list, "targets", "", "a list of targets, .yaml or .csv")
	f.Float64Var(&a.blockMin, "least-block-min", 20, "least time on one target and side in the schedule, minutes")
	f.StringVar(&table, "table", "schedule", "which table csv holds: schedule, targets")
	f.StringVar(&output, "output", "", "write to a file instead: .pdf (one page), .svg or .png (its picture), .ics, .csv, .json, .txt")
	return c
}
