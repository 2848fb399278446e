package sim

import (
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

// errand is what a slew is for.
type errand int8

const (
	noErrand errand = iota
	toPlace
	toPark
	toHome
)

// drive is the mechanics: both axes and what they are told. It is a plain value, and step is all that moves it.
type drive struct {
	axes     [2]axis // RA axis, declination axis, as they really stand
	tracking bool
	off      bool // no power: the axes hold where they are

	errand errand
	legs   [][2]float64 // goals of both axes, one after the other; the slew's last one is where it ends
	settle float64      // s, left of it after the last leg
	stays  float64      // s, how long it settles
	track  bool         // the slew ends with tracking on

	hand   [2]float64 // rates by hand, rad/s
	byHand [2]bool

	tops   [2]float64 // highest rates of this slew, rad/s
	accels [2]float64 // rad/s²
}

func (d *drive) slewing() bool { return d.errand != noErrand }

// turns tells whether the axes move otherwise than by tracking, or are still braking.
func (d *drive) turns() bool {
	return !d.off && (len(d.legs) > 0 || d.byHand[0] || d.byHand[1] || d.axes[1].rate != 0 || math.Abs(d.axes[0].rate) > softly)
}

// fastest bounds the sum of both axes' rates until something else is told, rad/s.
func (d *drive) fastest() float64 {
	switch {
	case d.off:
		return 0
	case d.turns():
		return math.Max(d.tops[0], math.Abs(d.axes[0].rate)) + math.Max(d.tops[1], math.Abs(d.axes[1].rate)) + sky.SiderealRate
	case d.tracking || d.axes[0].rate != 0:
		return sky.SiderealRate
	}
	return 0
}

// softly is a change of rate that a motor takes at once, rad/s: tracking on and off.
const softly = 2 * sky.SiderealRate

// wants is what each axis is told now.
func (d *drive) wants() [2]want {
	var w [2]want
	for i := range w {
		switch {
		case len(d.legs) > 0:
			w[i] = want{goal: true, x: d.legs[0][i]}
		case d.byHand[i]:
			w[i].x = d.hand[i]
		case i == 0 && d.tracking:
			w[i].x = sky.SiderealRate
		}
	}
	return w
}

// step goes on for dt seconds. It tells when the slew's errand is done, and then has not gone on for all of dt.
func (d *drive) step(dt float64) (left float64, done errand) {
	for dt > 0 && !d.off {
		w := d.wants()
		span := dt
		switch {
		case len(d.legs) > 0:
			span = math.Min(dt, d.leg(w))
		case d.slewing():
			span = math.Min(dt, d.settle)
		}
		for i := range d.axes {
			d.axes[i].step(w[i], d.tops[i], d.accels[i], softly, span)
		}
		dt -= span
		switch {
		case len(d.legs) > 0:
			if d.axes[0].arrived(w[0]) && d.axes[1].arrived(w[1]) {
				d.next()
			}
		case d.slewing():
			if d.settle -= span; d.settle <= 0 {
				done, d.errand, d.settle = d.errand, noErrand, 0
				return dt, done
			}
		}
	}
	return 0, noErrand
}

// leg is how long the first leg still takes.
func (d *drive) leg(w [2]want) float64 {
	t := 0.0
	for i := range d.axes {
		t = math.Max(t, d.axes[i].until(w[i], d.tops[i], d.accels[i], softly))
	}
	return t
}

// next begins the next leg, or settling when there is none.
func (d *drive) next() {
	if d.legs = d.legs[1:]; len(d.legs) == 0 {
		d.settle, d.tracking = d.stays, d.track
	}
}

// travelTime is how long the legs take, settling not counted. It walks a copy.
func (d drive) travelTime() float64 {
	t := 0.0
	for len(d.legs) > 0 {
		w := d.wants()
		leg := d.leg(w)
		t += leg
		for i := range d.axes {
			d.axes[i] = axis{at: d.legs[0][i]}
		}
		d.next()
	}
	return t
}

// legsTo lists the legs of a slew in the order of the document: each axis overshoots its goal and comes back.
func legsTo(from, to axes.Angles, o rig.Order, over [2]float64) [][2]float64 {
	a, b := [2]float64{from.RA, from.Dec}, [2]float64{to.RA, to.Dec}
	far := b
	for i := range far {
		if d := b[i] - a[i]; math.Abs(d) > near {
			far[i] += math.Copysign(over[i], d)
		}
	}
	switch o {
	case rig.RAFirst:
		return [][2]float64{{far[0], a[1]}, {b[0], a[1]}, {b[0], far[1]}, b}
	case rig.DecFirst:
		return [][2]float64{{a[0], far[1]}, {a[0], b[1]}, {far[0], b[1]}, b}
	}
	return [][2]float64{far, b}
}

// stop ends slew and motion by hand; the axes brake.
func (d *drive) stop() {
	d.errand, d.legs, d.settle = noErrand, nil, 0
	d.byHand = [2]bool{}
}

// cut takes the power away: the axes stand still where they are.
func (d *drive) cut() {
	d.stop()
	d.off, d.tracking = true, false
	d.axes[0].rate, d.axes[1].rate = 0, 0
}
