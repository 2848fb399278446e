package watch

import (
	"errors"
	"fmt"
	"time"

	"legroom/mount"
	"legroom/rig"
)

// Options is what the owner chooses. The zero value of each is the safe choice; Defaults fills it in.
type Options struct {
	Clock Clock // Real when nil

	Period     time.Duration // between two looks; 1 s when 0
	FastPeriod time.Duration // while something moves, a stop is under way or less than a minute is left; 0.25 s when 0
	// ReadDeadline and CommandDeadline are how long one look and one command may take; 1 s each when 0.
	ReadDeadline, CommandDeadline time.Duration
	// BrakeTime is how long the mount takes from an abort at full rate to a standstill; 2 s when 0. The braking distance is
	// that of an even deceleration: rate × BrakeTime / 2.
	BrakeTime time.Duration

	WarnBefore time.Duration // before a stop is due; 10 min when 0
	Blind      Reaction      // StopBlind when ""
	// IgnoreSide says that the driver's side is derived from the hour angle, or otherwise worth nothing. The side is then what
	// the owner confirmed, followed from there.
	IgnoreSide bool
	Equinox    mount.Equinox // what coordinates of an unknown equinox refer to, when the owner knows

	// Covered says that the tube is capped, or filtered for the Sun. Otherwise by day no slew comes within SunAngleDeg of it.
	Covered     bool
	SunAngleDeg float64 // 30 when 0; 10 at least

	// TriesBeforeHook is how many stops without effect call the hooks; 3 when 0, 10 at most.
	TriesBeforeHook int
	Hooks           []Hook
	// AxesHold says that the axes hold without power, so that a hook may cut it.
	AxesHold bool
	// Feed is called about every FeedPeriod (5 s when 0) as long as the loop runs and the mount obeys: a relay that is not fed acts.
	Feed       *Hook
	FeedPeriod time.Duration

	// TrySwitch is the owner's yes to switching tracking off once at the start, when the driver does not say that it can.
	TrySwitch bool
	// Without names the conditions of the set-up list that were confirmed not to hold.
	Without []string
	// LockDir holds the lock files; the user's own cache folder when "".
	LockDir string
	// Resume is the last sample of an earlier watch of this rig and mount, at most ten minutes old: where the first reading
	// agrees with it, the reference pose need not be confirmed again.
	Resume *Sample

	// Also is what else the owner chose, such as a broker, in words for the journal: no secrets.
	Also []string

	// Record takes the records of one step, after everything else of the step. An error is an alarm, and the loop goes on.
	Record func([]Record) error

	// Setup tells whether the set-up is confirmed; the file beside the document when nil.
	Setup func(now time.Time) rig.Setup
	// Fingerprint gives that of the document as it is now; read anew from its file when nil.
	Fingerprint func() (string, error)
}

// lookEvery is how often the files of the rig are looked at.
const lookEvery = 10 * time.Second

// Defaults returns the options with what was left out filled in.
func (o Options) Defaults() Options {
	or := func(d *time.Duration, v time.Duration) {
		if *d == 0 {
			*d = v
		}
	}
	if o.Clock == nil {
		o.Clock = Real{}
	}
	or(&o.Period, time.Second)
	or(&o.FastPeriod, min(250*time.Millisecond, o.Period))
	or(&o.ReadDeadline, time.Second)
	or(&o.CommandDeadline, time.Second)
	or(&o.BrakeTime, 2*time.Second)
	or(&o.WarnBefore, 10*time.Minute)
	or(&o.FeedPeriod, 5*time.Second)
	if o.Blind == "" {
		o.Blind = StopBlind
	}
	if o.SunAngleDeg == 0 {
		o.SunAngleDeg = 30
	}
	if o.TriesBeforeHook == 0 {
		o.TriesBeforeHook = 3
	}
	return o
}

// Validate says what of filled-in options is not possible, every defect on a line.
func (o Options) Validate() error {
	var errs []error
	within := func(name string, d, lo, hi time.Duration) {
		if d < lo || d > hi {
			errs = append(errs, fmt.Errorf("%s %v: give %v to %v", name, d, lo, hi))
		}
	}
	within("period", o.Period, 100*time.Millisecond, 5*time.Second)
	within("fast period", o.FastPeriod, 50*time.Millisecond, o.Period)
	within("deadline of a reading", o.ReadDeadline, 50*time.Millisecond, 10*time.Second)
	within("deadline of a command", o.CommandDeadline, 50*time.Millisecond, 10*time.Second)
	within("braking time", o.BrakeTime, 100*time.Millisecond, time.Minute)
	within("warning", o.WarnBefore, 30*time.Second, 6*time.Hour)
	within("time between two feeds", o.FeedPeriod, time.Second, 5*time.Minute)
	if o.Blind != StopBlind && o.Blind != AlarmBlind {
		errs = append(errs, fmt.Errorf("reaction %q when blind: give %s or %s", o.Blind, StopBlind, AlarmBlind))
	}
	if !(o.SunAngleDeg >= 10 && o.SunAngleDeg <= 90) {
		errs = append(errs, fmt.Errorf("angle to the Sun %v°: give 10 to 90", o.SunAngleDeg))
	}
	if o.TriesBeforeHook < 1 || o.TriesBeforeHook > 10 {
		errs = append(errs, fmt.Errorf("%d tries before the hook: give 1 to 10", o.TriesBeforeHook))
	}
	hooks := o.Hooks
	if o.Feed != nil {
		hooks = append(hooks[:len(hooks):len(hooks)], *o.Feed)
	}
	for _, h := range hooks {
		if h.Name == "" || h.Do == nil {
			errs = append(errs, errors.New("a hook without a name, or with nothing to do"))
		}
		if h.CutsPower && !o.AxesHold {
			errs = append(errs, fmt.Errorf("hook %q cuts the power, and it is not said that the axes hold without it: a tube may swing or fall; try it by hand, capped, and say so", h.Name))
		}
	}
	return errors.Join(errs...)
}

// stopCalls is the call deadline of the stop criterion: the next look, and the command that then ends the motion, which for
// tracking comes after abort and both rates.
func (o *Options) stopCalls(m Motion) time.Duration {
	if m == Moves {
		return o.ReadDeadline + o.CommandDeadline
	}
	return o.ReadDeadline + 3*o.CommandDeadline
}
