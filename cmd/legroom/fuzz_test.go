package main

import (
	"math"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/room"
)

// FuzzPoses: lines of poses are refused, or each is a pose.
func FuzzPoses(f *testing.F) {
	for _, s := range []string{"side,hour_angle_h,dec_deg\nwest,-1.5,37\n", "east, 0x1p-2,nan\n", "west,1,\"2\n3\"", "\ufeffwest,1,2", "west,1e999,2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n := 0
		_ = eachPose(strings.NewReader(text), "poses", func(_ axes.Pose, h, dec float64) error {
			if n++; !(math.Abs(h) <= 24 && math.Abs(dec) <= 90) {
				t.Fatal(h, dec)
			}
			return nil
		})
		if n > len(text) {
			t.Fatal(n)
		}
	})
}

// FuzzMountAddress: an address is refused, or stays what it is when it is read again: two watches of one mount find each other.
func FuzzMountAddress(f *testing.F) {
	for _, s := range []string{"ALPACA://LocalHost:7434/00", "indi://[::1]:7624/My%20Mount", "indi://[::ffff:127.0.0.1]:1/M", "alpaca://h:1/0?x", "indi://a.:7624//M", "indi://%41:1/M"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		once, err := mountAddress(text)
		if err != nil {
			return
		}
		if twice, err := mountAddress(once); err != nil || twice != once {
			t.Fatalf("%q became %q, and then %q, %v", text, once, twice, err)
		}
	})
}

// FuzzLimitWords: what is written behind --mine and --declinations is refused, or within its range.
func FuzzLimitWords(f *testing.F) {
	for _, s := range []string{"west=95,east=92", "west=nan,east=1", "-10..60", "-90..90", "nan..1", "1e999..2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if w, e, err := parseMine(s); err == nil && !(w >= 0 && w <= math.Pi && e >= 0 && e <= math.Pi) {
			t.Fatal(w, e)
		}
		var o room.LimitOptions
		if err := parseDeclinations(s, &o); err == nil && !(o.DecFromDeg >= -90 && o.DecFromDeg <= o.DecToDeg && o.DecToDeg <= 90) {
			t.Fatalf("%+v", o)
		}
	})
}
