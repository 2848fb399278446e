package sim

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/rig"
	"legroom/sky"
)

// command goes on to now and does something, unless there is no power.
func (m *Mount) command(f func() error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	if m.d.off {
		return mount.ErrNotConnected
	}
	return f()
}

// awake is command for what a parked mount does not do.
func (m *Mount) awake(f func() error) error {
	return m.command(func() error {
		if m.parked {
			return mount.ErrParked
		}
		return f()
	})
}

// clockNow is the mount's own clock, and sidereal its sidereal time.
func (m *Mount) clockNow() time.Time { return m.at.Add(time.Duration(m.faults.ClockS * 1e9)) }

func (m *Mount) sidereal() float64 {
	t := m.site.SiderealTime(m.clockNow()) + axes.Rad(m.faults.LongitudeDeg)
	return math.Mod(t+4*math.Pi, 2*math.Pi)
}

// Slew starts a slew to a place of date, with tracking at its end, to a side or to the one that the mount chooses. A mount that
// chooses by hour angle does not go to the other side: mount.ErrSide.
func (m *Mount) Slew(to sky.Equatorial, side *axes.Side) error {
	return m.awake(func() error {
		hour, s, err := m.choose(to, side)
		if err != nil {
			return err
		}
		return m.slewTo(hour, to.Dec, s, true)
	})
}

// SlewByHand starts a slew to an hour angle and a declination, with tracking at its end, as the owner would who stands beside it: it
// wakes a parked mount. The side is chosen as in Slew.
func (m *Mount) SlewByHand(hour, dec float64, side *axes.Side) error {
	return m.command(func() error {
		hour, s, err := m.choose(sky.Equatorial{RA: axes.Wrap(m.sidereal() - hour), Dec: dec}, side)
		if err != nil {
			return err
		}
		if m.parked {
			m.wakeUp()
		}
		return m.slewTo(hour, dec, s, true)
	})
}

// SlewAltAz starts a slew to an altitude and azimuth, with tracking off at its end.
func (m *Mount) SlewAltAz(alt, az float64) error {
	return m.awake(func() error {
		if !(math.Abs(alt) <= math.Pi/2) || math.IsNaN(az-az) {
			return mount.ErrValue
		}
		to := m.horizontal(alt, az)
		hour, s, err := m.choose(to, nil)
		if err != nil {
			return err
		}
		return m.slewTo(hour, to.Dec, s, false)
	})
}

// SideOf tells on which side a slew to a place would end now.
func (m *Mount) SideOf(to sky.Equatorial) (side axes.Side, err error) {
	err = m.command(func() error {
		_, side, err = m.choose(to, nil)
		return err
	})
	return side, err
}

// SetSide flips to a side at the present place, where the mount takes its side as it is told.
func (m *Mount) SetSide(side axes.Side) error {
	return m.awake(func() error {
		if m.habits.SideChoice != "as_told" {
			return fmt.Errorf("%w: the side cannot be told", mount.ErrLacks)
		}
		m.told = &side
		p := m.model.Head.Pose(m.believed())
		if p.Side == side {
			return nil
		}
		hour := axes.Wrap(p.HourAngle)
		if err := m.allowed(side, hour, p.Dec); err != nil {
			return err
		}
		return m.slewTo(hour, p.Dec, side, m.d.tracking)
	})
}

// choose gives the hour angle of a place by the mount's own sidereal time and the side on which a slew there ends.
func (m *Mount) choose(to sky.Equatorial, told *axes.Side) (hour float64, side axes.Side, err error) {
	if !(to.RA >= -2*math.Pi && to.RA <= 4*math.Pi && math.Abs(to.Dec) <= math.Pi/2) {
		return 0, 0, mount.ErrValue
	}
	hour = axes.Wrap(m.sidereal() - to.RA)
	byHour := axes.West
	if hour >= m.habits.EarliestFlip {
		byHour = axes.East
	}
	switch {
	case m.habits.SideChoice == "by_hour_angle":
		side = byHour
		if m.allowed(side, hour, to.Dec) != nil {
			side = opposite(side)
		}
		if told != nil && *told != side {
			return 0, 0, mount.ErrSide
		}
	case told != nil:
		side = *told
		m.told = told
	default:
		side = m.model.Head.Pose(m.believed()).Side
		if m.told != nil {
			side = *m.told
		}
		if m.allowed(side, hour, to.Dec) != nil {
			side = opposite(side)
		}
	}
	return hour, side, m.allowed(side, hour, to.Dec)
}

// allowed tells whether the mount goes to a place on a side: within its travel, and to side east not before its earliest flip
// unless it can go there on no other.
func (m *Mount) allowed(side axes.Side, hour, dec float64) error {
	if _, err := m.goal(side, hour, dec); err != nil {
		return err
	}
	if side == axes.East && hour < m.habits.EarliestFlip {
		if _, err := m.goal(axes.West, hour, dec); err == nil {
			return mount.ErrSide
		}
	}
	return nil
}

