package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"runtime/debug"

	"github.com/spf13/cobra"

	"legroom/change"
	"legroom/report"
	"legroom/rig"
)

func newSolve() *cobra.Command {
	a := changeAsk{nightAsk: nightAsk{subS: 300, limits: string(report.ByDeclination)}}
	var vary, sets []string
	var aim, output, save string
	var limits change.Limits
	var points, work int
	var dpi float64
	var overwrite bool
	c := &cobra.Command{
		Use:   `solve RIG --vary path=from..to --aim "..."`,
		Short: "The least change that meets an aim: how high a riser, how far to turn the tripod, and how sure that is",
		Long: `Looks for the lengths and angles that meet an aim best, one to three at once, and proves how far that can
be from the best there is. The aims:

  most-room            as much of the sky with room as can be
  least-idle           as little idle time as can be
  no-idle              no idle time at all, at the least price
  past=MINUTES         side west tracks so long past the meridian, without idle time, at the least price

Behind the last three may stand " above DEGREES": idle time counts above that altitude, for what
culminates there. With --targets they are for these targets alone. A price is that of a millimetre
of riser; turning, sliding and spreading are cheap (path=from..to@PRICE gives your own). When the
riser is among the variables, the answer says what turning the tripod does in its place.

Short names: ` + shortNames() + `.`,
		Example: `  legroom solve examples/terrace-long-refractor.yaml --vary riser=0..300 --aim "no-idle above 30"
  legroom solve examples/terrace-long-refractor.yaml --vary riser=0..300 --vary leg-azimuth=-60..60 --aim "past=20" --target "M 31"
  legroom solve examples/terrace-long-refractor.yaml --vary leg-azimuth=-60..60 --aim least-idle --output azimuth.svg
  legroom solve examples/terrace-long-refractor.yaml --vary riser=0..300 --aim most-room --keep-push-n 150 --format json`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := a.format.check(); err != nil {
				return err
			}
			if err := required(c, "vary", "aim"); err != nil {
				return err
			}
			kind := ""
			if output != "" {
				var err error
				if kind, err = checkOutput(output, ".svg", ".png"); err != nil {
					return err
				}
			}
			for _, f := range []struct {
				flag     string
				x        float64
				from, to float64
			}{{"points", float64(points), 0, 201}, {"work", float64(work), 0, 1e6}, {"dpi", dpi, 36, 600},
				{"keep-tip-mm", limits.TipMM, 0, 1e4}, {"keep-push-n", limits.PushN, 0, 1e5}, {"keep-wind-m-per-s", limits.WindMS, 0, 100}} {
				if err := between(c, f.flag, f.x, f.from, f.to); err != nil {
					return err
				}
			}
			debug.SetGCPercent(400) // a few megabytes live, and thousands of maps are made: a tenth of the time went into collecting them
			p := change.Problem{Limits: limits, Work: work}
			var err error
			if p.Aim, err = change.ParseAim(aim); err != nil {
				return fmt.Errorf("--aim: %w", err)
			}
			for _, s := range vary {
				v, err := change.ParseVariable(s)
				if err != nil {
					return fmt.Errorf("--vary: %w", err)
				}
				if err := named("--vary "+s, v.Path); err != nil {
					return err
				}
				p.Variables = append(p.Variables, v)
			}
			if output != "" && len(vary) > 2 {
				return fmt.Errorf("solve: --output draws one variable or two, and there are %d", len(vary))
			}
			d, err := rig.OpenDocument(args[0])
			if err != nil {
				return err
			}
			if d, err = changed(d, sets); err != nil {
				return err
			}
			r, err := d.Rig()
			if err != nil {
				return err
			}
			p.Document = d
			if p.Ask, err = a.of(c, r); err != nil {
				return err
			}
			files, err := saves(c, args[0], save, overwrite, make([]change.Variant, 1))
			if err != nil {
				return err
			}
			doc, err := solved(c, p)
			if err != nil {
				return err
			}
			if len(files) > 0 && len(doc.Variants) > 1 {
				if err := writeFile(files[0], doc.best); err != nil {
					return err
				}
				doc.Variants[1].Saved = files[0]
			}
			if output != "" {
				var b bytes.Buffer
				if err := drawSolve(c.Context(), &b, kind, p, doc.SolveDoc, points, dpi); err != nil {
					return err
				}
				if err := writeFile(output, b.Bytes()); err != nil {
					return err
				}
				return a.wrote(c.OutOrStdout(), output)
			}
			if err := writeSolved(c.OutOrStdout(), a.name, doc.SolveDoc); err != nil {
				return err
			}
			if p.Aim.Cheapest() && (doc.Best == nil || !doc.Best.Meets) {
				return errNo
			}
			return nil
		},
	}
	f := c.Flags()
	f.StringArrayVar(&vary, "vary", nil, "path=from..to: what may change, and within which bounds (one to three times)")
	f.StringVar(&aim, "aim", "", `what to reach: most-room, least-idle, "no-idle above 30", past=20`)
	f.StringArrayVar(&sets, "set", nil, "path=value: change the document so before solving (may be repeated)")
	f.BoolVar(&limits.Balance, "keep-balance", false, "only where the counterweights can balance the RA axis, and the declination axis is no more out of balance than now")
	f.BoolVar(&limits.Cables, "keep-cables", false, "only where every cable whose length is given reaches")
	f.Float64Var(&limits.TipMM, "keep-tip-mm", 0, "only where the centre of mass stays so far inside of the feet's polygon, mm")
	f.Float64Var(&limits.PushN, "keep-push-n", 0, "only what a sideways push of so many newtons does not tip over")
	f.Float64Var(&limits.WindMS, "keep-wind-m-per-s", 0, "only what a wind of so many m/s does not tip over")
	f.IntVar(&work, "work", 0, "how much to look at, in maps of one degree (400 for one variable, 640 for two, 420 for three)")
	f.StringVar(&output, "output", "", "draw it over one variable or two into a file instead: .svg or .png")
	f.IntVar(&points, "points", 0, "points of that drawing along each variable (41 for one variable, 15 for two)")
	f.Float64Var(&dpi, "dpi", 150, "resolution of a .png, dots per inch")
	f.StringVar(&save, "save", "", "write the best rig's document beside the rig, as NAME.yaml")
	f.BoolVar(&overwrite, "overwrite", false, "let --save write over a file that is there")
	a.changeFlags(c, "text", "json", "csv")
	return c
}

