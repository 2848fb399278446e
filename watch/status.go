package watch

import (
	"time"

	"legroom/mount"
)

// Status is all that page, terminal, metrics, guard and safety monitor show of the watch.
type Status struct {
	At       time.Time `json:"at"`      // when the loop last came round: an old status is no status
	Started  time.Time `json:"started"` // of the watch
	Mount    string    `json:"mount"`
	Rig      string    `json:"rig"`
	Print    string    `json:"fingerprint"`
	Rung     Rung      `json:"rung"`
	Cause    Cause     `json:"cause"` // of the stop that is under way or done
	Why      string    `json:"why"`
	Blind    []Reason  `json:"blind"`
	BlindWhy []string  `json:"blind_why"`                         // for each reason, in words
	Held     bool      `json:"held"`                              // the owner pressed stop, and has not let go
	Sample   *Sample   `json:"sample" jsonschema:"nullable"`      // the last usable one; nil before the first. Its gaps are told only while they are proven
	AgeS     *float64  `json:"age_s" jsonschema:"nullable"`       // of it
	LeftS    *float64  `json:"time_left_s" jsonschema:"nullable"` // until a stop is due; nil while blind
	NoEnd    bool      `json:"no_end"`                            // nothing ends this run within a turn of the axis, or it is not tracking; not told while blind
	Protect  Protected `json:"protect"`
	PathOK   bool      `json:"proven_path"` // a slew that was proven beforehand is under way
	OnWay    bool      `json:"on_way"`      // a way over waypoints is being gone
	Settling bool      `json:"-"`           // the axes have just been moving, not by hand, and may still be coming to rest
	// SunMeets is, after a stop, when the Sun first comes within the chosen angle of where the tube points; nil: not within a day.
	SunMeets *time.Time        `json:"sun_meets" jsonschema:"nullable"`
	Snoozed  *time.Time        `json:"snoozed_until" jsonschema:"nullable"`
	Alarms   []AlarmState      `json:"alarms"`
	Counts   Counts            `json:"counts"`
	Reading  mount.Reading     `json:"-"` // the last one, whatever it was worth
	Desc     mount.Description `json:"-"`
}

// AlarmState is an alarm that has not ended.
type AlarmState struct {
	Key   string    `json:"key"`
	Level Level     `json:"level"`
	Text  string    `json:"text"`
	Since time.Time `json:"since"`
	Known bool      `json:"acknowledged"` // the owner has said so; it is still shown
}

// Counts is what has happened since the start.
type Counts struct {
	Steps        int64   `json:"steps"`
	Readings     int64   `json:"readings"`
	ReadErrors   int64   `json:"read_errors"`
	Warnings     int64   `json:"warnings"`
	Stops        int64   `json:"stops"`
	Restored     int64   `json:"restored"` // motion that came back after a stop
	Hooks        int64   `json:"hooks"`
	BlindSteps   int64   `json:"blind_steps"`
	JournalFails int64   `json:"journal_failures"`
	Slews        int64   `json:"slews"`
	Unprotected  int64   `json:"unprotected_slews"` // slews that were neither proven nor slow enough to be protected
	WorstStepS   float64 `json:"worst_step_s"`
}

// Safe is the safety monitor's answer: a fresh look, nothing blind, no stop due or under way, and none that the owner holds.
func (s *Status) Safe(now time.Time, period time.Duration) bool {
	return s.recent(now, period) && s.Sample != nil && len(s.Blind) == 0 && !s.Held && (s.Rung == Watching || s.Rung == Warned)
}

// recent tells whether the loop has come round of late.
func (s *Status) recent(now time.Time, period time.Duration) bool {
	return !s.At.IsZero() && since(now, s.At) <= 3*period && !now.Before(s.At.Add(-period))
}

// Period is how often the loop comes round when nothing moves fast.
func (w *Watch) Period() time.Duration { return w.o.Period }

// Proven is the gap that is proven where the axes were last seen, mm. There is none while the watch is blind, or does not come round: what
// was proven before may be gone.
func (s *Status) Proven() *float64 {
	if s.Sample == nil || len(s.Blind) > 0 {
		return nil
	}
	return s.Sample.Proven()
}

// Status returns a copy of the state, as far as it holds now.
func (w *Watch) Status() Status {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.snapshot()
}

func (w *Watch) snapshot() Status {
	s, now := w.status, w.o.Clock.Now()
	s.OnWay, s.Held, s.Settling = w.onWay, w.l.held, w.ob.unsettled && w.hand == nil
	// Copies, and never nil: an empty list in JSON.
	s.Blind, s.BlindWhy, s.Alarms = append([]Reason{}, s.Blind...), append([]string{}, s.BlindWhy...), append([]AlarmState{}, w.alarms.active...)
	if s.Sample != nil {
		c := *s.Sample
		s.Sample = &c
		age := since(now, c.Asked).Seconds()
		s.AgeS = &age
	}
	if len(s.Blind) > 0 || !s.recent(now, w.o.Period) {
		s.LeftS, s.NoEnd = nil, false
		if s.Sample != nil {
			*s.Sample = s.Sample.WithoutGaps()
		}
	}
	return s
}