// goal gives the believed angles of a place within travel: the RA axis nearest to counterweight-down, the declination axis by the
// way that the mount takes.
func (m *Mount) goal(side axes.Side, hour, dec float64) (axes.Angles, error) {
	g := m.model.Head.Angles(axes.Pose{Side: side, HourAngle: hour, Dec: dec})
	to, err := m.model.Reach(g)
	if err != nil {
		return g, fmt.Errorf("%w: %w", mount.ErrValue, err)
	}
	to.Dec = m.decWay(m.believed().Dec, to.Dec)
	return to, nil
}

// decWay unwraps where the declination axis goes from a place: in a flip past the pole or past the far pole as the mount does, else
// the shortest way; another way where that leads out of the travel.
func (m *Mount) decWay(from, to float64) float64 {
	t := m.model.Travel
	best, rank := to, math.Inf(1)
	for k := -2; k <= 2; k++ {
		x := to + 2*math.Pi*float64(k)
		if x < t.DecFrom || x > t.DecTo {
			continue
		}
		r := math.Abs(x - from)
		lo, hi := math.Min(from, x)+atPole, math.Max(from, x)-atPole
		pole := math.Ceil(lo/(2*math.Pi))*2*math.Pi <= hi
		farPole := math.Ceil((lo-math.Pi)/(2*math.Pi))*2*math.Pi+math.Pi <= hi
		if pole && m.habits.Flip == rig.AwayFromPole || farPole && m.habits.Flip == rig.ThroughPole {
			r += 100
		}
		if r < rank {
			best, rank = x, r
		}
	}
	return best
}

// atPole is how near to a pole a slew neither comes from one side of it nor goes to one, radians.
const atPole = 1e-3

// slewTo starts a slew to an hour angle of now, which the axes chase until they are there if the mount tracks then.
func (m *Mount) slewTo(hour, dec float64, side axes.Side, track bool) error {
	to, err := m.goal(side, hour, dec)
	if err != nil {
		return err
	}
	m.begin(to, toPlace, track)
	return nil
}

// begin starts a slew to believed angles. The ratio of the rates is drawn within the document's spread, each axis' overshoot
// within the document's.
func (m *Mount) begin(to axes.Angles, e errand, track bool) {
	s := m.rig.Mount.Slew
	spread, overshoot := 0.3, axes.Rad(1)
	if s.SpreadPercent != nil {
		spread = *s.SpreadPercent / 100
	}
	if s.OvershootDeg != nil {
		overshoot = axes.Rad(*s.OvershootDeg)
	}
	m.home, m.restore = false, time.Time{}
	m.d.stop()
	m.d.tops = m.rates()
	m.d.tops[0] *= 1 + spread*(2*m.rnd.Float64()-1)
	over := [2]float64{overshoot * m.rnd.Float64(), overshoot * m.rnd.Float64()}
	m.d.errand, m.d.track, m.d.stays = e, track, s.SettleS
	goal := axes.Angles{RA: to.RA - m.believe.RA, Dec: to.Dec - m.believe.Dec}
	for t, i := 0.0, 0; i < 4; i++ { // the sky goes on by 1/700 of the way meanwhile: each turn leaves 1/700 of the error
		at := goal
		if track {
			at.RA += sky.SiderealRate * t
		}
		m.d.legs = legsTo(m.really(), at, m.habits.Order, over)
		t = m.d.travelTime()
	}
}

// Park starts the way to the document's park place.
func (m *Mount) Park() error {
	return m.command(func() error {
		if m.parked || m.d.errand == toPark {
			return nil
		}
		m.begin(poseOf(m.rig.Mount.Park), toPark, false)
		return nil
	})
}

// Unpark makes the mount move again, and track.
func (m *Mount) Unpark() error {
	return m.command(func() error {
		if m.parked {
			m.wakeUp()
		}
		return nil
	})
}

func (m *Mount) wakeUp() { m.parked, m.home, m.d.tracking = false, false, true }

// FindHome starts the way to the document's home place, by the axes' own marks: there the mount knows where it is.
func (m *Mount) FindHome() error {
	return m.awake(func() error {
		h := poseOf(m.rig.Mount.Home)
		m.begin(axes.Angles{RA: h.RA + m.believe.RA, Dec: h.Dec + m.believe.Dec}, toHome, false)
		return nil
	})
}

// Sync makes the mount believe that it points to a place of date, on the side that it is on.
func (m *Mount) Sync(to sky.Equatorial) error {
	return m.awake(func() error {
		if !(to.RA >= -2*math.Pi && to.RA <= 4*math.Pi && math.Abs(to.Dec) <= math.Pi/2) {
			return mount.ErrValue
		}
		if m.d.turns() {
			return fmt.Errorf("%w: the mount is slewing", mount.ErrState)
		}
		now := m.believed()
		g := m.model.Head.Angles(axes.Pose{Side: m.model.Head.Pose(now).Side, HourAngle: m.sidereal() - to.RA, Dec: to.Dec})
		m.believe.RA += axes.Wrap(g.RA - now.RA)
		m.believe.Dec += axes.Wrap(g.Dec - now.Dec)
		m.home = false
		return nil
	})
}

