package change

import (
	"context"
	"math"
	"strings"

	"legroom/load"
	"legroom/room"
)

// Load is what weighs and pulls on a rig; what could not be found is nil, with the reason.
type Load struct {
	Balance   load.Balance
	Tipping   *load.Tipping // over the poses that the map proves free
	NoTipping string
	Bending   []load.Bending // each upright; empty when there is none
	NoBending string
	Cables    []load.Cable
	NoCables  string
}

// questions says what of the load is looked at; balance always is.
type questions struct{ tipping, bending, cables bool }

// everything is all of it.
var everything = questions{true, true, true}

// loadOf looks at the load of the rig of a map, over the poses that are free.
func loadOf(ctx context.Context, m *room.Map, a Ask, q questions) (Load, error) {
	g := m.Gauge()
	known, err := g.Model.Rig.Known(a.Holds, a.HoldsNot)
	if err != nil {
		return Load{}, err
	}
	l, err := load.New(g.Model.Rig, known)
	if err != nil {
		return Load{}, err
	}
	poses := load.FreePoses(m)
	out := Load{Balance: l.Balance()}
	// What the document does not say is a finding; only an end of the context ends the whole.
	found := func(err error, why *string) error {
		if err != nil {
			*why = err.Error()
		}
		return ctx.Err()
	}
	if q.tipping {
		t, err := l.Tipping(ctx, poses)
		switch {
		case err != nil:
		case len(t.Beyond) > 0:
			out.NoTipping = "no mass is given for " + strings.Join(t.Beyond, ", ") + ", beyond the feet"
		default:
			out.Tipping = &t
		}
		if err := found(err, &out.NoTipping); err != nil {
			return out, err
		}
	}
	if q.bending {
		out.Bending, err = l.Bending(ctx, poses, load.Wanted{PushN: a.PushN, WindMS: a.WindMS})
		if err := found(err, &out.NoBending); err != nil {
			return out, err
		}
	}
	if q.cables {
		out.Cables, err = l.Cables(ctx, poses)
		if err := found(err, &out.NoCables); err != nil {
			return out, err
		}
	}
	return out, nil
}

// Limits are side constraints: what a solution must hold besides its aim. The zero value asks for nothing.
type Limits struct {
	Balance bool    // the counterweights can be put where they balance the RA axis, and the declination axis is no more out of balance than now
	TipMM   float64 // the centre of mass stays at least so far inside of the feet's polygon
	PushN   float64 // no less sideways push at the highest point tips it over
	WindMS  float64 // nor less wind
	Cables  bool    // every cable whose length the document gives reaches
}

// Asks tells whether anything is asked for.
func (l Limits) Asks() bool { return l != Limits{} }

// load looks at what the limits ask for.
func (l Limits) load(ctx context.Context, m *room.Map, a Ask) (Load, error) {
	return loadOf(ctx, m, a, questions{tipping: l.TipMM > 0 || l.PushN > 0 || l.WindMS > 0, cables: l.Cables})
}

// roughNm is a moment about the declination axis that nobody minds, N·m.
const roughNm = 0.5

// broken says which limit a rig does not hold, "" when it holds all; decNm is the moment about the declination axis as it is now. What is
// not known is not held.
func (l Limits) broken(x *Load, decNm float64) string {
	if b := &x.Balance; l.Balance {
		switch {
		case len(b.Missing) > 0:
			return "whether it can be balanced is not known: there is no mass for " + b.Missing[0]
		case len(b.RA.Weights) > 0 && !b.RA.Fits:
			return "the counterweights cannot be put where they balance it"
		case !(b.Dec.MomentNm <= math.Max(decNm, roughNm)+1e-9):
			return "the declination axis is more out of balance than now"
		}
	}
	if l.TipMM > 0 || l.PushN > 0 || l.WindMS > 0 {
		t := x.Tipping
		switch {
		case t == nil:
			return "what tips it is not known: " + x.NoTipping
		case t.Anchored:
		case len(x.Balance.Missing) > 0: // what stands still over the feet, and has none, only holds it down
			return "what tips it is not known: there is no mass for " + x.Balance.Missing[0]
		case t.Distance.Bound < l.TipMM:
			return "the centre of mass comes too near to an edge of the feet's polygon"
		case t.Push.Bound < l.PushN:
			return "a smaller push tips it over"
		case t.Wind.Bound < l.WindMS:
			return "a weaker wind tips it over"
		}
	}
	if l.Cables {
		if x.NoCables != "" {
			return "whether the cables reach is not known: " + x.NoCables
		}
		for _, c := range x.Cables {
			if c.LengthMM > 0 && c.SlackMM < 0 {
				return "the cable " + c.Name + " does not reach"
			}
		}
	}
	return ""
}
