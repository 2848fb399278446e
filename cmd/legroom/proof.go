package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/change/proof"
	"legroom/mount"
	"legroom/report"
	"legroom/rig"
	"legroom/sky"
)

// proofAsk is what a proof walk takes.
type proofAsk struct {
	ask
	at       string
	steps    int
	ruler    float64
	avoid    []string
	output   string
	sheet    string
	measured string
	enter    []string
	mount    string
	accept   bool
}

func newProof() *cobra.Command {
	var a proofAsk
	c := &cobra.Command{
		Use:   "proof RIG",
		Short: "Does the model tell the truth? A walk to measure by day, and what the ruler says",
		Long: `Chooses up to twelve poses that together tell most about the uncertain lengths, from roomy to tight,
each reached by proven slews and away from the Sun, with the two points to measure between. --output
writes the worksheet, --sheet the file that the readings go into.

With --measured FILE it fits the lengths to the readings: which agree, which one is wrong, which lengths
they tell and which they don't, and the corrected document as a diff; --accept writes that,
but never while a reading that was left out shows less room than the model. --enter adds a reading to
the file first, and with --mount notes where the mount says that its axes stand. Exit code 1 when a
reading is wrong, or the ruler contradicts the model, unless --accept wrote the document without it.`,
		Example: `  legroom proof examples/terrace-long-refractor.yaml --output walk.pdf --sheet walk.yaml
  legroom proof examples/terrace-long-refractor.yaml --time 2026-11-26T10:30 --steps 8
  legroom proof examples/terrace-long-refractor.yaml --measured walk.yaml --enter 3=143 --enter "3=144 ± 1"
  legroom proof examples/terrace-long-refractor.yaml --measured walk.yaml --accept`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if a.measured != "" {
				return a.fit(c, args[0])
			}
			if len(a.enter) > 0 || a.accept || a.mount != "" {
				return fmt.Errorf("proof: --enter, --mount and --accept need the sheet: give --measured FILE.yaml")
			}
			return a.walk(c, args[0])
		},
	}
	f := c.Flags()
	f.StringVar(&a.at, "time", "", "when the walk begins, in the site's time, such as 2026-11-26T10:30 (now when not given)")
	f.IntVar(&a.steps, "steps", proof.MostSteps, "how many steps at most, 1 to 12")
	f.Float64Var(&a.ruler, "ruler-mm", proof.UsualRulerMM, "what a reading is good to, 95 of 100, mm")
	f.StringArrayVar(&a.avoid, "avoid", nil, "a part that no ruler can be held to, such as \"plug and cable bend\" (may be repeated)")
	f.StringVar(&a.output, "output", "", "the worksheet to write, a .pdf")
	f.StringVar(&a.sheet, "sheet", "", "the file for the readings to write, a .yaml")
	f.StringVar(&a.measured, "measured", "", "the file with the readings")
	f.StringArrayVar(&a.enter, "enter", nil, "add a reading to it: STEP=MM, such as 3=143 or \"3=143 ± 1\" (may be repeated)")
	f.StringVar(&a.mount, "mount", "", "with --enter: ask this mount where its axes stand, alpaca://HOST:PORT/N or indi://HOST:PORT/DEVICE")
	f.BoolVar(&a.accept, "accept", false, "write the corrected document")
	a.flags(c, "text", "json")
	f.Lookup("margin").Hidden = true // a walk has its own, and readings are of the document as it stands
	return c
}

// walk chooses a walk and writes it.
func (a *proofAsk) walk(c *cobra.Command, path string) error {
	if c.Flags().Changed("margin") {
		return fmt.Errorf("proof: a walk keeps the document's own margin, or %d mm where that is less", proof.LeastGapMM)
	}
	for file, ending := range map[string]string{a.output: ".pdf", a.sheet: ".yaml"} {
		if file == "" {
			continue
		}
		if _, err := checkOutput(file, ending); err != nil {
			return err
		}
	}
	g, err := a.gauge(c, path)
	if err != nil {
		return err
	}
	begin, err := walkTime(g.Model.Rig, a.at, time.Now())
	if err != nil {
		return err
	}
	safe, err := proof.Safe(g.Model, g.Mode)
	if err != nil {
		return err
	}
	m, err := newMapFor(c, safe, 0.25)
	if err != nil {
		return err
	}
	w, err := proof.NewWalk(c.Context(), m, proof.Options{Time: begin, Steps: a.steps, RulerMM: a.ruler, Avoid: a.avoid})
	if err != nil {
		return err
	}
	doc := report.Proof(report.BasisOf(safe, safe.MaxAllowance()), w)
	var wrote []string
	if a.output != "" {
		var b bytes.Buffer
		if err := report.WriteProofPDF(&b, doc, w); err != nil {
			return err
		}
		if err := writeFile(a.output, b.Bytes()); err != nil {
			return err
		}
		wrote = append(wrote, a.output)
	}
	if a.sheet != "" {
		if err := writeFile(a.sheet, proof.NewSheet(w, a.ruler).Bytes()); err != nil {
			return err
		}
		wrote = append(wrote, a.sheet)
	}
	switch {
	case len(wrote) > 0:
		return a.wrote(c.OutOrStdout(), wrote...)
	case a.name == "json":
		return report.Write(c.OutOrStdout(), doc)
	}
	return report.WriteProof(c.OutOrStdout(), doc)
}

