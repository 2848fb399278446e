package watch

import "time"

// Record is one line of the journal. Exactly one of the pointers is set, the one that Kind names.
type Record struct {
	At       time.Time `json:"at"` // by the watch's clock
	Kind     Kind      `json:"kind"`
	Sample   *Sample   `json:"sample,omitempty"`
	Decision *Decision `json:"decision,omitempty"`
	Command  *Command  `json:"command,omitempty"`
	Error    *Failure  `json:"error,omitempty"`
	Event    *Event    `json:"event,omitempty"`
}

// Kind names what a record holds.
type Kind string

const (
	KindSample   Kind = "sample"
	KindDecision Kind = "decision"
	KindCommand  Kind = "command"
	KindError    Kind = "error"
	KindEvent    Kind = "event"
)

// Sample is what one look at the mount told and what was made of it. Numbers that were not told or mean nothing are nil.
type Sample struct {
	Asked      time.Time `json:"asked"` // before the first member was asked for
	Got        time.Time `json:"got"`   // after the last one came
	RADeg      float64   `json:"ra_deg"`
	DecDeg     float64   `json:"dec_deg"` // of date, both
	SideSaid   string    `json:"side_said"`
	Side       string    `json:"side"` // as resolved: west, east or unknown
	SideHow    SideHow   `json:"side_known_by"`
	HourH      float64   `json:"hour_angle_h"`
	RAAxisDeg  *float64  `json:"ra_axis_deg" jsonschema:"nullable"` // unwrapped; of the tighter side when the side is not known
	DecAxisDeg *float64  `json:"dec_axis_deg" jsonschema:"nullable"`
	Tracking   string    `json:"tracking"` // yes, no or unknown
	Slewing    string    `json:"slewing"`
	Parked     string    `json:"parked"`
	Motion     Motion    `json:"motion"`
	GapMM      *float64  `json:"gap_mm" jsonschema:"nullable"`       // of the nearest pair
	LowerMM    *float64  `json:"gap_lower_mm" jsonschema:"nullable"` // proven, tolerances taken off
	ZoneMM     *float64  `json:"zone_mm" jsonschema:"nullable"`      // a stop is due when gap_lower_mm is down to this, as far as the pair that decides has
	A          string    `json:"a"`                                  // the pair that sets gap_lower_mm
	B          string    `json:"b"`
	LeftS      *float64  `json:"time_left_s" jsonschema:"nullable"` // until a stop is due; nil: no end of the run, or not known
	Blind      []Reason  `json:"blind,omitempty"`                   // why it was not known where the parts are: the gaps prove nothing then
}

// Proven is the gap that was proven, mm; nil where none was, as while the watch was blind.
func (s *Sample) Proven() *float64 {
	if len(s.Blind) > 0 {
		return nil
	}
	return s.LowerMM
}

// WithoutGaps returns the sample without what is worth nothing while the watch is blind: gaps, and the time left.
func (s Sample) WithoutGaps() Sample {
	s.GapMM, s.LowerMM, s.ZoneMM, s.LeftS = nil, nil, nil, nil
	return s
}

// Decision is a change of what the watch does, and why.
type Decision struct {
	From   Rung     `json:"from"`
	To     Rung     `json:"to"`
	Cause  Cause    `json:"cause"`
	Blind  []Reason `json:"blind,omitempty"`
	Why    string   `json:"why"`                               // in words, with the numbers
	LeftS  *float64 `json:"time_left_s" jsonschema:"nullable"` // nil: not known, or no end
	Guard  bool     `json:"proven_path"`                       // a slew that was proven beforehand was under way
	Shield bool     `json:"protected"`                         // what was under way is no faster than the watch can protect, or was proven
	Repeat int      `json:"repeats,omitempty"`                 // how often the stop was sent before
}

// Command is one thing that the mount, or a hook, was told.
type Command struct {
	Name   string    `json:"name"` // abort, zero rates, tracking off, park, slew, connect, or hook and its name
	Sent   time.Time `json:"sent"`
	Ended  time.Time `json:"ended"`
	Answer string    `json:"answer"` // "accepted", or the error's words
	OK     bool      `json:"ok"`
}

// Failure is something that went wrong with the link, the journal or a hook.
type Failure struct {
	Where string `json:"where"` // read, journal, hook, rig
	Kind  string `json:"kind"`  // link, answer, refused, not connected, …
	Text  string `json:"text"`
}

// NotConnected is the kind of a failure in which the driver says that it has no mount.
const NotConnected = "not connected"

// Event is what the owner hears of: alarms that come and go, acts of the owner, the watch's own start and end.
type Event struct {
	ID    int64     `json:"id"` // counts up from 1 with the start of the watch
	At    time.Time `json:"at"`
	Key   string    `json:"key"`   // what it is about: an alarm's key, or start, settings, end, confirm, snooze, stop, park, guard, …
	Level Level     `json:"level"` // note, warning, alarm
	Text  string    `json:"text"`
	Over  bool      `json:"over,omitempty"` // the alarm of this key has ended
}
