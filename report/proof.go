package report

import (
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/change/proof"
)

// ProofDoc is the document of `legroom proof`: a walk to drive by day.
type ProofDoc struct {
	Rig string `json:"rig"`
	Basis
	Begins   string         `json:"begins" jsonschema:"format=date-time"`
	Ends     string         `json:"ends" jsonschema:"format=date-time" jsonschema_description:"until when the poses keep their distance from the Sun"`
	Sun      bool           `json:"sun" jsonschema_description:"the Sun is up at some time of the walk"`
	Start    AxisPoseDoc    `json:"start"`
	Steps    []ProofStepDoc `json:"steps" jsonschema_description:"from roomy to tight"`
	Lengths  []LeftDoc      `json:"lengths" jsonschema_description:"what the walk should leave of each tolerance when every reading is taken, least first"`
	Cautions []string       `json:"cautions"`
}

// ProofStepDoc is one pose to drive to and one distance to measure there.
type ProofStepDoc struct {
	Step int `json:"step"`
	AxisPoseDoc
	AltitudeDeg float64       `json:"altitude_deg" jsonschema_description:"where the tube points"`
	AzimuthDeg  float64       `json:"azimuth_deg" jsonschema_description:"clockwise from north"`
	Way         []AxisPoseDoc `json:"way" jsonschema_description:"the poses to drive to one after the other, each slew proven; the step's own last"`
	From        ProofPointDoc `json:"from"`
	To          ProofPointDoc `json:"to"`
	GapMM       float64       `json:"gap_mm" jsonschema_description:"predicted"`
	ErrorMM     float64       `json:"error_mm" jsonschema_description:"what the tolerances leave it open by, 95 of 100"`
	LeastMM     float64       `json:"least_mm" jsonschema_description:"proven lower bound of every gap at the pose, tolerances taken off"`
	SunDeg      *float64      `json:"sun_deg" jsonschema:"nullable" jsonschema_description:"least angle between tube and Sun; null when the Sun is down"`
}

// ProofPointDoc is a point to measure at.
type ProofPointDoc struct {
	Part    string     `json:"part"`
	Where   string     `json:"where"`
	PointMM [3]float64 `json:"point_mm" jsonschema_description:"world frame"`
}

// LeftDoc is what a walk should leave of a tolerance.
type LeftDoc struct {
	Path      string  `json:"path"`
	Unit      string  `json:"unit" jsonschema:"enum=mm,enum=deg"`
	Tolerance float64 `json:"tolerance"`
	Left      float64 `json:"left" jsonschema_description:"0…1"`
}

// proofCautions are those of a walk.
var proofCautions = []string{
	"By day, with the cap on the tube and on every finder and guide tube: the poses stay away from the Sun, the ways between them may " +
		"pass nearer. Never sweep an uncovered tube near the Sun, and never look through one.",
	"Drive slowly, with one hand on the power switch, one step after the other, eyes on the parts and not on the sheet. Where there is " +
		"less room than the sheet says, stop and go no further.",
	"A motor drive can pinch and crush: measure only when both axes stand still with tracking off, and nobody at the hand control. " +
		"Counterweights and tubes fall, and a tall support tips: clamp both axes before you lean in, and lean on nothing.",
	"Set the rig up as the document has it: legs, riser, saddle mark, focuser, rotator; cables tied as at night.",
	"Legroom plans and supervises; it is not a safety function. Keep the mount's own limits and stops set.",
}

