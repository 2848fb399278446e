package indi

import (
	"context"
	"fmt"

	"legroom/mount"
)

// outcome is what an answer of the device means for a command.
type outcome int8

const (
	waiting  outcome = iota // nothing: it may have been told for another reason
	busy                    // taken, and not done yet
	contrary                // the device is through with it, and has not done it
	done
)

// turnedTo judges a switch that is to be on in the end.
func turnedTo(member string) func(told) outcome {
	return func(v told) outcome {
		on, err := v.choice()
		switch {
		case v.State == Busy:
			return busy
		case err == nil && on == member:
			return done
		}
		return contrary
	}
}

// allOff judges switches that are all to be off in the end.
func allOff(v told) outcome {
	moves, err := v.moves()
	switch {
	case v.State == Busy:
		return busy
	case err == nil && !moves:
		return done
	}
	return contrary
}

// begun takes a command as accepted once the device works on it.
func begun(judge func(told) outcome) func(told) outcome {
	return func(v told) outcome {
		if o := judge(v); o != busy {
			return o
		}
		return done
	}
}

// command wishes for values and waits until the device's answer is judged done, it raises an alert, or the time is over. A
// contrary answer may be that to another client, so it counts at the end only.
func (t *Telescope) command(ctx context.Context, name string, values []Member, judge func(told) outcome) error {
	ctx, cancel := timed(ctx, commandTime)
	defer cancel()
	s, err := t.link.up(ctx)
	if err != nil {
		return err
	}
	known := s.snapshot()
	if err := offline(known); err != nil && name != connection {
		return err
	}
	property := known[name]
	for _, m := range values {
		if !property.has(m.Name) {
			return fmt.Errorf("%w: %s %s", mount.ErrLacks, name, m.Name)
		}
	}
	if property.Perm == "ro" {
		return fmt.Errorf("%w: %s can only be read", mount.ErrLacks, name)
	}

	wish := Vector{Device: s.device, Name: name, Kind: property.Kind, Members: values}
	heard, stop := s.listen(name)
	defer stop()
	if err := s.send(ctx, Element{Op: New, Vector: wish}); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	answered, latest := false, waiting
	err = s.wait(ctx, func() (bool, error) {
		for _, now := range heard.sets {
			answered = true
			if now.bad != nil {
				return false, fmt.Errorf("%w: %w", mount.ErrAnswer, now.bad)
			}
			if now.State == Alert {
				return false, refused(s, name, heard.message)
			}
			if latest = judge(now); latest == done {
				return true, nil
			}
		}
		heard.sets = nil
		if _, ok := s.known[name]; !ok {
			return false, fmt.Errorf("%w: the driver took it away", mount.ErrNotConnected)
		}
		return false, nil
	})
	if late(ctx, err) {
		switch {
		case !answered:
			err = s.unanswered(ctx)
		case latest == contrary:
			err = &mount.Refused{Kind: mount.ErrState, Message: "the driver answered without doing it"}
		default:
			err = fmt.Errorf("%w: not known to be done in time: %w", mount.ErrLink, err)
		}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// refused is the error of an alert, with what the device said since the wish. It runs under the session's lock.
func refused(s *session, name, message string) error {
	r := &mount.Refused{Message: alertText(message)}
	if on, err := s.known[park].choice(); err == nil && on == "PARK" && s.known[park].State != Busy && name != park {
		r.Kind = mount.ErrParked
	}
	return r
}
