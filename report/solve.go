package report

import (
	"fmt"
	"math"
	"strings"

	changes "legroom/change"
)

// SolveDoc is the document of `legroom solve`.
type SolveDoc struct {
	Rig       string        `json:"rig"`
	Confirmed bool          `json:"confirmed" jsonschema_description:"always false: a change is planned, not set up"`
	Aim       string        `json:"aim"`
	MissUnit  string        `json:"miss_unit" jsonschema:"enum=percent,enum=min" jsonschema_description:"of miss: percent of the sky above the horizon without room on either side; or minutes, the mean over the targets, or over the declinations that the aim is for"`
	Variables []VariableDoc `json:"variables"`
	Assumed   []string      `json:"assumed" jsonschema_description:"what the document does not say and had to be assumed"`
	PushN     float64       `json:"push_n"`
	WindMS    float64       `json:"wind_m_per_s"`
	Present   SolvePoint    `json:"present" jsonschema_description:"the rig as it is"`
	Best      *SolvePoint   `json:"best" jsonschema:"nullable" jsonschema_description:"null when nothing that holds the side constraints was found"`
	Certified CertifiedDoc  `json:"certificate"`
	Front     []FrontDoc    `json:"front" jsonschema_description:"the trade-off between the first variable and the aim: of what was looked at, nothing whose first variable takes as little or less misses the aim by less; and the best, wherever it lies"`
	Turning   *TurningDoc   `json:"turning" jsonschema:"nullable" jsonschema_description:"turning the tripod against a riser, each alone; null unless the riser is a variable and the rig stands on a tripod"`
	Variants  []VariantDoc  `json:"variants" jsonschema_description:"the rig as it is, and the best, each measured anew from its document"`
	Points    []SolvePoint  `json:"points" jsonschema_description:"all that were looked at"`
}

// VariableDoc is what the solver may choose.
type VariableDoc struct {
	Path    string    `json:"path" jsonschema_description:"of the document, or a short name"`
	Unit    string    `json:"unit" jsonschema:"enum=mm,enum=deg"`
	From    float64   `json:"from"`
	To      float64   `json:"to"`
	Price   float64   `json:"price_per_unit" jsonschema_description:"in the price of a millimetre of riser"`
	Present float64   `json:"present"`
	Only    []float64 `json:"only,omitempty" jsonschema_description:"the values that it can take, such as the head's peg positions"`
}

// SolvePoint is a rig that the solver looked at.
type SolvePoint struct {
	Values map[string]float64 `json:"values"`
	Price  float64            `json:"price"`
	Miss   *float64           `json:"miss" jsonschema:"nullable" jsonschema_description:"by how much it misses the aim, at most; null when there is no such rig"`
	Meets  bool               `json:"meets" jsonschema_description:"of an aim to be met: whether it does, proven"`
	Breaks string             `json:"breaks,omitempty" jsonschema_description:"the side constraint that it does not hold"`
}

// CertifiedDoc is how far the best can be from the optimum.
type CertifiedDoc struct {
	Of         string   `json:"of" jsonschema:"enum=price,enum=miss" jsonschema_description:"what bound and off are of"`
	Bound      *float64 `json:"bound" jsonschema:"nullable" jsonschema_description:"proven: nothing within the variables' bounds comes below; null when nothing is proven, or nothing meets the aim"`
	Off        *float64 `json:"off" jsonschema:"nullable" jsonschema_description:"the best is no farther from the optimum"`
	Done       bool     `json:"done" jsonschema_description:"the search ended by itself, not for want of work"`
	Impossible bool     `json:"impossible" jsonschema_description:"proven: nothing within the bounds meets the aim"`
	Boxes      int      `json:"boxes" jsonschema_description:"boxes of the variables that were bounded"`
}

// FrontDoc is one point of the trade-off.
type FrontDoc struct {
	First   float64    `json:"first" jsonschema_description:"value of the first variable"`
	Takes   float64    `json:"first_takes" jsonschema_description:"of a riser its height; of anything else how far the first variable is from the present, either way"`
	Point   SolvePoint `json:"point"`
	AtLeast float64    `json:"miss_at_least" jsonschema_description:"proven: nothing whose first variable takes up to this much misses the aim by less"`
	Best    bool       `json:"best" jsonschema_description:"it is the best, as above; another whose first variable takes less may miss the aim by no more"`
}

// TurningDoc compares turning the tripod with a riser.
type TurningDoc struct {
	Text       string      `json:"text"`
	AllowedDeg []float64   `json:"allowed_bearings_deg" jsonschema_description:"of the first leg, that the head allows; empty: any"`
	Turn       *SolvePoint `json:"turn" jsonschema:"nullable" jsonschema_description:"the best azimuth of the first leg, alone"`
	Riser      *SolvePoint `json:"riser" jsonschema:"nullable" jsonschema_description:"the best riser, alone"`
	Enough     bool        `json:"enough" jsonschema_description:"turning alone meets the aim"`
	AsGood     bool        `json:"as_good" jsonschema_description:"turning alone is as good as the best riser alone"`
	WorthMM    *float64    `json:"worth_riser_mm" jsonschema:"nullable" jsonschema_description:"about the least riser that misses the aim by no more than turning does, between those looked at; null when none within the bounds does"`
}

