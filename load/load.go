package load

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// Gravity is the standard acceleration of free fall, m/s² (3rd CGPM, 1901).
const Gravity = 9.80665

// Load answers for the load of one rig. It is immutable and safe for use from several goroutines.
type Load struct {
	Model *axes.Model // the rig as measured
	// Missing names what moves or stands on the feet and has no mass in the document: it counted nothing. MissingMoving names
	// those of the arm and the tube alone, which balance needs.
	Missing, MissingMoving []string

	ground, polar, arm, tube lump // masses in their frames
	still                    []unweighed
	feet                     []Foot
}

// unweighed is what stands still and has no mass in the document.
type unweighed struct {
	name string
	at   r3.Vec // where its mass would count, world, mm
}

// lump is a mass with its first moment, in kg·mm from its frame's origin.
type lump struct {
	kg     float64
	moment r3.Vec
}

func (h *lump) add(kg float64, at r3.Vec) {
	h.kg += kg
	h.moment = r3.Add(h.moment, r3.Scale(kg, at))
}

func (h lump) centre() r3.Vec {
	if h.kg == 0 {
		return r3.Vec{}
	}
	return r3.Scale(1/h.kg, h.moment)
}

// New prepares a rig for questions about its load, under what is known of its conditions: parts of a condition that is unknown
// are there.
func New(r *rig.Rig, known rig.Conditions) (*Load, error) {
	c := maps.Clone(known)
	if c == nil {
		c = rig.Conditions{}
	}
	c[rig.FocuserTravel], c[rig.RotatorSweep] = rig.HoldsNot, rig.HoldsNot
	m, err := axes.NewModel(r, c)
	if err != nil {
		return nil, err
	}
	l := &Load{Model: m}
	l.weigh()
	l.stand()
	return l, nil
}

// weigh adds the masses up, each at the centre of its part. The support's own lies on its centre line, at half of its height.
func (l *Load) weigh() {
	s := &l.Model.Rig.Support
	if centre := l.centreLine(s.HeightMM.Value / 2); s.MassKg.Set() {
		l.ground.add(s.MassKg.Value, centre)
	} else {
		l.Missing = append(l.Missing, string(s.Kind))
		l.still = append(l.still, unweighed{string(s.Kind), centre})
	}
	polar, _, _ := l.Model.Frames(axes.Angles{})
	into := map[rig.Frame]*lump{rig.Ground: &l.ground, rig.Polar: &l.polar, rig.Arm: &l.arm, rig.TubeFrame: &l.tube}
	for i := range l.Model.Parts {
		p := &l.Model.Parts[i]
		if !p.Rig.OnSupport() {
			continue
		}
		into[p.Frame].add(p.Rig.MassKg, p.Place.T)
		if !p.Rig.Unweighed {
			continue
		}
		l.Missing = append(l.Missing, p.Name)
		switch p.Frame {
		case rig.Arm, rig.TubeFrame:
			l.MissingMoving = append(l.MissingMoving, p.Name)
		case rig.Polar:
			l.still = append(l.still, unweighed{p.Name, polar.Apply(p.Place.T)})
		default:
			l.still = append(l.still, unweighed{p.Name, p.Place.T})
		}
	}
}

// centreLine is the point of the support's centre line h above the ground, leant with it; world frame.
func (l *Load) centreLine(h float64) r3.Vec {
	v := l.Model.Rig.Support.Level
	if v == nil {
		return r3.Vec{Z: h}
	}
	sλ, cλ := math.Sincos(axes.Rad(v.LeanDeg.Value))
	sA, cA := math.Sincos(axes.Rad(v.AzimuthDeg.Value))
	return r3.Vec{X: h * sλ * sA, Y: h * sλ * cA, Z: h * cλ}
}

// MassKg is the mass of everything that stands on the feet, as far as the document gives it.
func (l *Load) MassKg() float64 { return l.ground.kg + l.polar.kg + l.arm.kg + l.tube.kg }

// Centre returns the centre of mass of everything that stands on the feet, world frame; not a number when nothing has a mass.
func (l *Load) Centre(g axes.Angles) r3.Vec {
	polar, arm, tube := l.Model.Frames(g)
	sum := l.ground.moment
	for _, h := range []struct {
		lump lump
		at   r3.Vec
	}{{l.polar, polar.Apply(l.polar.centre())}, {l.arm, arm.Apply(l.arm.centre())}, {l.tube, tube.Apply(l.tube.centre())}} {
		sum = r3.Add(sum, r3.Scale(h.lump.kg, h.at))
	}
	return r3.Scale(1/l.MassKg(), sum)
}

// centreMoves bounds how far the centre of mass moves while the axes turn by up to hRA and hDec.
func (l *Load) centreMoves(hRA, hDec float64) float64 {
	arm, tube := l.arm.moment, l.tube.moment
	byRA := math.Hypot(arm.X, arm.Y) + r3.Norm(tube)
	byDec := math.Hypot(tube.Y, tube.Z)
	return (hRA*byRA + hDec*byDec) / l.MassKg()
}

// index finds a part by its name; −1 when there is none.
func (l *Load) index(name string) int {
	return slices.IndexFunc(l.Model.Parts, func(p axes.Part) bool { return p.Name == name })
}

// weightName is the name of the part of counterweight i.
func weightName(i int) string { return fmt.Sprintf("counterweight %d", i+1) }