// changed makes changes in a copy of a document.
func changed(d *rig.Document, sets []string) (*rig.Document, error) {
	if len(sets) == 0 {
		return d, nil
	}
	v := change.Variant{Name: "before"}
	for _, s := range sets {
		e, err := change.ParseEdit(s)
		if err != nil {
			return nil, err
		}
		v.Edits = append(v.Edits, e)
	}
	_, _, err := v.Apply(d)
	return d, err
}

// solution is what was found, with the best's document.
type solution struct {
	report.SolveDoc
	best []byte
}

func solved(c *cobra.Command, p change.Problem) (*solution, error) {
	bar := newProgress(c.ErrOrStderr(), "looking for the best")
	defer bar.end()
	s, err := change.Solve(c.Context(), p, func(q change.Progress) { bar.show(q.Done) })
	if err != nil {
		return nil, err
	}
	present, err := change.MeasureVariant(c.Context(), p.Document, change.Variant{Name: "present"}, p.Ask, nil)
	if err != nil {
		return nil, err
	}
	out := &solution{SolveDoc: report.Solved(s, present, p.Ask)}
	if s.Result != nil {
		out.best = s.Result.Document
	}
	return out, nil
}

func writeSolved(w io.Writer, format string, doc report.SolveDoc) error {
	switch format {
	case "json":
		return report.Write(w, doc)
	case "csv":
		return report.WriteSolvedCSV(w, doc)
	}
	return report.WriteSolved(w, doc)
}

func drawSolve(ctx context.Context, w io.Writer, kind string, p change.Problem, doc report.SolveDoc, points int, dpi float64) error {
	cell := 0.5
	if len(p.Variables) == 2 {
		cell = 1
	}
	if points == 0 {
		points = [...]int{41, 15}[len(p.Variables)-1]
	}
	s, err := change.NewScan(ctx, p, points, cell, nil)
	if err != nil {
		return err
	}
	chart := report.SolveChart{Doc: doc, Scan: s}
	if kind == ".png" {
		return chart.WritePNG(w, dpi)
	}
	return chart.WriteSVG(w)
}