// MoveAxis turns an axis (0 RA, 1 declination) at a rate until it is told 0: rad/s, positive the way its angle grows. It ends a slew.
func (m *Mount) MoveAxis(axis int, rate float64) error {
	return m.awake(func() error {
		if axis < 0 || axis > 1 || !(math.Abs(rate) <= m.rates()[axis]*(1+1e-9)) {
			return mount.ErrValue
		}
		if rate == 0 {
			m.halt(pendingStop{zero: true}, axis)
			return nil
		}
		if m.d.slewing() {
			m.d.stop()
		}
		m.home = false
		m.d.tops = m.rates()
		m.d.hand[axis], m.d.byHand[axis] = rate, true
		return nil
	})
}

// SetTracking switches tracking.
func (m *Mount) SetTracking(on bool) error {
	if !on {
		return m.command(func() error {
			m.halt(pendingStop{off: true}, 0)
			return nil
		})
	}
	return m.awake(func() error {
		m.d.tracking, m.home = true, false
		m.d.track = m.d.track || m.d.errand == toPlace
		return nil
	})
}

// Abort ends every motion that is not tracking.
func (m *Mount) Abort() error {
	return m.awake(func() error {
		m.halt(pendingStop{abort: true}, 0)
		return nil
	})
}

// halt stops now, late or not at all, as the faults have it.
func (m *Mount) halt(s pendingStop, axis int) {
	switch f := &m.faults; {
	case f.IgnoreStop:
	case f.SlowStopS > 0:
		// A stop that is repeated does not make the first one later.
		if m.stop.at.IsZero() {
			m.stop.at = m.at.Add(time.Duration(f.SlowStopS * 1e9))
		}
		m.stop.abort = m.stop.abort || s.abort
		m.stop.off = m.stop.off || s.off
		m.stop.zero = m.stop.zero || s.zero
	case s.zero:
		m.d.byHand[axis] = false
	default:
		m.carryOut(s)
	}
}

func (m *Mount) carryOut(s pendingStop) {
	if s.zero {
		m.d.byHand = [2]bool{}
	}
	if s.abort {
		m.d.stop()
		if d := m.faults.RestoreTrackingS; d > 0 {
			m.restore = m.at.Add(time.Duration(d * 1e9))
		}
	}
	if s.off {
		m.d.tracking, m.d.track = false, false
	}
}

// SetFaults switches faults on and off: what is not in f is off.
func (m *Mount) SetFaults(f Faults) error {
	if err := f.Validate(); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	if !f.Frozen {
		m.frozen = nil
	} else if m.frozen == nil {
		r := m.say()
		m.frozen = &r
	}
	if m.faults.RestoreTrackingS > 0 && f.RestoreTrackingS == 0 {
		m.restore = time.Time{}
	}
	m.faults = f
	return nil
}

// Faults are those that are on.
func (m *Mount) Faults() Faults {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.faults
}

// CutPower takes the power away for good: the axes stand still at once and hold, and nobody answers for the mount.
func (m *Mount) CutPower() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	m.lose()
	m.power = time.Time{}
}

// Restart takes the power away for a while. When it is back, the mount believes that it stands at its home place, tracks, and has to
// be connected to anew; only finding home makes that right.
func (m *Mount) Restart(off time.Duration) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	m.lose()
	m.power = m.at.Add(off)
	m.happen()
}

// lose is the loss of power.
func (m *Mount) lose() {
	m.d.cut()
	m.stop, m.restore = pendingStop{}, time.Time{}
	m.restart++
	m.look()
}

func (m *Mount) wake() {
	m.power = time.Time{}
	h := poseOf(m.rig.Mount.Home)
	m.believe = axes.Angles{RA: h.RA - m.d.axes[0].at, Dec: h.Dec - m.d.axes[1].at}
	m.d.off, m.d.tracking, m.parked, m.home, m.told = false, true, false, false, nil
}

// Slip turns the axes behind the mount's back, as a clutch does that does not hold.
func (m *Mount) Slip(by axes.Angles) error {
	if !(math.Abs(by.RA) <= math.Pi && math.Abs(by.Dec) <= math.Pi) {
		return fmt.Errorf("a clutch cannot slip by %.1f°, %.1f°: give at most 180° an axis", axes.Deg(by.RA), axes.Deg(by.Dec))
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	from := m.really()
	steps := max(1, math.Ceil((math.Abs(by.RA)+math.Abs(by.Dec))/fineStep))
	for k := 1.0; k <= steps; k++ {
		m.touch.look(axes.Angles{RA: from.RA + by.RA*k/steps, Dec: from.Dec + by.Dec*k/steps}, m.at, "slipping")
	}
	m.d.axes[0].at, m.d.axes[1].at = from.RA+by.RA, from.Dec+by.Dec
	for i := range m.d.legs { // the motors turn as they would have
		m.d.legs[i][0] += by.RA
		m.d.legs[i][1] += by.Dec
	}
	m.believe.RA -= by.RA
	m.believe.Dec -= by.Dec
	return nil
}
