package alpaca

import (
	"errors"
	"fmt"
	"net/http"

	"legroom/mount"
)

// The standard's error numbers. From numDriver to 0xFFF they are the driver's own.
const (
	numLacks        = 0x400
	numValue        = 0x401
	numNotSet       = 0x402
	numNotConnected = 0x407
	numParked       = 0x408
	numSlaved       = 0x409
	numState        = 0x40B
	numNoAction     = 0x40C
	numDriver       = 0x500
)

var errorKinds = []struct {
	number int
	kind   error
}{
	{numLacks, mount.ErrLacks},
	{numValue, mount.ErrValue},
	{numNotSet, mount.ErrNotSet},
	{numNotConnected, mount.ErrNotConnected},
	{numParked, mount.ErrParked},
	{numSlaved, mount.ErrSlaved},
	{numState, mount.ErrState},
	{numNoAction, mount.ErrLacks},
	{numState, mount.ErrSide},
}

// refused turns the standard's error number and text into an error.
func refused(number int, message string) error {
	r := &mount.Refused{Number: number, Message: clipped(message)}
	for _, k := range errorKinds {
		if k.number == number {
			r.Kind = k.kind
			break
		}
	}
	return r
}

// errorNumber says how an error goes out: a driver's refusal under its own number, the kinds of package mount under the
// standard's, anything else, a lost link among it, as the driver's own.
func errorNumber(err error) (int, string) {
	var r *mount.Refused
	if errors.As(err, &r) && r.Number != 0 {
		return r.Number, r.Message
	}
	for _, k := range errorKinds {
		if errors.Is(err, k.kind) {
			return k.number, err.Error()
		}
	}
	return numDriver, err.Error()
}

// HTTPError is an answer with another status than 200: 400 for a request that the device did not understand, 500 for a fault
// inside it. The text is plain.
type HTTPError struct {
	Status int
	Text   string
}

func (e *HTTPError) Error() string {
	s := fmt.Sprintf("HTTP status %d", e.Status)
	if e.Text != "" {
		s += ": " + e.Text
	}
	return s
}

// Unwrap: a request that was not understood is one that the device lacks, because Remote sends only what the standard has.
func (e *HTTPError) Unwrap() error {
	switch e.Status {
	case http.StatusBadRequest, http.StatusNotFound, http.StatusMethodNotAllowed, http.StatusNotImplemented:
		return mount.ErrLacks
	}
	return mount.ErrAnswer
}

func badRequest(format string, args ...any) error {
	return &HTTPError{Status: http.StatusBadRequest, Text: fmt.Sprintf(format, args...)}
}
