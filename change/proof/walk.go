package proof

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Options says which walk is wanted.
type Options struct {
	Time    time.Time // when it begins
	Steps   int       // at most; MostSteps when 0
	RulerMM float64   // what a reading may be off by, 95 of 100; UsualRulerMM when 0
	Avoid   []string  // names of parts that no ruler is to be held to
}

const (
	MostSteps    = 12 // readings of a walk
	UsualRulerMM = 2  // a steel rule held between two points by hand
	LeastGapMM   = 25 // every pose of a walk keeps at least this, proven, the tolerances taken off, whatever the document's margin
)

// What a ruler can do.
const (
	longest  = 500.0  // mm
	shortest = 25.0   // mm
	tallest  = 2100.0 // mm above the ground: the reach of a hand
)

// stepTime is how long driving to a pose and measuring takes: for where the Sun goes meanwhile.
const stepTime = 10 * time.Minute

// Step is one pose to drive to and one distance to measure there.
type Step struct {
	Pose axes.Pose
	Axes axes.Angles   // unwrapped, within travel
	Way  []axes.Angles // the poses to drive to, one after the other, each slew proven; the last is the step's own

	A, B           string  // the parts to measure between
	GapMM          float64 // predicted
	ErrorMM        float64 // what the tolerances leave it open by, 95 of 100
	PointA, PointB r3.Vec  // the points to measure between, world, mm
	WhereA, WhereB string  // in words
	LeastMM        float64 // proven lower bound of every gap at the pose, tolerances taken off
	SunDeg         float64 // least angle between the tube and the Sun during the walk; 180 when the Sun is down
}

// Walk is a list of steps, from roomy to tight.
type Walk struct {
	Gauge *room.Gauge // the rig as a ruler finds it
	Start axes.Angles // where the walk begins and ends: park, home, or counterweight-down at the pole
	Steps []Step
	Begin time.Time
	End   time.Time
	Sun   bool // the Sun is up at some time of the walk
	// Expect lists the uncertain lengths by what the walk should leave of their tolerances if every reading is taken, least first.
	Expect []Expected
}

// Expected is what should become of a length by readings.
type Expected struct {
	Quantity *rig.Quantity
	Left     float64 // its error after the readings over the error before, 0…1
}

// ErrNoWalk says that there is nothing to measure safely.
var ErrNoWalk = errors.New("no proof walk")

// NewWalk chooses the steps of a walk over the poses that m proves free. m should be made of a gauge with a margin of at least
// LeastGapMM (see Safe).
func NewWalk(ctx context.Context, m *room.Map, o Options) (*Walk, error) {
	if o.Steps == 0 {
		o.Steps = MostSteps
	}
	if o.RulerMM == 0 {
		o.RulerMM = UsualRulerMM
	}
	switch {
	case o.Steps < 1 || o.Steps > MostSteps:
		return nil, fmt.Errorf("%d steps: give 1 to %d", o.Steps, MostSteps)
	case !(o.RulerMM >= 0.1 && o.RulerMM <= 50):
		return nil, fmt.Errorf("a ruler good to %v mm: give 0.1 to 50", o.RulerMM)
	case m.Gauge().Mode == rig.None:
		return nil, fmt.Errorf("tolerances none: a proof walk takes them off, for it is to find out what the lengths are")
	case m.Gauge().MarginMM < LeastGapMM:
		return nil, fmt.Errorf("a margin of %v mm: a proof walk keeps at least %d", m.Gauge().MarginMM, LeastGapMM)
	}
	r := m.Gauge().Model.Rig
	for _, name := range o.Avoid {
		if !slices.ContainsFunc(m.Gauge().Model.Parts, func(p axes.Part) bool { return p.Name == name }) {
			return nil, fmt.Errorf("there is no part %q to leave out", name)
		}
	}
	if err := m.Gauge().JointsHold(); err != nil {
		return nil, err
	}
	g, err := measured(r, m.Gauge().Model.Assembly.Without)
	if err != nil {
		return nil, err
	}
	s, err := newSun(r, o.Time, time.Duration(o.Steps)*stepTime)
	if err != nil {
		return nil, err
	}
	w := &Walk{Gauge: g, Start: start(m), Begin: o.Time, End: o.Time.Add(time.Duration(o.Steps) * stepTime), Sun: s.up}
	if !m.Gauge().Free(w.Start, m.Gauge().NewScratch()) {
		return nil, fmt.Errorf("%w: the pose that it would start from, RA axis %.1f°, declination axis %.1f°, is not proven free with %g mm to spare; "+
			"measure what costs most room there (check lists it), or give mount.park a free pose", ErrNoWalk,
			axes.Deg(w.Start.RA), axes.Deg(w.Start.Dec), m.Gauge().MarginMM)
	}
	f := &finder{m: m, g: g, l: lengthsOf(r), ruler: o.RulerMM, avoid: o.Avoid, sun: s, start: w.Start, bound: map[[2]int]bool{}}
	if err := f.find(ctx); err != nil {
		return nil, err
	}
	d := newDesign(f.rows())
	chosen := d.choose(o.Steps, f.allowed)
	if len(chosen) == 0 {
		return nil, fmt.Errorf("%w: of %d poses above the horizontal, none is away from the Sun, proven free with %g mm to spare, "+
			"joined with the start by a proven slew, and has two parts near enough for a ruler", ErrNoWalk, f.looked, m.Gauge().MarginMM)
	}
	w.Steps = fewFlips(f.steps(chosen))
	w.connect(m, s)
	w.Expect = f.l.expect(d)
	return w, nil
}

// Safe gives the gauge of the poses that a walk may use: the rig's own with its margin, or with LeastGapMM where that is less.
func Safe(m *axes.Model, mode rig.ToleranceMode) (*room.Gauge, error) {
	return room.NewGauge(m, room.Options{Mode: mode, MarginMM: math.Max(m.Rig.MarginMM.Value, LeastGapMM)})
}

// start is where a walk begins and ends.
func start(m *room.Map) axes.Angles {
	mount := &m.Gauge().Model.Rig.Mount
	for _, p := range []*rig.AxisPose{mount.Park, mount.Home} {
		if p != nil {
			return axes.Angles{RA: axes.Rad(p.RAAxisDeg), Dec: axes.Rad(p.DecAxisDeg)}
		}
	}
	return axes.Angles{}
}

// expect lists the lengths by what a design leaves of them, least first.
func (l *lengths) expect(d *design) []Expected {
	var out []Expected
	for i, q := range l.list {
		out = append(out, Expected{q, math.Sqrt(math.Max(0, d.c[i][i]))})
	}
	slices.SortStableFunc(out, func(a, b Expected) int {
		switch {
		case a.Left < b.Left:
			return -1
		case a.Left > b.Left:
			return 1
		}
		return 0
	})
	return out
}
