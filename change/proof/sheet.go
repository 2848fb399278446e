package proof

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml"

	"legroom/axes"
	"legroom/rig"
)

// SheetVersion is the version of the file that this program reads and writes.
const SheetVersion = 1

// Sheet is a walk on file, with what the ruler said: YAML that its owner fills in by hand, and that holds for one state of one rig.
type Sheet struct {
	Version     int         `yaml:"proof" json:"proof"`
	Rig         string      `yaml:"rig" json:"rig"`
	Fingerprint string      `yaml:"fingerprint" json:"fingerprint"`
	Begin       string      `yaml:"begins" json:"begins"` // RFC 3339
	Without     []string    `yaml:"without,omitempty" json:"without,omitempty"`
	RulerMM     float64     `yaml:"ruler_mm" json:"ruler_mm"` // what a reading is good to that does not say so itself, 95 of 100
	Steps       []SheetStep `yaml:"steps" json:"steps"`
}

// SheetStep is one step on file.
type SheetStep struct {
	Step       int      `yaml:"step" json:"step"`
	RAAxisDeg  float64  `yaml:"ra_axis_deg" json:"ra_axis_deg"`
	DecAxisDeg float64  `yaml:"dec_axis_deg" json:"dec_axis_deg"`
	A          string   `yaml:"from" json:"from"`
	WhereA     string   `yaml:"from_at" json:"from_at"`
	B          string   `yaml:"to" json:"to"`
	WhereB     string   `yaml:"to_at" json:"to_at"`
	Predicted  string   `yaml:"predicted_mm" json:"predicted_mm"`
	Readings   []string `yaml:"readings_mm" json:"readings_mm"` // each `212` or `212 ± 1`
}

// NewSheet is the sheet of a walk, without readings.
func NewSheet(w *Walk, rulerMM float64) *Sheet {
	r := w.Gauge.Model.Rig
	if rulerMM == 0 {
		rulerMM = UsualRulerMM
	}
	s := &Sheet{Version: SheetVersion, Rig: r.Name, Fingerprint: r.Fingerprint(), Begin: w.Begin.Format(time.RFC3339), RulerMM: rulerMM}
	for _, c := range w.Gauge.Model.Assembly.Without {
		if c != rig.FocuserTravel && c != rig.RotatorSweep {
			s.Without = append(s.Without, c)
		}
	}
	for i, st := range w.Steps {
		s.Steps = append(s.Steps, SheetStep{Step: i + 1, RAAxisDeg: round(axes.Deg(st.Axes.RA), 4), DecAxisDeg: round(axes.Deg(st.Axes.Dec), 4),
			A: st.A, WhereA: st.WhereA, B: st.B, WhereB: st.WhereB, Predicted: fmt.Sprintf("%.0f ± %.0f", st.GapMM, math.Ceil(st.ErrorMM))})
	}
	return s
}

func round(x float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(x*p)/p + 0
}

// Bytes is the sheet as a file, with what to do with it in comments.
func (s *Sheet) Bytes() []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# Proof walk of %s. Write what the ruler says between the brackets of readings_mm, in millimetres:", strings.ReplaceAll(s.Rig, "\n", " "))
	line("# [212], or with what it is good to [212 ± 1]. Measure twice and write both, [212, 213]; leave out what you could not measure.")
	line("# If the mount did not stop quite where the sheet has it, write its own axis angles in place of these.")
	line("# Then: legroom proof RIG --measured THIS-FILE")
	line("proof: %d", s.Version)
	line("rig: %s", strconv.Quote(s.Rig))
	line("fingerprint: %s # the state of the document that the walk is for", strconv.Quote(s.Fingerprint))
	line("begins: %s", strconv.Quote(s.Begin))
	if len(s.Without) > 0 {
		line("without:")
		for _, c := range s.Without {
			line("  - %s", strconv.Quote(c))
		}
	}
	line("ruler_mm: %g # what a reading is good to that does not say so itself, 95 of 100", s.RulerMM)
	line("steps:")
	for _, st := range s.Steps {
		line("  - step: %d", st.Step)
		line("    ra_axis_deg: %g", st.RAAxisDeg)
		line("    dec_axis_deg: %g", st.DecAxisDeg)
		line("    from: %s", strconv.Quote(st.A))
		line("    from_at: %s", strconv.Quote(st.WhereA))
		line("    to: %s", strconv.Quote(st.B))
		line("    to_at: %s", strconv.Quote(st.WhereB))
		line("    predicted_mm: %s", st.Predicted)
		line("    readings_mm: [%s]", strings.Join(st.Readings, ", "))
	}
	return b.Bytes()
}

// maxSheet bounds a sheet, bytes; twelve steps take a few kilobytes.
const maxSheet = 1 << 20

