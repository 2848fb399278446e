package rig

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// NewOptions says what a new document starts from.
type NewOptions struct {
	Name                      string
	LatitudeDeg, LongitudeDeg float64 // north and east positive
	ElevationM                float64
	TimeZone                  string
	Horizon                   string // name of a text file beside the document; "" for none

	Support, Extension, Mount, Tube string            // names of templates; Extension may be ""
	Answers                         map[string]string // by Question.Name: `900` or `900 ± 3`

	SideChoice, EarliestFlip string  // of the mount's own rules; "" leaves them unknown
	Flip                     FlipWay // which way the declination axis turns in a flip; "" leaves it unknown
	Park                     string  // RA axis and declination axis, degrees, such as 0,0; "" for none
}

// NewDocument combines templates and what the owner measured into one commented document, which Parse reads. Lengths
// that were not answered stay marked unmeasured.
func NewDocument(o NewOptions) ([]byte, error) {
	asked, err := Questions(o.Support, o.Extension, o.Mount, o.Tube)
	if err != nil {
		return nil, err
	}
	text, err := o.text()
	if err != nil {
		return nil, err
	}
	d, err := EditDocument([]byte(text))
	if err != nil {
		return nil, err
	}
	for _, name := range sortedKeys(o.Answers) {
		i := slices.IndexFunc(asked, func(q Question) bool { return q.Name == name })
		if i < 0 {
			var names []string
			for _, q := range asked {
				names = append(names, q.Name)
			}
			return nil, &Error{Path: name, Problem: "nothing of that name is asked for", Remedy: "answer " + oneOf(names)}
		}
		if err := asked[i].answer(d, o.Answers[name]); err != nil {
			return nil, err
		}
	}
	park, err := o.park()
	if err != nil {
		return nil, err
	}
	for _, rule := range [][2]string{{"own_rules.side_choice", o.SideChoice}, {"own_rules.earliest_flip_min", o.EarliestFlip},
		{"travel.declination_flip", string(o.Flip)}, {"park", park}} {
		if rule[1] == "" {
			continue
		}
		if err := d.Set("mount."+rule[0], rule[1]); err != nil {
			return nil, err
		}
	}
	flat := *d // whether the horizon's file is there is for the one who saves the document
	if o.Horizon != "" {
		if err := flat.Delete("site.horizon"); err != nil {
			return nil, err
		}
	}
	if _, err := flat.Rig(); err != nil {
		return nil, err
	}
	return d.Bytes(), nil
}

