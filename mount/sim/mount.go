// Package sim is a simulated German equatorial mount with a rig on it: what it is told by an open protocol it does as a rig's
// document says, on a rig that is not quite what the document says. It counts where that rig really touches itself, and does wrong
// on demand.
//
// Three sets of axis angles are kept apart. The true ones are where the motors stand; the believed ones are where the mount thinks
// that they stand, which is the same until a sync, a restart or a slipped clutch; and the true rig stands where the true ones put
// it with its own zero errors, lengths and polar axis. Angles are radians, rates rad/s.
package sim

import (
	"fmt"
	"math/rand/v2"
	"sync"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// Options says how to set a mount up.
type Options struct {
	Seed       uint64
	Now        func() time.Time // the clock that the mount lives by; it may never go back
	Conditions rig.Conditions
	// At is where the axes stand at first, by the document's zero; the document's park place when nil. Parked tells whether the
	// mount is parked there; otherwise it tracks.
	At     *axes.Angles
	Parked bool
}

// speedUp is how long an axis takes to the document's rate, and to rest from it, s.
const speedUp = 1.0

// Mount is the simulated mount. It may be used from several goroutines.
type Mount struct {
	rig    *rig.Rig
	model  *axes.Model // as the document says
	truth  *room.Gauge
	site   sky.Site
	seed   uint64
	habits Habits
	now    func() time.Time

	mu      sync.Mutex
	rnd     *rand.Rand // slews
	luck    *rand.Rand // what is lost on the way
	at      time.Time  // until when the axes have gone on
	d       drive
	believe axes.Angles // believed less true angles
	parked  bool
	home    bool // it came home and has not moved since
	told    *axes.Side
	power   time.Time // when it comes back; zero: it is on, or gone for good
	restart int       // how often it was off
	faults  Faults
	frozen  *said
	stop    pendingStop
	restore time.Time // when tracking comes back; zero: not
	touch   *toucher
}

// pendingStop is a stop that is carried out late.
type pendingStop struct {
	at               time.Time
	abort, off, zero bool
}

// New sets a mount up for a rig.
func New(r *rig.Rig, o Options) (*Mount, error) {
	model, err := axes.NewModel(r, o.Conditions)
	if err != nil {
		return nil, err
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return nil, err
	}
	truth, err := drawTruth(r, o.Conditions, stream(o.Seed, streamRig))
	if err != nil {
		return nil, err
	}
	m := &Mount{rig: r, model: model, truth: truth, site: site, seed: o.Seed, now: o.Now, habits: drawHabits(r, stream(o.Seed, streamHabits)),
		rnd: stream(o.Seed, streamSlews), luck: stream(o.Seed, streamFaults), at: o.Now(), parked: o.Parked, touch: newToucher(truth)}
	at := poseOf(r.Mount.Park)
	if o.At != nil {
		at = *o.At
	}
	if !model.Travel.Contains(at) {
		return nil, fmt.Errorf("RA axis %.1f°, declination axis %.1f° is outside the travel of the axes", axes.Deg(at.RA), axes.Deg(at.Dec))
	}
	m.d.axes = [2]axis{{at: at.RA}, {at: at.Dec}}
	m.d.tops = m.rates()
	m.d.accels = [2]float64{m.d.tops[0] / speedUp, m.d.tops[1] / speedUp}
	m.d.tracking = !o.Parked
	m.look()
	return m, nil
}

// poseOf is a pose of the document, counterweight-down at the pole when it has none.
func poseOf(p *rig.AxisPose) axes.Angles {
	if p == nil {
		return axes.Angles{}
	}
	return axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)}
}

// rates are the document's slew rates.
func (m *Mount) rates() [2]float64 {
	return [2]float64{axes.Rad(m.rig.Mount.Slew.RADegPerS), axes.Rad(m.rig.Mount.Slew.DecDegPerS)}
}

// Rig is the document that the mount was set up for, and Seed what it was drawn with.
func (m *Mount) Rig() *rig.Rig { return m.rig }

// Seed is what rig, habits, slews and losses are drawn with.
func (m *Mount) Seed() uint64 { return m.seed }

// Habits are what the mount does by itself.
func (m *Mount) Habits() Habits { return m.habits }

// TrueRig is the rig that the mount really carries, and TrueGauge answers for its gaps: no tolerances, gaps as they are.
func (m *Mount) TrueRig() *rig.Rig { return m.truth.Model.Rig }

// TrueGauge answers for the gaps of the true rig, at true axis angles.
func (m *Mount) TrueGauge() *room.Gauge { return m.truth }