// walkTime reads when a walk begins, in the site's zone; to the minute, so that the same walk comes out again.
func walkTime(r *rig.Rig, text string, now time.Time) (time.Time, error) {
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return time.Time{}, err
	}
	if text == "" {
		return now.In(site.Zone).Truncate(time.Minute), nil
	}
	for _, form := range []string{"2006-01-02T15:04", "2006-01-02 15:04", time.RFC3339} {
		if t, err := time.ParseInLocation(form, text, site.Zone); err == nil {
			return t.In(site.Zone), nil
		}
	}
	return time.Time{}, fmt.Errorf("--time %q: give date and time such as 2026-11-26T10:30", text)
}

// fit fits the readings of a sheet, after adding those that were entered.
func (a *proofAsk) fit(c *cobra.Command, path string) error {
	for _, flag := range []string{"time", "steps", "ruler-mm", "avoid", "output", "sheet", "with", "without", "tolerance", "margin"} {
		if c.Flags().Changed(flag) {
			return fmt.Errorf("proof: --%s is for choosing a walk; with --measured the sheet says what was measured", flag)
		}
	}
	if err := a.format.check(); err != nil {
		return err
	}
	doc, err := rig.OpenDocument(path)
	if err != nil {
		return err
	}
	r, err := doc.Rig()
	if err != nil {
		return err
	}
	sheet, err := proof.LoadSheet(a.measured)
	if err != nil {
		return err
	}
	if err := sheet.Of(r); err != nil {
		return fmt.Errorf("%s: %w", a.measured, err)
	}
	if err := a.enterReadings(c.Context(), r, sheet); err != nil {
		return err
	}
	f, fixed, err := a.judge(doc, r, sheet, path)
	if len(a.enter) > 0 && a.name != "json" {
		if _, err := fmt.Fprintf(c.OutOrStdout(), "%s\n\n", a.taken(sheet, path, fixed.Open)); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	basis := report.Basis{Fingerprint: r.Fingerprint()}
	out := report.Fit(basis, r.Name, len(sheet.Steps), f, fixed)
	if a.name == "json" {
		err = report.Write(c.OutOrStdout(), out)
	} else {
		err = report.WriteFit(c.OutOrStdout(), out)
	}
	if err == nil && f.Verdict != proof.Agrees && !out.Accepted {
		return errNo
	}
	return err
}

// judge fits the lengths to the readings of a sheet, and corrects the document by them.
func (a *proofAsk) judge(doc *rig.Document, r *rig.Rig, sheet *proof.Sheet, path string) (f *proof.Fit, c report.Correction, err error) {
	readings, err := sheet.Taken()
	if err != nil {
		return nil, c, err
	}
	fitter, err := proof.NewFitter(r, sheet.Without)
	if err != nil {
		return nil, c, err
	}
	if f, err = fitter.Fit(readings); err != nil {
		return nil, c, fmt.Errorf("%s: %w", a.measured, err)
	}
	c, err = correct(doc, f, path, a.accept)
	return f, c, err
}

// correct puts the fit's corrections into the document, and writes it when they are accepted.
func correct(doc *rig.Document, f *proof.Fit, path string, accept bool) (report.Correction, error) {
	out := report.Correction{Name: path, Before: string(doc.Bytes())}
	out.After = out.Before
	changes, err := f.Changes()
	if errors.Is(err, proof.ErrContradicted) || errors.As(err, &out.Open) {
		return out, nil
	}
	if err != nil || len(changes) == 0 {
		return out, err
	}
	r, leftOut, err := proof.Correct(doc, changes)
	if err != nil {
		return out, err
	}
	out.Changes, out.LeftOut, out.After, out.Fingerprint = changes, leftOut, string(doc.Bytes()), r.Fingerprint()
	if out.Predicted, err = f.Predict(r); err != nil {
		return out, err
	}
	if accept {
		if err := doc.WriteFile(path); err != nil {
			return out, err
		}
		out.Accepted = true
	}
	return out, nil
}

// enterReadings adds what was entered to the sheet, and writes the file.
func (a *proofAsk) enterReadings(ctx context.Context, r *rig.Rig, sheet *proof.Sheet) error {
	if len(a.enter) == 0 {
		if a.mount != "" {
			return fmt.Errorf("--mount: the mount is asked where a reading was taken: give --enter STEP=MM too")
		}
		return nil
	}
	type reading struct {
		step int
		text string
	}
	var list []reading
	for _, e := range a.enter {
		n, text, ok := strings.Cut(e, "=")
		step, err := strconv.Atoi(strings.TrimSpace(n))
		if !ok || err != nil {
			return fmt.Errorf("--enter %q: give STEP=MM, such as 3=143 or \"3=143 ± 1\"", e)
		}
		if len(list) > 0 && list[0].step != step && a.mount != "" {
			return fmt.Errorf("--enter %q: the mount stands at one step at a time", e)
		}
		list = append(list, reading{step, text})
	}
	var at *axes.Angles
	if a.mount != "" {
		address, err := mountAddress(a.mount)
		if err != nil {
			return err
		}
		now, err := standing(ctx, r, address, sheet, list[0].step)
		if err != nil {
			return err
		}
		at = &now
	}
	for _, e := range list {
		if err := sheet.Enter(e.step, e.text, at); err != nil {
			return fmt.Errorf("--enter: %w", err)
		}
	}
	return writeFile(a.measured, sheet.Bytes())
}

// taken says what was entered, and what comes next; open is the step to measure again, nil for none.
func (a *proofAsk) taken(sheet *proof.Sheet, path string, open *proof.OpenError) string {
	var b strings.Builder
	var next *proof.SheetStep
	read := 0
	for i := range sheet.Steps {
		st := &sheet.Steps[i]
		if len(st.Readings) > 0 {
			read++
		} else if next == nil {
			next = st
		}
		for _, e := range a.enter {
			if n, _, _ := strings.Cut(e, "="); strings.TrimSpace(n) == strconv.Itoa(st.Step) {
				b.WriteString(wrapped("", fmt.Sprintf("Entered in %s, step %d, from %s to %s: %s mm; predicted %s mm.", a.measured, st.Step, st.A, st.B,
					strings.Join(st.Readings, ", "), st.Predicted), helpColumns) + "\n")
				break
			}
		}
	}
	if next == nil && open != nil {
		return b.String() + wrapped("", fmt.Sprintf("All %d steps have a reading, and step %d is open: measure it again.", len(sheet.Steps), open.Step), helpColumns)
	}
	if next == nil {
		return b.String() + fmt.Sprintf("All %d steps have a reading. Where they agree, --accept writes the corrected document.", len(sheet.Steps))
	}
	return b.String() + wrapped("", fmt.Sprintf("%d of %d steps have a reading. Next: step %d, from %s to %s, and then", read, len(sheet.Steps), next.Step, next.A, next.B), helpColumns) +
		fmt.Sprintf("\n  legroom proof %s --measured %s --enter %d=MM", path, a.measured, next.Step)
}

// standing asks a mount where its axes stand, on the side of a step of the sheet: the mount only says where it points, and some say a
// side that follows from that alone.
func standing(ctx context.Context, r *rig.Rig, address string, sheet *proof.Sheet, step int) (axes.Angles, error) {
	var none axes.Angles
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return none, err
	}
	var planned *proof.SheetStep
	for i := range sheet.Steps {
		if sheet.Steps[i].Step == step {
			planned = &sheet.Steps[i]
		}
	}
	if planned == nil {
		return none, fmt.Errorf("--enter: there is no step %d on the sheet, which has %d", step, len(sheet.Steps))
	}
	tel, err := openMount(ctx, address)
	if err != nil {
		return none, err
	}
	defer tel.Close()
	ctx, cancel := context.WithTimeout(ctx, openWithin)
	defer cancel()
	now, err := tel.Read(ctx)
	if err != nil {
		return none, fmt.Errorf("the mount at %s: %w", address, err)
	}
	switch {
	case now.Slewing == mount.Yes:
		return none, fmt.Errorf("the mount at %s is moving: measure when it stands still", address)
	case now.Tracking == mount.Yes:
		return none, fmt.Errorf("the mount at %s is tracking: switch tracking off before you measure", address)
	}
	sidereal := now.Sidereal
	if !now.SiderealSaid {
		site, err := sky.NewSite(r.Site)
		if err != nil {
			return none, err
		}
		sidereal = site.SiderealTime(now.Asked)
	}
	want := axes.Angles{RA: axes.Rad(planned.RAAxisDeg), Dec: axes.Rad(planned.DecAxisDeg)}
	at := m.Head.Angles(axes.Pose{Side: m.Head.Pose(want).Side, HourAngle: axes.Wrap(sidereal - now.Place.RA), Dec: now.Place.Dec})
	// By whole turns, as the step has it.
	at.RA += 2 * math.Pi * math.Round((want.RA-at.RA)/(2*math.Pi))
	at.Dec += 2 * math.Pi * math.Round((want.Dec-at.Dec)/(2*math.Pi))
	return at, nil
}
