package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/change"
	"legroom/night"
	"legroom/report"
	"legroom/rig"
)

// changeAsk is what a question about changes takes.
type changeAsk struct {
	nightAsk
	season        int
	pushN, windMS float64
	noLost        bool
}

func (a *changeAsk) changeFlags(c *cobra.Command, formats ...string) {
	f := c.Flags()
	f.StringVar(&a.list, "targets", "", "a list of targets, .yaml or .csv (declinations 10° apart when none are given)")
	f.StringVar(&a.date, "date", "", "the evening's date, year-month-day (tonight's when not given)")
	f.Float64Var(&a.pushN, "push-n", 10, "sideways push that bending is for, N")
	f.Float64Var(&a.windMS, "wind-m-per-s", 4, "wind that bending is for, m/s")
	a.skyFlags(c)
	a.ask.flags(c, formats...)
}

// of reads the flags for one rig.
func (a *changeAsk) of(c *cobra.Command, r *rig.Rig) (change.Ask, error) {
	out := change.Ask{Holds: a.holds, HoldsNot: a.holdsNot, Mode: rig.ToleranceMode(a.tolerance), PushN: a.pushN, WindMS: a.windMS}
	if _, err := a.gaugeOf(c, r.Clone()); err != nil { // refuses what it cannot read
		return out, err
	}
	if c.Flags().Changed("margin") {
		out.MarginMM = &a.margin
	}
	for _, f := range []struct {
		flag     string
		x        float64
		from, to float64
	}{{"push-n", a.pushN, 0, 1e5}, {"wind-m-per-s", a.windMS, 0, 100}} {
		if err := between(c, f.flag, f.x, f.from, f.to); err != nil {
			return out, err
		}
	}
	_, date, err := a.place(r, time.Now())
	if err != nil {
		return out, err
	}
	if a.list == "" && len(a.single) == 0 {
		return out, nil
	}
	targets, err := a.targets(c)
	if err != nil {
		return out, err
	}
	for _, t := range targets {
		out.Targets = append(out.Targets, change.TargetAt(t, date.Add(24*time.Hour)))
	}
	return out, nil
}

func newChange() *cobra.Command {
	a := changeAsk{nightAsk: nightAsk{subS: 300, limits: string(report.ByDeclination)}}
	var sets, swaps, ranges, groups []string
	var save string
	var overwrite bool
	c := &cobra.Command{
		Use:   "change RIG",
		Short: "What a change would bring: variants of a rig side by side",
		Long: `Changes copies of a rig document and measures each beside the rig as it is: room, idle and lost
minutes of your targets, the tightest gap, what tips it over, how it bends, where the counterweights
go, whether the cables reach. What differs stands in brackets.

--set and --swap change one variant; --range makes a variant of each value, with --set and --swap in
all of them; each --variant "name: path=value; path=value" makes another one. A path is one of the
document, such as support.legs.foot_radius_mm or tube.train.items[filter wheel].offset_x_mm, or a
short name: ` + shortNames() + `. A plain number keeps the tolerance that is there.`,
		Example: `  legroom change examples/terrace-long-refractor.yaml --set riser=150 --targets examples/terrace/targets.yaml
  legroom change examples/terrace-long-refractor.yaml --range leg-azimuth=-60..60..30
  legroom change examples/terrace-long-refractor.yaml --variant "riser: riser=200" --variant "turned: leg-azimuth=60" --save terrace-variant
  legroom change examples/terrace-turned.yaml --swap support=examples/terrace/support.yaml --format json`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := a.format.check(); err != nil {
				return err
			}
			o, err := a.options(c)
			if err != nil {
				return err
			}
			if err := between(c, "season", float64(a.season), 0, night.MaxMonths); err != nil {
				return err
			}
			variants, err := variantsOf(sets, swaps, ranges, groups)
			if err != nil {
				return err
			}
			d, err := rig.OpenDocument(args[0])
			if err != nil {
				return err
			}
			r, err := d.Rig()
			if err != nil {
				return err
			}
			ask, err := a.of(c, r)
			if err != nil {
				return err
			}
			files, err := saves(c, args[0], save, overwrite, variants)
			if err != nil {
				return err
			}
			over := ""
			if len(ask.Targets) > 0 && !a.noLost {
				if ask.Lost, over, err = a.lost(r, o); err != nil {
					return err
				}
			}
			bar := newProgress(c.ErrOrStderr(), "measuring the variants")
			list, err := change.Compare(c.Context(), d, variants, ask, bar.show)
			bar.end()
			if err != nil {
				return err
			}
			doc := report.Changes(list, ask, over)
			for i, file := range files {
				if err := writeFile(file, list[i+1].Document); err != nil {
					return err
				}
				doc.Variants[i+1].Saved = file
			}
			switch a.name {
			case "json":
				return report.Write(c.OutOrStdout(), doc)
			case "csv":
				return report.WriteChangesCSV(c.OutOrStdout(), doc)
			}
			return report.WriteChanges(c.OutOrStdout(), doc)
		},
	}
	f := c.Flags()
	f.StringArrayVar(&sets, "set", nil, "path=value: a value of the document (may be repeated)")
	f.StringArrayVar(&swaps, "swap", nil, "path=FILE: what a file in the rig's folder holds, such as tube=other-tube.yaml (may be repeated)")
	f.StringArrayVar(&ranges, "range", nil, "path=from..to..step: a variant of each value (may be repeated: every combination)")
	f.StringArrayVar(&groups, "variant", nil, `"name: path=value; path=value": another variant (may be repeated)`)
	f.IntVar(&a.season, "season", 0, "count lost minutes over so many months from the date's on, instead of the one night")
	f.BoolVar(&a.noLost, "no-lost", false, "do not count lost minutes, which takes longest")
	f.StringVar(&save, "save", "", "write each variant's document beside the rig, as NAME-1.yaml and so on; a single one as NAME.yaml")
	f.BoolVar(&overwrite, "overwrite", false, "let --save write over files that are there")
	a.changeFlags(c, "text", "json", "csv")
	return c
}

