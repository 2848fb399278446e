package mount

import (
	"errors"
	"fmt"
)

// The kinds of errors of a Telescope, for errors.Is. An error is at least one of ErrLink, ErrAnswer, ErrLacks, ErrRefused and
// ErrSide.
var (
	// ErrLink: no connection, a lost one, or no answer in time. Whether a command was carried out is unknown.
	ErrLink = errors.New("no link to the mount")
	// ErrAnswer: something answered, but not as the protocol has it.
	ErrAnswer = errors.New("an answer that cannot be used")
	// ErrLacks: the driver does not have this.
	ErrLacks = errors.New("not there in this driver")
	// ErrRefused: the driver understood and said no. The error is a *Refused; its kind is one of those below, or none of them.
	ErrRefused = errors.New("refused by the driver")
	// ErrSide: a slew would end on the other side than asked for, so it was not started.
	ErrSide = errors.New("the mount would choose the other side")

	ErrNotConnected = errors.New("the driver is not connected to the mount")
	ErrParked       = errors.New("the mount is parked")
	ErrValue        = errors.New("value out of range")
	ErrNotSet       = errors.New("value was never set")
	ErrSlaved       = errors.New("the mount is slaved")
	ErrState        = errors.New("not possible now")
)

// Refused is the driver's own error.
type Refused struct {
	Number  int    // the protocol's error number; 0 where it has none
	Kind    error  // ErrNotConnected, ErrParked, ErrLacks, …; nil: the driver's own
	Message string // in the driver's words
}

func (r *Refused) Error() string {
	s := ErrRefused.Error()
	if r.Number != 0 {
		s += fmt.Sprintf(" (0x%X)", r.Number)
	}
	if r.Kind != nil {
		s += ": " + r.Kind.Error()
	}
	if r.Message != "" {
		s += ": " + r.Message
	}
	return s
}

func (r *Refused) Unwrap() []error {
	if r.Kind == nil {
		return []error{ErrRefused}
	}
	return []error{ErrRefused, r.Kind}
}
