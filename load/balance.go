package load

import (
	"math"
	"strings"

	"legroom/rig"
)

// Balance says how far the two axes are out of balance and what would put that right. An axis is in balance when what it turns has
// its centre of mass on it: the moment of gravity about an axis is at most m·g times the distance of the centre from it
// (statics; reached when the axis is level, and by the RA axis times the cosine of its altitude).
//
// Friction, and what a cable pulls, are left out.
type Balance struct {
	Missing []string // parts that have no mass in the document and counted nothing

	Dec DecBalance
	RA  RABalance
}

// DecBalance is about the declination axis: what turns with the tube.
type DecBalance struct {
	MassKg float64
	// Where the centre of mass is: AlongMM forward along the tube, AsideMM along the tube frame's y, from the declination axis.
	AlongMM, AsideMM float64
	MomentNm         float64 // the most that gravity can turn the axis with
	// What would bring the centre of mass to the axis, along the tube: the slide of tube, train and guide tubes in the rings, and the
	// dovetail in the saddle, forward positive. Not a number when nothing there has a mass.
	SlideMM, DovetailMM float64
	// AsideKgMM is the mass times its arm that is missing on the other side of the tube, along −y when positive: a weight of m kg
	// goes AsideKgMM/m mm out.
	AsideKgMM float64
	LeftNm    float64 // the moment that is left when the tube has been slid
}

// RABalance is about the RA axis: what turns with the arm, the tube slid into balance.
type RABalance struct {
	MassKg float64
	// Where the centre of mass is, from the RA axis: TowardsSaddleMM along the declination axis, AsideMM along the arm frame's y.
	TowardsSaddleMM, AsideMM float64
	MomentNm                 float64 // the most that gravity can turn the axis with, as the rig stands, tube at its worst
	// Weights says where each counterweight would have to be, all moved by the same ShiftMM (away from the saddle positive); empty
	// without counterweights, or when none of them has a mass.
	Weights []WeightPlace
	ShiftMM float64
	Fits    bool // all of them on the bar
	// LackKg is the mass that is missing at the bar's end (negative: too much on the bar, at the place nearest to the axis) when the
	// weights do not fit.
	LackKg float64
	LeftNm float64 // the moment that is left when the weights have been moved and the tube slid
}

// WeightPlace is where one counterweight would have to be.
type WeightPlace struct {
	Name                string
	MassKg              float64
	NowMM, AtMM         float64 // crossing to its centre
	LeastMM, GreatestMM float64 // what the bar allows
}

// Balance looks at both axes.
func (l *Load) Balance() Balance {
	return Balance{Missing: l.MissingMoving, Dec: l.decBalance(), RA: l.raBalance()}
}

// nm turns kg·mm into the moment of its weight, N·m.
func nm(kgMM float64) float64 { return kgMM * Gravity / 1000 }

func (l *Load) decBalance() DecBalance {
	m := l.tube
	c := m.centre()
	b := DecBalance{MassKg: m.kg, AlongMM: c.Z, AsideMM: c.Y, MomentNm: nm(math.Hypot(m.moment.Y, m.moment.Z)),
		AsideKgMM: m.moment.Y, LeftNm: nm(math.Abs(m.moment.Y)), SlideMM: math.NaN(), DovetailMM: math.NaN()}
	var slid, clamped float64
	for i := range l.Model.Parts {
		p := l.Model.Parts[i].Rig
		if p.Frame != rig.TubeFrame || p.From == "mount.saddle" {
			continue
		}
		clamped += p.MassKg
		if slides(p) {
			slid += p.MassKg
		}
	}
	if slid > 0 {
		b.SlideMM = -m.moment.Z / slid
	}
	if clamped > 0 {
		b.DovetailMM = -m.moment.Z / clamped
	}
	return b
}

// slides tells whether tube.slide_mm moves the part.
func slides(p *rig.Part) bool {
	for _, of := range []string{"tube.sections", "tube.train", "tube.guide_tubes"} {
		if strings.HasPrefix(p.From, of) {
			return true
		}
	}
	return false
}

func (l *Load) raBalance() RABalance {
	arm, tube := l.arm.moment, l.tube.moment
	b := RABalance{MassKg: l.arm.kg + l.tube.kg}
	x := arm.X + tube.X
	if b.MassKg > 0 {
		b.TowardsSaddleMM, b.AsideMM = x/b.MassKg, arm.Y/b.MassKg
	}
	// The tube's part across the declination axis turns with β: at its worst it adds to the arm's. The axis leans by its altitude.
	level := math.Cos(math.Asin(math.Max(-1, math.Min(1, l.Model.Head.P.Z))))
	b.MomentNm = nm(math.Hypot(x, math.Abs(arm.Y)+math.Hypot(tube.Y, tube.Z))) * level
	left := math.Abs(arm.Y) + math.Abs(tube.Y)
	b.LeftNm = nm(math.Hypot(x, left)) * level

	cw := l.Model.Rig.Mount.Counterweights
	if cw == nil {
		return b
	}
	kg := 0.0
	for i := range cw.Weights {
		kg += cw.Weights[i].MassKg.Value
	}
	if kg == 0 {
		return b
	}
	b.ShiftMM, b.Fits = x/kg, true
	inner := math.Max(0, -l.Model.Rig.Mount.DeclinationHousing.FromMM.Value)
	for i := range cw.Weights {
		w := &cw.Weights[i]
		half := w.ThicknessMM.Value / 2
		p := WeightPlace{Name: weightName(i), MassKg: w.MassKg.Value, NowMM: w.AtMM.Value, AtMM: w.AtMM.Value + b.ShiftMM,
			LeastMM: inner + half, GreatestMM: cw.BarEndMM.Value - half}
		b.Fits = b.Fits && p.LeastMM <= p.AtMM && p.AtMM <= p.GreatestMM
		b.Weights = append(b.Weights, p)
	}
	rest := 0.0
	if !b.Fits {
		rest = b.crowd(x)
	}
	b.LeftNm = nm(math.Hypot(rest, left)) * level
	return b
}

// crowd moves the weights as far as the bar allows, keeping their order and distances, and says what mass would still be missing.
// It returns what stays out of balance, kg·mm towards the saddle.
func (b *RABalance) crowd(x float64) (rest float64) {
	least, most := math.Inf(-1), math.Inf(1)
	kg := 0.0
	for i := range b.Weights {
		w := &b.Weights[i]
		least, most = math.Max(least, w.LeastMM-w.NowMM), math.Min(most, w.GreatestMM-w.NowMM)
		kg += w.MassKg
	}
	b.ShiftMM = math.Max(least, math.Min(most, b.ShiftMM))
	rest = x - kg*b.ShiftMM
	outer, innermost := math.Inf(-1), math.Inf(1)
	for i := range b.Weights {
		w := &b.Weights[i]
		w.AtMM = w.NowMM + b.ShiftMM
		outer, innermost = math.Max(outer, w.GreatestMM), math.Min(innermost, w.AtMM)
	}
	if rest > 0 {
		b.LackKg = rest / outer
	} else {
		b.LackKg = rest / innermost
	}
	return rest
}
