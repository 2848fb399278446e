package soak

import (
	"math"
	"time"

	"legroom/mount/sim"
)

// health is what fails in a night.
type health struct {
	faulty bool // faults come and go
	never  bool // the mount ignores stops from the start
	ill    time.Time
}

// draw draws what fails: in 4 of 10 nights nothing, in 2 of 10 the mount never stops when it is told to.
func (n *night) draw() {
	x := n.rnd.IntN(10)
	n.faulty, n.never = x >= 4, x >= 8
	n.fail()
}

// fail puts the next fault on the agenda; a mount that is deaf is so from the start.
func (n *night) fail() {
	if n.m == nil || n.line == nil {
		return
	}
	if n.never {
		n.setFaults(sim.Faults{})
	}
	if n.faulty {
		n.after(n.between(time.Minute, time.Hour), n.faults)
	}
}

func (n *night) setFaults(f sim.Faults) {
	f.IgnoreStop = f.IgnoreStop || n.never
	if err := n.m.SetFaults(f); err != nil {
		n.found("broken", "%v", err)
	}
	if f != (sim.Faults{}) {
		n.ill = n.clock.Now()
	}
	n.reach(f)
}

// failing tells whether something fails now that an owner would see to first, a deaf mount excepted: nobody sees that.
func (n *night) failing() bool {
	f := n.m.Faults()
	f.IgnoreStop = false
	return f != (sim.Faults{})
}

// faults is one fault after the other.
func (n *night) faults() {
	n.fault()
	n.after(n.between(10*time.Minute, 2*time.Hour), n.faults)
}

// fault switches one or two faults on, for seconds up to most of an hour.
func (n *night) fault() {
	f := n.m.Faults()
	for range 1 + n.rnd.IntN(4)/3 {
		next := f
		name, seen := n.drawFault(&next)
		if next.Validate() != nil {
			continue // two that exclude each other
		}
		f = next
		n.rep.Faults[name]++
		switch {
		case seen:
			n.mustSee(name, nil)
		case f.WrongSide && !n.blindToSide:
			n.mustSee(name, sideUnseen)
		}
	}
	n.setFaults(f)
	n.after(n.between(2*time.Second, 50*time.Minute), func() {
		n.ill = n.clock.Now()
		n.setFaults(sim.Faults{})
		n.see = nil
	})
}

// drawFault adds a fault. It gives its name, and whether the watch has to become blind by it.
func (n *night) drawFault(f *sim.Faults) (name string, must bool) {
	signed := func(lo, hi float64) float64 {
		return math.Copysign(lo+(hi-lo)*n.rnd.Float64(), n.rnd.Float64()-0.5)
	}
	switch n.rnd.IntN(15) {
	case 0:
		name, f.DelayS = "late answers", max(f.DelayS, 0.05+1.2*n.rnd.Float64())
		must = f.DelayS > 1.01
	case 1:
		name, f.Loss = "lost calls", max(f.Loss, 0.05+0.6*n.rnd.Float64())
	case 2:
		name, f.Loss, must = "no connection", 1, true
	case 3:
		name, f.HalfOpen, must = "half-open connection", true, true
	case 4:
		name, f.Garbage, must = "garbage", true, true
	case 5, 6:
		name, f.Frozen, must = "frozen values", true, true
	case 7:
		name, f.WrongSide = "wrong side", true
	case 8:
		name, f.UnknownSide = "unknown side", true
	case 9:
		name, f.SideByHourAngle = "side by hour angle", true
	case 10:
		if n.chance(0.3) {
			name, f.ClockS, f.LongitudeDeg = "longitude", 0, signed(0.05, 20)
		} else { // the one hides the other, where they come to the same
			name, f.ClockS, f.LongitudeDeg = "clock", signed(5, 400), 0
		}
		must = math.Abs(f.ClockS) > 70 || math.Abs(f.LongitudeDeg) > 0.3
		if n.see != nil && (n.see.what == "clock" || n.see.what == "longitude") {
			n.see = nil // it is another by now
		}
	case 11:
		name, f.IgnoreStop = "ignored stop", true
	case 12:
		name, f.SlowStopS = "slow stop", 0.1+4*n.rnd.Float64()
	case 13:
		name, f.UnknownTracking = "tracking not told", true
	case 14:
		if n.chance(0.5) {
			name, f.RestoreTrackingS = "tracking restored after abort", 0.1+4*n.rnd.Float64()
			break
		}
		name, must = "restart", true
		n.m.Restart(n.between(time.Second, 2*time.Minute))
		n.restarted()
	}
	return name, must
}