// park writes the park pose as a document has it.
func (o *NewOptions) park() (string, error) {
	if o.Park == "" {
		return "", nil
	}
	ra, dec, ok := strings.Cut(o.Park, ",")
	for _, x := range []string{ra, dec} {
		if _, err := strconv.ParseFloat(strings.TrimSpace(x), 64); err != nil {
			ok = false
		}
	}
	if !ok {
		return "", &Error{Path: "mount.park", Problem: fmt.Sprintf("%q is not a pose of two axes", o.Park), Remedy: "write two numbers of degrees, such as 0,0"}
	}
	return fmt.Sprintf("{ra_axis_deg: %s, dec_axis_deg: %s}", strings.TrimSpace(ra), strings.TrimSpace(dec)), nil
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// text joins the site and the templates.
func (o *NewOptions) text() (string, error) {
	var b strings.Builder
	name := o.Name
	if name == "" {
		name = "my rig"
	}
	fmt.Fprintf(&b, `# A telescope rig. Lengths are millimetres, angles degrees, masses kilograms.
# Write a measure as 460, or with its tolerance as 460 ± 5. The word "unmeasured" marks a length that comes from a
# template: measure it, write your own figure in its place and take the word away.
legroom: 1
name: %s
margin_mm: 30 # the gap that must always be left

site:
  latitude_deg: %s # north positive
  longitude_deg: %s # east positive
  elevation_m: %s
  time_zone: %s
`, word(name, true), format(o.LatitudeDeg), format(o.LongitudeDeg), format(o.ElevationM), word(o.TimeZone, false))
	if o.Horizon != "" {
		fmt.Fprintf(&b, "  horizon: %s # lines of azimuth and altitude\n", word(o.Horizon, true))
	} else {
		b.WriteString("  # horizon: horizon.txt # lines of azimuth and altitude in degrees; flat when left out\n")
	}
	for _, t := range [][2]string{{"support", o.Support}, {"extension", o.Extension}, {"mount", o.Mount}, {"tube", o.Tube}} {
		if t[0] == "extension" && t[1] == "" {
			continue
		}
		text, err := template(t[0], t[1])
		if err != nil {
			return "", err
		}
		if t[0] == "extension" {
			for line := range strings.Lines(text) {
				b.WriteString("  " + line)
			}
			continue
		}
		b.WriteString("\n" + text)
	}
	return b.String(), nil
}

// answer writes a measure, and what is scaled with it, into the document.
func (q *Question) answer(d *Document, text string) error {
	a := Quantity{Unit: q.Unit}
	if problem, remedy := parseQuantity(&a, text, ""); problem != "" {
		return &Error{Path: q.Name, Problem: problem, Remedy: remedy}
	}
	if (q.back || len(q.scaled)+len(q.alike) > 0) && a.Value <= 0 {
		return &Error{Path: q.Name, Problem: format(a.Value) + " mm is no length", Remedy: "write the distance, a number above 0"}
	}
	usual, err := q.usual(d)
	if err != nil {
		return err
	}
	factor := a.Value / math.Abs(usual)
	text = strings.TrimSpace(text)
	if q.back {
		text = "-" + strings.TrimPrefix(text, "+")
	}
	if !q.whole {
		for _, p := range append([]string{q.Path}, q.also...) {
			if err := d.Set(p, text); err != nil {
				return err
			}
		}
	}
	for i, p := range slices.Concat(q.scaled, q.alike) {
		was, err := d.quantity(p)
		if err != nil {
			return err
		}
		now := math.Round(was.Value*factor*10) / 10
		tol := was.Tol * factor // of what goes with the size; what belongs to the measure is surer
		if i < len(q.scaled) {
			tol = math.Abs(now) * unmeasuredShare
		}
		if err := d.Set(p, fmt.Sprintf("%s ± %s unmeasured", format(now), format(math.Max(3, math.Round(tol))))); err != nil {
			return err
		}
	}
	return nil
}

// usual is what the template says in the question's place.
func (q *Question) usual(d *Document) (float64, error) {
	if !q.whole {
		return d.number(q.Path)
	}
	sum := 0.0
	for _, p := range q.scaled {
		v, err := d.number(p)
		if err != nil {
			return 0, err
		}
		sum += v
	}
	return sum, nil
}

// quantity reads the length that is written at a path of the document.
func (d *Document) quantity(path string) (q Quantity, err error) {
	steps, err := parsePath(path)
	if err != nil {
		return q, &Error{Path: path, Problem: err.Error()}
	}
	tree, err := parseNodes([]byte(d.text), d.path)
	if err != nil {
		return q, asErrors(err)
	}
	passed, rest := walk(tree, steps)
	q.Unit = "mm"
	if problem, remedy := parseQuantity(&q, passed[len(passed)-1].text, ""); len(rest) > 0 || problem != "" {
		return q, &Error{Path: path, Problem: "there is no number: " + problem, Remedy: remedy}
	}
	return q, nil
}

// number reads the value alone, of an angle too.
func (d *Document) number(path string) (float64, error) {
	q, err := d.quantity(path)
	return q.Value, err
}

// Usual gives what the template says in the question's place, as a person would answer it.
func (q *Question) Usual(o NewOptions) (string, error) {
	text, err := o.text()
	if err != nil {
		return "", err
	}
	d, err := EditDocument([]byte(text))
	if err != nil {
		return "", err
	}
	v, err := q.usual(d)
	if q.back {
		v = -v
	}
	return format(v), err
}
