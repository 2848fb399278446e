package mount

import (
	"errors"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/sky"
)

func TestEquinoxes(t *testing.T) {
	when := time.Date(2026, 3, 1, 22, 0, 0, 0, time.UTC)
	ra, dec := axes.FromHours(5.5), axes.Rad(-12.25)
	for _, q := range []Equinox{UnknownEquinox, OfDate, OfJ2000} {
		e := q.ToDate(ra, dec, when)
		moved := axes.Deg(sky.Separation(e, sky.Equatorial{RA: ra, Dec: dec}))
		// 26 years of precession: a third of a degree (DESIGN 2).
		if q == OfJ2000 && !(moved > 0.25 && moved < 0.4) || q != OfJ2000 && moved != 0 {
			t.Errorf("%v: moved by %g°", q, moved)
		}
		backRA, backDec := q.FromDate(e, when)
		if d := sky.Separation(sky.Equatorial{RA: backRA, Dec: backDec}, sky.Equatorial{RA: ra, Dec: dec}); d > 1e-11 {
			t.Errorf("%v: back at %g rad", q, d)
		}
	}
}

func TestRefused(t *testing.T) {
	err := error(&Refused{Number: 0x408, Kind: ErrParked, Message: "unpark first"})
	if !errors.Is(err, ErrRefused) || !errors.Is(err, ErrParked) || errors.Is(err, ErrLacks) {
		t.Errorf("kinds of %v", err)
	}
	for _, part := range []string{"0x408", "parked", "unpark first"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q does not say %s", err, part)
		}
	}
	own := error(&Refused{Message: "stuck"})
	if !errors.Is(own, ErrRefused) || errors.Is(own, ErrParked) || strings.Contains(own.Error(), "0x") {
		t.Errorf("kinds of %v", own)
	}
}