// State is where the mount really is and what it does.
type State struct {
	At                        time.Time
	True, Believed            axes.Angles
	Rates                     [2]float64
	Tracking, Slewing, ByHand bool
	Parked, Power             bool
	Restarts                  int
	Gap                       room.PairGap // of the true rig, now
}

// State goes on to now and says where the mount is.
func (m *Mount) State() State {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	return State{At: m.at, True: m.really(), Believed: m.believed(), Rates: [2]float64{m.d.axes[0].rate, m.d.axes[1].rate},
		Tracking: m.d.tracking, Slewing: m.d.slewing(), ByHand: m.d.byHand[0] || m.d.byHand[1], Parked: m.parked, Power: !m.d.off,
		Restarts: m.restart, Gap: m.truth.Gap(m.really(), m.touch.s).Nearest}
}

// Contacts goes on to now and says what touched since the beginning, or since ResetContacts.
func (m *Mount) Contacts() Contacts {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	m.look()
	c := m.touch.seen
	c.List = append([]Contact(nil), c.List...)
	return c
}

// ResetContacts begins counting anew.
func (m *Mount) ResetContacts() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	m.touch = newToucher(m.truth)
	m.look()
}

func (m *Mount) really() axes.Angles { return axes.Angles{RA: m.d.axes[0].at, Dec: m.d.axes[1].at} }

func (m *Mount) believed() axes.Angles {
	return axes.Angles{RA: m.d.axes[0].at + m.believe.RA, Dec: m.d.axes[1].at + m.believe.Dec}
}

func (m *Mount) look() { m.touch.look(m.really(), m.at, m.motion()) }

func (m *Mount) motion() string {
	switch {
	case m.d.slewing():
		return "slewing"
	case m.d.byHand[0] || m.d.byHand[1]:
		return "by hand"
	case m.d.tracking:
		return "tracking"
	}
	return "none"
}

// run goes on to the clock's now. m.mu is held.
func (m *Mount) run() {
	now := m.now()
	for m.at.Before(now) {
		m.happen()
		to := m.nextEvent(now)
		// Half of the way to the next look at a time: so no two looks are further apart than that way.
		span, half := to.Sub(m.at), m.touch.way()/2
		if speed := m.d.fastest(); speed > 0 {
			span = max(1, min(span, time.Duration(half/speed*1e9)))
		} else {
			m.look()
		}
		left, done := m.d.step(span.Seconds())
		m.at = m.at.Add(span - time.Duration(left*1e9))
		m.arrive(done)
		m.limits()
		if m.touch.turned(m.really()) >= half {
			m.look()
		}
	}
	m.happen()
}

// nextEvent is the first moment until to at which something happens by itself.
func (m *Mount) nextEvent(to time.Time) time.Time {
	for _, t := range []time.Time{m.power, m.stop.at, m.restore} {
		if !t.IsZero() && t.Before(to) && t.After(m.at) {
			to = t
		}
	}
	return to
}

// happen does what is due.
func (m *Mount) happen() {
	due := func(t time.Time) bool { return !t.IsZero() && !t.After(m.at) }
	if due(m.power) {
		m.wake()
	}
	if due(m.stop.at) {
		s := m.stop
		m.stop = pendingStop{}
		m.carryOut(s)
	}
	if due(m.restore) {
		m.restore = time.Time{}
		if !m.d.off && !m.parked {
			m.d.tracking, m.home = true, false
		}
	}
}

// arrive ends a slew.
func (m *Mount) arrive(done errand) {
	switch done {
	case toPark:
		m.parked = true
	case toHome:
		m.believe = axes.Angles{} // the axes' own marks are where they were built in
		m.home = true
	}
}

// limits does what the mount does by itself at the ends of its travel, which it knows by what it believes.
func (m *Mount) limits() {
	if m.habits.AtLimit == "runs_on" || m.d.slewing() {
		return
	}
	t, at := m.model.Travel, m.believed()
	for i, x := range []struct{ at, from, to float64 }{{at.RA, t.RAFrom, t.RATo}, {at.Dec, t.DecFrom, t.DecTo}} {
		rate := m.d.axes[i].rate
		if x.at >= x.to && rate > 0 || x.at <= x.from && rate < 0 {
			if m.d.byHand[i] {
				m.d.byHand[i] = false
			}
			if i == 0 && m.d.tracking {
				m.atEnd()
			}
		}
	}
}

// atEnd is what a tracking mount does where the travel of its RA axis ends.
func (m *Mount) atEnd() {
	if m.habits.AtLimit == "flips" {
		p := m.model.Head.Pose(m.believed())
		if m.slewTo(axes.Wrap(p.HourAngle), p.Dec, opposite(p.Side), true) == nil {
			return
		}
	}
	m.d.tracking = false
}

func opposite(s axes.Side) axes.Side { return axes.West + axes.East - s }