// LoadSheet reads a sheet from a file.
func LoadSheet(path string) (*Sheet, error) {
	data, err := rig.ReadFile(path, maxSheet)
	if err != nil {
		return nil, fmt.Errorf("the sheet %s cannot be read: %w; legroom proof RIG --sheet FILE.yaml writes one", path, err)
	}
	s, err := ParseSheet(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

// ParseSheet reads a sheet. What is not right gives one error that says where.
func ParseSheet(data []byte) (*Sheet, error) {
	if err := rig.BoundYAML(data, ""); err != nil {
		return nil, err
	}
	var s Sheet
	if err := yaml.NewDecoder(bytes.NewReader(data), yaml.Strict()).Decode(&s); err != nil {
		var at yaml.Error
		if errors.As(err, &at) && at.GetToken() != nil {
			p := at.GetToken().Position
			return nil, fmt.Errorf("%d:%d: %s", p.Line, p.Column, at.GetMessage())
		}
		return nil, fmt.Errorf("not a sheet of a proof walk: %w", err)
	}
	if s.Version != SheetVersion {
		return nil, fmt.Errorf("proof: %d: this program reads version %d of the sheet", s.Version, SheetVersion)
	}
	if !(s.RulerMM >= 0.1 && s.RulerMM <= 50) {
		return nil, fmt.Errorf("ruler_mm: %g: give what a reading is good to, 0.1 to 50 mm", s.RulerMM)
	}
	seen := map[int]bool{}
	for _, st := range s.Steps {
		if st.Step < 1 || seen[st.Step] {
			return nil, fmt.Errorf("step %d: give each step a number of its own, from 1", st.Step)
		}
		seen[st.Step] = true
		if !(math.Abs(st.RAAxisDeg) <= 720 && math.Abs(st.DecAxisDeg) <= 720) {
			return nil, fmt.Errorf("step %d: ra_axis_deg, dec_axis_deg: %g, %g: give degrees from −720 to 720, as the walk had them", st.Step, st.RAAxisDeg, st.DecAxisDeg)
		}
	}
	_, err := s.Taken()
	return &s, err
}

var readingForm = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?)(?:\s*(?:±|\+-|\+/-)\s*([0-9]+(?:\.[0-9]+)?))?$`)

// ParseReading reads `212` or `212 ± 1`; tolMM is what a reading is good to that does not say so.
func ParseReading(text string, tolMM float64) (mm, tol float64, err error) {
	m := readingForm.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, 0, fmt.Errorf("%q: write millimetres such as 212 or 212 ± 1", text)
	}
	tol = tolMM
	if mm, err = strconv.ParseFloat(m[1], 64); err == nil && m[2] != "" {
		tol, err = strconv.ParseFloat(m[2], 64)
	}
	if err != nil || !(mm <= 5000) || !(tol >= 0.1 && tol <= 100) {
		return 0, 0, fmt.Errorf("%q: a reading is 0 to 5000 mm, good to 0.1 to 100 mm", text)
	}
	return mm, tol, nil
}

// Taken lists the readings of the sheet.
func (s *Sheet) Taken() ([]Reading, error) {
	var out []Reading
	for _, st := range s.Steps {
		for _, text := range st.Readings {
			mm, tol, err := ParseReading(text, s.RulerMM)
			if err != nil {
				return nil, fmt.Errorf("step %d: readings_mm: %w", st.Step, err)
			}
			at := axes.Angles{RA: axes.Rad(st.RAAxisDeg), Dec: axes.Rad(st.DecAxisDeg)}
			out = append(out, Reading{Step: st.Step, Axes: at, A: st.A, B: st.B, MM: mm, TolMM: tol})
		}
	}
	return out, nil
}

// Of refuses a sheet that is of another rig, or of another state of this one: its walk and its readings are used up once the
// document has been changed by them.
func (s *Sheet) Of(r *rig.Rig) error {
	if now := r.Fingerprint(); s.Fingerprint != now {
		return fmt.Errorf("the sheet is for the rig with the fingerprint %s, and %s has %s now: make a new walk (its readings count once, for "+
			"the document as it was)", s.Fingerprint, r.Name, now)
	}
	return nil
}

// Enter adds a reading to a step; at, when given, is where the mount says that its axes stand.
func (s *Sheet) Enter(step int, text string, at *axes.Angles) error {
	if _, _, err := ParseReading(text, s.RulerMM); err != nil {
		return err
	}
	for i := range s.Steps {
		st := &s.Steps[i]
		if st.Step != step {
			continue
		}
		if at != nil {
			const far = 3 // degrees: then this is another pose
			ra, dec := round(axes.Deg(at.RA), 4), round(axes.Deg(at.Dec), 4)
			if math.Abs(ra-st.RAAxisDeg) > far || math.Abs(dec-st.DecAxisDeg) > far {
				return fmt.Errorf("step %d is at RA axis %g°, declination axis %g°, and the mount says %.2f° and %.2f°: drive there first",
					step, st.RAAxisDeg, st.DecAxisDeg, ra, dec)
			}
			st.RAAxisDeg, st.DecAxisDeg = ra, dec
		}
		st.Readings = append(st.Readings, strings.TrimSpace(text))
		return nil
	}
	return fmt.Errorf("there is no step %d on the sheet, which has %d", step, len(s.Steps))
}