// Proof returns the document of a walk.
func Proof(basis Basis, w *proof.Walk) ProofDoc {
	m := w.Gauge.Model
	d := ProofDoc{Rig: m.Rig.Name, Basis: basis, Begins: w.Begin.Format(time.RFC3339), Ends: w.End.Format(time.RFC3339), Sun: w.Sun,
		Start: axisPose(&m.Head, w.Start), Steps: []ProofStepDoc{}, Lengths: []LeftDoc{}, Cautions: proofCautions}
	for i, s := range w.Steps {
		alt, az := axes.AltAz(m.Head.Pointing(s.Axes))
		step := ProofStepDoc{Step: i + 1, AxisPoseDoc: axisPose(&m.Head, s.Axes), AltitudeDeg: nearest(axes.Deg(alt)), AzimuthDeg: nearest(axes.Deg(az)),
			From: proofPoint(s.A, s.WhereA, s.PointA), To: proofPoint(s.B, s.WhereB, s.PointB),
			GapMM: nearest(s.GapMM), ErrorMM: up(s.ErrorMM), LeastMM: down(s.LeastMM)}
		for _, at := range s.Way {
			step.Way = append(step.Way, axisPose(&m.Head, at))
		}
		if w.Sun {
			sun := down(s.SunDeg)
			step.SunDeg = &sun
		}
		d.Steps = append(d.Steps, step)
	}
	for _, e := range w.Expect {
		d.Lengths = append(d.Lengths, LeftDoc{Path: e.Quantity.Path, Unit: e.Quantity.Unit, Tolerance: e.Quantity.Tol, Left: nearest(e.Left)})
	}
	return d
}

func proofPoint(part, where string, x r3.Vec) ProofPointDoc {
	return ProofPointDoc{Part: part, Where: where, PointMM: [3]float64{nearest(x.X), nearest(x.Y), nearest(x.Z)}}
}

// FitDoc is the document of `legroom proof --measured`.
type FitDoc struct {
	Rig         string            `json:"rig"`
	Fingerprint string            `json:"fingerprint" jsonschema_description:"of the document that the readings were fitted to"`
	Verdict     proof.Verdict     `json:"verdict" jsonschema:"enum=agrees,enum=one wrong,enum=contradicted"`
	Steps       int               `json:"steps" jsonschema_description:"of the walk, with a reading or without"`
	Readings    []ProofReadingDoc `json:"readings"`
	Open        *string           `json:"open" jsonschema:"nullable" jsonschema_description:"the step to measure again before anything is corrected: the reading left out shows less room than the model"`
	ChiSquare   float64           `json:"chi_square" jsonschema_description:"of the readings taken, about what lengths and tolerances say"`
	Freedom     int               `json:"freedom"`
	Chance      float64           `json:"chance" jsonschema_description:"of a chi square as large as that when the model is true; below 0.01 it is refused"`
	Lengths     []FittedDoc       `json:"lengths" jsonschema_description:"told best first"`
	Changes     []CorrectedDoc    `json:"changes" jsonschema_description:"what the corrected document says otherwise; empty when the model is refused or a step is open"`
	LeftOut     []LeftOutDoc      `json:"left_out" jsonschema_description:"corrections that the document cannot take"`
	Diff        string            `json:"diff" jsonschema_description:"of the document, as unified lines"`
	Accepted    bool              `json:"accepted" jsonschema_description:"the corrected document is written"`
	NewPrint    *string           `json:"corrected_fingerprint" jsonschema:"nullable"`
}

// ProofReadingDoc is one reading against the model.
type ProofReadingDoc struct {
	Step        int     `json:"step"`
	From        string  `json:"from"`
	To          string  `json:"to"`
	ReadingMM   float64 `json:"reading_mm"`
	GoodToMM    float64 `json:"good_to_mm" jsonschema_description:"95 of 100"`
	PredictedMM float64 `json:"predicted_mm" jsonschema_description:"by the document"`
	ErrorMM     float64 `json:"error_mm" jsonschema_description:"of that, 95 of 100"`
	FittedMM    float64 `json:"fitted_mm" jsonschema_description:"by the corrected document; by the fit where nothing is corrected"`
	Off         float64 `json:"off" jsonschema_description:"from what the other readings and the tolerances say, in standard deviations of both"`
	Wrong       bool    `json:"wrong" jsonschema_description:"it does not go with the others, and is left out of the fit"`
	Suspect     bool    `json:"suspect" jsonschema_description:"it may be the wrong one instead"`
}