// Solved returns the document of a solution. present is the rig as it is, measured as the best is.
func Solved(s *changes.Solution, present *changes.Result, a changes.Ask) SolveDoc {
	d := SolveDoc{Rig: present.Rig.Name, Aim: s.Aim.String(), MissUnit: "min", Variables: []VariableDoc{}, Assumed: append([]string{}, s.Assumed...),
		PushN: a.PushN, WindMS: a.WindMS, Front: []FrontDoc{}, Points: []SolvePoint{}}
	if s.Aim.Kind == changes.MostRoom {
		d.MissUnit = "percent"
	}
	for i, v := range s.Variables {
		d.Variables = append(d.Variables, VariableDoc{Path: v.Path, Unit: s.Units[i], From: v.From, To: v.To, Price: s.Price[i], Present: s.Present.X[i], Only: v.Only})
	}
	d.Present = solvePoint(s, &s.Present)
	if s.Best != nil {
		p := solvePoint(s, s.Best)
		d.Best = &p
	}
	d.Certified = certifiedDoc(s)
	for _, f := range s.Front {
		p := &f.Point
		if f.Best { // one figure of it everywhere: as measured from its document
			p = s.Best
		}
		d.Front = append(d.Front, FrontDoc{First: nearest(f.Height), Takes: nearest(f.Takes), Point: solvePoint(s, p), AtLeast: down(math.Min(f.AtBest, p.Miss)), Best: f.Best})
	}
	for i := range s.Points {
		d.Points = append(d.Points, solvePoint(s, &s.Points[i]))
	}
	list := []*changes.Result{present}
	if s.Result != nil {
		list = append(list, s.Result)
	}
	d.Variants = Changes(list, a, "").Variants
	if s.Turning != nil {
		d.Turning = turningDoc(s)
	}
	return d
}

func solvePoint(s *changes.Solution, p *changes.Point) SolvePoint {
	out := SolvePoint{Values: map[string]float64{}, Price: nearest(p.Price), Miss: finite(up(p.Miss)), Meets: s.Aim.Cheapest() && p.Meets(), Breaks: p.Breaks}
	for i, v := range s.Variables {
		out.Values[v.Path] = nearest(p.X[i])
	}
	return out
}

func certifiedDoc(s *changes.Solution) CertifiedDoc {
	c := CertifiedDoc{Of: "miss", Done: s.Done, Impossible: s.Impossible, Boxes: s.Boxes}
	if s.Aim.Cheapest() {
		c.Of = "price"
	}
	if s.Proven && !s.Impossible {
		c.Bound, c.Off = finite(down(s.Bound)), finite(up(s.Off()))
	}
	return c
}

func turningDoc(s *changes.Solution) *TurningDoc {
	t := s.Turning
	d := &TurningDoc{AllowedDeg: append([]float64{}, t.Allowed...), Enough: t.Enough, AsGood: t.AsGood, WorthMM: t.Worth}
	if t.Turn.Best != nil {
		p := solvePoint(t.Turn, t.Turn.Best)
		d.Turn = &p
	}
	if t.Riser.Best != nil {
		p := solvePoint(t.Riser, t.Riser.Best)
		d.Riser = &p
	}
	d.Text = turningWords(s)
	return d
}

// turningWords says plainly whether turning the tripod does what a riser would.
func turningWords(s *changes.Solution) string {
	t := s.Turning
	at := "at any bearing that its head takes"
	if len(t.Allowed) > 0 {
		at = fmt.Sprintf("at the bearings that its head allows (%s)", degreesList(t.Allowed))
	}
	if t.Turn.Best == nil {
		return "Turning the tripod alone, " + at + ", gives nothing that holds what is asked for besides."
	}
	turn := fmt.Sprintf("Turning the tripod alone, its first leg to %s", angle(t.Turn.Best.X[0], 1))
	had := riserOf(t.Riser)
	switch {
	case t.Enough && t.Riser.Best != nil && t.Riser.Best.Meets():
		return fmt.Sprintf("%s, does what a riser of %s mm would: the aim is met without one.", turn, plain(t.Riser.Best.X[0], 1))
	case t.Enough:
		return fmt.Sprintf("%s, meets the aim, which no riser %s does.", turn, had)
	case t.Turn.Best.Breaks != "":
		return fmt.Sprintf("%s, comes nearest, but whether it meets the aim is not known: %s.", turn, t.Turn.Best.Breaks)
	}
	proof := ""
	if t.Turn.Impossible {
		proof = " No bearing does: that is proven."
	}
	misses := missWords(s, t.Turn.Best.Miss)
	if !s.Aim.Cheapest() {
		proof = ""
	}
	switch {
	case t.Worth != nil && *t.Worth > 0:
		return fmt.Sprintf("%s, does what a riser of about %s mm would: it leaves %s.%s", turn, plain(*t.Worth, 0), misses, proof)
	case t.AsGood:
		return fmt.Sprintf("%s, leaves %s; no riser %s does better.%s", turn, misses, had, proof)
	case t.Worth != nil:
		return fmt.Sprintf("Turning the tripod, %s, gains nothing.%s", at, proof)
	}
	return fmt.Sprintf("%s, leaves %s.%s", turn, misses, proof)
}

func riserOf(s *changes.Solution) string {
	return fmt.Sprintf("from %s to %s mm", plain(s.Variables[0].From, 1), plain(s.Variables[0].To, 1))
}

// missWords says by how much an aim is missed.
func missWords(s *changes.Solution, miss float64) string {
	if s.Aim.Kind == changes.MostRoom {
		return fmt.Sprintf("%s %% of the sky without room", plain(miss, 2))
	}
	return fmt.Sprintf("%s min in the mean", plain(miss, 1))
}

func degreesList(list []float64) string {
	var out []string
	for _, x := range list {
		out = append(out, plain(x, 1)+"°")
	}
	return strings.Join(out, ", ")
}