// named refuses a path that stands for nothing because a short name is mistyped; a document's own keys are its business.
func named(said, path string) error {
	var shorts []string
	for _, s := range change.Shorts() {
		shorts = append(shorts, s.Name)
	}
	if strings.ContainsAny(path, ".[") || slices.Contains(shorts, path) {
		return nil
	}
	near := rig.Nearest(path, shorts)
	if near == "" && !strings.Contains(path, "-") {
		return nil
	}
	hint := ""
	if near != "" {
		hint = fmt.Sprintf("did you mean %s? ", near)
	}
	return fmt.Errorf("%s: there is no short name %q: %sgive %s, or a path of the document such as support.legs.foot_radius_mm", said, path, hint, shortNames())
}

func shortNames() string {
	var out []string
	for _, s := range change.Shorts() {
		out = append(out, s.Name)
	}
	return strings.Join(out, ", ")
}

// lost says over what lost minutes are counted.
func (a *changeAsk) lost(r *rig.Rig, o night.Options) (*change.Lost, string, error) {
	_, date, err := a.place(r, time.Now())
	if err != nil {
		return nil, "", err
	}
	o.MinBlock = 20 * time.Minute
	if a.season == 0 {
		return &change.Lost{Date: date, Options: o}, "the night of " + date.Format(time.DateOnly) + ", each target as if the night were for it alone", nil
	}
	words := fmt.Sprintf("%d months from %s on", a.season, date.Format("2006-01"))
	if a.season == 1 {
		words = date.Format("2006-01")
	}
	return &change.Lost{Date: date, Months: a.season, Options: o}, words, nil
}

// variantsOf reads the flags that say what changes.
func variantsOf(sets, swaps, ranges, groups []string) ([]change.Variant, error) {
	var edits []change.Edit
	for _, list := range []struct {
		texts []string
		parse func(string) (change.Edit, error)
	}{{swaps, change.ParseSwap}, {sets, change.ParseEdit}} {
		for _, s := range list.texts {
			e, err := list.parse(s)
			if err != nil {
				return nil, err
			}
			edits = append(edits, e)
		}
	}
	var out []change.Variant
	switch {
	case len(ranges) > 0:
		out = []change.Variant{{Edits: edits}}
		for _, s := range ranges {
			r, err := change.ParseRange(s)
			if err != nil {
				return nil, err
			}
			var more []change.Variant
			for _, v := range out {
				more = append(more, r.Variants(v)...)
			}
			if out = more; len(out) > change.MaxVariants {
				return nil, fmt.Errorf("change: the ranges make %d variants: at most %d", len(out), change.MaxVariants)
			}
		}
	case len(edits) > 0:
		var names []string
		for _, e := range edits {
			names = append(names, e.String())
		}
		out = []change.Variant{{Name: strings.Join(names, ", "), Edits: edits}}
	}
	for _, s := range groups {
		v, err := parseGroup(s)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	for _, v := range out {
		for _, e := range v.Edits {
			if err := named(e.String(), e.Path); err != nil {
				return nil, err
			}
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("change: nothing to change; give --set, --swap, --range or --variant, as in `legroom change mine.yaml --set riser=150`")
	}
	return out, nil
}

// parseGroup reads "name: path=value; path=value".
func parseGroup(s string) (change.Variant, error) {
	name, rest, ok := strings.Cut(s, ":")
	v := change.Variant{Name: strings.TrimSpace(name)}
	for _, part := range strings.Split(rest, ";") {
		e, err := change.ParseEdit(part)
		if !ok || v.Name == "" || strings.Contains(v.Name, "=") || err != nil {
			return v, fmt.Errorf("--variant %q: give a name and what it changes, such as \"turned: leg-azimuth=60; riser=100\"", s)
		}
		v.Edits = append(v.Edits, e)
	}
	return v, nil
}

var saveName = regexp.MustCompile(`^[^/\\]+$`)

// saves says where the variants' documents go, and refuses before the work what could not be written or would write over a file.
func saves(c *cobra.Command, rigFile, name string, overwrite bool, variants []change.Variant) ([]string, error) {
	if name == "" {
		if overwrite {
			return nil, fmt.Errorf("%s: --overwrite is for --save; give that too, or leave it out", c.Name())
		}
		return nil, nil
	}
	if !saveName.MatchString(name) {
		return nil, fmt.Errorf("%s: --save %q: give a name without a folder: variants lie beside the rig, since a rig's files are looked for there", c.Name(), name)
	}
	name = strings.TrimSuffix(strings.TrimSuffix(name, ".yaml"), ".yml")
	var out []string
	for i := range variants {
		file := filepath.Join(filepath.Dir(rigFile), fmt.Sprintf("%s-%d.yaml", name, i+1))
		if len(variants) == 1 {
			file = filepath.Join(filepath.Dir(rigFile), name+".yaml")
		}
		if _, err := os.Lstat(file); err == nil && !overwrite {
			return nil, fmt.Errorf("%s: --save: there is a file %s already; give another name, or --overwrite", c.Name(), file)
		}
		out = append(out, file)
	}
	return out, nil
}