// FittedDoc is one length after the fit.
type FittedDoc struct {
	Path         string           `json:"path"`
	Unit         string           `json:"unit" jsonschema:"enum=mm,enum=deg"`
	Value        float64          `json:"value"`
	Tolerance    float64          `json:"tolerance"`
	Fitted       float64          `json:"fitted" jsonschema_description:"by the readings"`
	Error        float64          `json:"error" jsonschema_description:"of that, 95 of 100; less than a document can say where lengths are known better together"`
	Left         float64          `json:"left" jsonschema_description:"error over tolerance, 0…1"`
	Corrected    float64          `json:"corrected" jsonschema_description:"as the corrected document has it; as this one has it where nothing is corrected"`
	CorrectedTol float64          `json:"corrected_tolerance"`
	Told         proof.Identified `json:"told" jsonschema:"enum=told,enum=partly,enum=untold"`
	With         *string          `json:"with" jsonschema:"nullable" jsonschema_description:"the length that it is known best together with"`
	Correlation  float64          `json:"correlation"`
}

// CorrectedDoc is one value that the corrected document says otherwise.
type CorrectedDoc struct {
	Path string `json:"path"`
	From string `json:"from"`
	To   string `json:"to"`
}

// LeftOutDoc is a correction that the document cannot take.
type LeftOutDoc struct {
	CorrectedDoc
	Why string `json:"why"`
}

// Correction is what became of a document by a fit.
type Correction struct {
	Changes       []proof.Change   // all that the fit has
	LeftOut       []proof.Refusal  // of those
	Open          *proof.OpenError // why there are none; nil when no step is open
	Name          string           // of the file
	Before, After string           // its text
	Fingerprint   string           // of the corrected rig; "" when there is none
	Predicted     []float64        // the readings by the corrected rig, mm; nil when there is none
	Accepted      bool
}

// Fit returns the document of a fit to readings of a walk of so many steps.
func Fit(r Basis, name string, steps int, f *proof.Fit, c Correction) FitDoc {
	d := FitDoc{Rig: name, Fingerprint: r.Fingerprint, Verdict: f.Verdict, Steps: steps, Readings: []ProofReadingDoc{}, ChiSquare: nearest(f.ChiSq), Freedom: f.Freedom,
		Chance: f.Chance, Lengths: []FittedDoc{}, Changes: []CorrectedDoc{}, LeftOut: []LeftOutDoc{}, Accepted: c.Accepted}
	if c.Open != nil {
		why := c.Open.Error()
		d.Open = &why
	}
	suspect := map[int]bool{}
	for _, k := range f.Suspects {
		suspect[k] = true
	}
	left, written := map[string]bool{}, map[string]proof.Change{}
	for _, x := range c.LeftOut {
		left[x.Path] = true
		d.LeftOut = append(d.LeftOut, LeftOutDoc{correctedDoc(x.Change), x.Why.Error()})
	}
	for _, x := range c.Changes {
		if !left[x.Path] {
			written[x.Path] = x
			d.Changes = append(d.Changes, correctedDoc(x))
		}
	}
	for k, t := range f.Taken {
		if c.Predicted != nil {
			t.FittedMM = c.Predicted[k]
		}
		d.Readings = append(d.Readings, ProofReadingDoc{Step: t.Step, From: t.A, To: t.B, ReadingMM: nearest(t.MM), GoodToMM: nearest(t.TolMM),
			PredictedMM: nearest(t.PredictedMM), ErrorMM: up(t.ErrorMM), FittedMM: nearest(t.FittedMM), Off: nearest(t.Off), Wrong: k == f.Wrong, Suspect: suspect[k]})
	}
	for _, l := range f.ByTold() {
		out := FittedDoc{Path: l.Path, Unit: l.Unit, Value: l.Value, Tolerance: l.Tol, Fitted: nearest(l.Fitted), Error: up(l.Error),
			Left: nearest(l.Left), Corrected: l.Value, CorrectedTol: l.Tol, Told: l.Told, Correlation: nearest(l.Correlation)}
		if x, ok := written[l.Path]; ok {
			out.Corrected, out.CorrectedTol = x.To, x.ToTol
		}
		if l.With != nil {
			out.With = &l.With.Path
		}
		d.Lengths = append(d.Lengths, out)
	}
	d.Diff = unified(c.Name, c.Name+", corrected", c.Before, c.After)
	if c.Fingerprint != "" {
		d.NewPrint = &c.Fingerprint
	}
	return d
}

func correctedDoc(c proof.Change) CorrectedDoc {
	return CorrectedDoc{Path: c.Path, From: c.Quantity.String(), To: c.Text}
}
