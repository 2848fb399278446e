package room

import (
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// PairGap is the gap between two parts at one pose.
type PairGap struct {
	A, B         int     // indices in Model.Parts; A stands nearer to the ground in the chain ground, polar, arm, tube
	Gap          float64 // mm; negative: the depth of the overlap
	Lower, Upper float64 // proven bounds of it, mm
	Allowance    float64 // what the tolerances take off, mm
	PointA       r3.Vec  // nearest points, world, mm
	PointB       r3.Vec
}

// Interval is a closed interval, radians.
type Interval struct{ From, To float64 }

// Reason says why a run starts or ends where it does.
type Reason string

const (
	ByRoom      Reason = "room"         // the next pose is not proven free
	ByTravel    Reason = "travel"       // the axis ends there
	ByHorizon   Reason = "horizon"      // no limit: the sky's edge comes first
	NeverEnds   Reason = "never_ends"   // no limit as far as its lower transit, and it does not set
	NeverUsable Reason = "never_usable" // no free pose above the horizon on this side
)

// RunEnd is where a run starts or ends. HourAngle means nothing for NeverEnds and NeverUsable.
type RunEnd struct {
	HourAngle float64 // radians, unwrapped
	Reason    Reason
}

// Row is the answer for a band of declination: the worst over the band, nothing left unproven inside it.
type Row struct {
	DecFrom, DecTo float64    // radians
	West, East     []Interval // free hour angles on each side, radians, unwrapped, cut at axis travel
	Stop, Resume   RunEnd     // of the pair of intervals that gives the most time above the horizon
	// The other runs on each side, cut at the horizon and half a day from the meridian: behind a contact, so that tracking on does
	// not lead there.
	WestOther, EastOther []Interval
	Flip                 []Interval // start hour angles from which the flip is proven
	Idle                 float64    // hour angle between stop and resume when no flip window exists, radians; 0 otherwise
	// Cross is, without a flip window, the earliest hour angle at or after resume at which a slew from where the first run
	// stopped, tracking off, is proven; it means something only with CrossProven.
	Cross       float64
	CrossProven bool
	west, east  Interval // the runs between which a way across is looked for; the same when there is none
}

// Island is a place of contact that the two numbers do not protect from.
type Island struct {
	RAFrom, RATo   float64 // axis angle, radians
	DecFrom, DecTo float64 // declination, radians
	Side           axes.Side
	A, B           string // the parts that meet there
}

// TwoNumber is a pair of axis limits, counted from counterweight-down: −East ≤ θ ≤ West, radians, both positive.
type TwoNumber struct {
	West, East float64
	// DecFrom and DecTo, radians, are the declinations that all of it is for; −π/2 and π/2 are the whole sky.
	DecFrom, DecTo float64
	Safe           bool     // every pose between them above the horizon at those declinations is proven free
	Unprotected    []Island // contact inside them; empty when Safe
	RoomCost       float64  // share of the room (either side, limits by declination) that is lost with them as entered (Entry), 0…1
	// Strict is the largest pair with nothing unprotected inside, its cost too as entered; the same pair when Safe. With both 0 there
	// is none: contact stands at counterweight-down.
	StrictWest, StrictEast, StrictRoomCost float64
	// Meridian is where West and East lie from the meridian, Entered where they do as entered (Entry).
	Meridian, Entered Meridian
}

// Share is the room per side and on either, 0…1 of the sky above the horizon.
type Share struct{ West, East, Either float64 }

// Cost is one quantity's part in the loss of room through tolerances.
type Cost struct {
	Quantity *rig.Quantity
	MM       float64 // its part of the allowance of the pair named
	A, B     string
	OfMM     float64 // that pair's whole allowance
}

// Limits is what an owner enters and reads off.
type Limits struct {
	MarginMM    float64
	ToleranceMM float64 // the largest allowance that came off any pair
	Mode        rig.ToleranceMode
	Fingerprint string
	Unmeasured  []string // paths of lengths that came from a template and were never measured
	Without     []string // conditions taken not to hold: the limits are not for when they do
	Rows        []Row
	Orders      []OrderShare // what Rows would have in each order of the axes; nil where the document says which
	Two         TwoNumber
	Room        Share
}
