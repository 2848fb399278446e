package sim

import "math"

// axis is where one axis stands and how fast it turns, rad and rad/s. Its motion is made of stretches of constant acceleration,
// each walked in one closed step, so that many small steps come to the same as a large one.
type axis struct{ at, rate float64 }

// near, radians, is a thousandth of a second of arc: what rounding leaves of the way when an axis has come to rest at its goal.
const near = 5e-9

// want is what an axis is told: to come to rest at a goal, or to turn at a rate.
type want struct {
	goal bool
	x    float64
}

// arrived tells whether the axis does what it was told.
func (a axis) arrived(w want) bool {
	if w.goal {
		return a.rate == 0 && math.Abs(a.at-w.x) <= near
	}
	return a.rate == w.x
}

// phase returns the acceleration that the axis takes now and for how long it will: +Inf when for ever. top is its highest rate,
// acc the magnitude of its acceleration; softly is a difference of rates that it takes at once.
func (a *axis) phase(w want, top, acc, softly float64) (accel, lasts float64) {
	if !w.goal {
		d := w.x - a.rate
		if math.Abs(d) <= softly {
			a.rate = w.x
			return 0, math.Inf(1)
		}
		return math.Copysign(acc, d), math.Abs(d) / acc
	}
	if a.arrived(w) {
		return 0, math.Inf(1)
	}
	// Where it would come to rest if it braked now.
	left := w.x - a.at - a.rate*math.Abs(a.rate)/(2*acc)
	if a.rate != 0 && math.Abs(left) <= near/2 {
		return -math.Copysign(acc, a.rate), math.Abs(a.rate) / acc
	}
	way := math.Copysign(1, left)
	speed := a.rate * way
	switch {
	case speed < 0: // it turns the wrong way
		return way * acc, -speed / acc
	case speed > top:
		return -way * acc, (speed - top) / acc
	case speed == top:
		return 0, left * way / top
	}
	// Accelerate until the highest rate, or until braking has to begin: v·t + acc·t²/2 + (v + acc·t)²/2acc = way left.
	d := (w.x - a.at) * way
	brake := (math.Sqrt(speed*speed/2+acc*d) - speed) / acc
	return way * acc, math.Min((top-speed)/acc, brake)
}

// walk goes on for dt within one phase, which lasts that long at least.
func (a *axis) walk(accel, dt float64) {
	a.at += a.rate*dt + accel*dt*dt/2
	a.rate += accel * dt
}

// step goes on for dt, radians and seconds.
func (a *axis) step(w want, top, acc, softly, dt float64) {
	for dt > 0 {
		accel, lasts := a.phase(w, top, acc, softly)
		if lasts > dt+1e-12 { // what rounding takes off a time is not a phase
			a.walk(accel, dt)
			return
		}
		a.walk(accel, lasts)
		dt -= lasts
		// The end of a phase, without what rounding leaves of it.
		switch {
		case !w.goal:
			a.rate = w.x
		case math.Abs(a.rate) < top*1e-9:
			a.rate = 0
		case math.Abs(math.Abs(a.rate)-top) < top*1e-9:
			a.rate = math.Copysign(top, a.rate)
		}
	}
}

// until is how long the axis takes to do what it was told.
func (a axis) until(w want, top, acc, softly float64) float64 {
	t := 0.0
	for !a.arrived(w) {
		_, lasts := a.phase(w, top, acc, softly)
		if math.IsInf(lasts, 1) { // a rate that it takes at once
			return t
		}
		a.step(w, top, acc, softly, lasts)
		t += lasts
	}
	return t
}
