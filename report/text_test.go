package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"legroom/axes"
	"legroom/room"
)

func TestLimitsAsText(t *testing.T) {
	m := madeUp(t)
	l := madeUpLimits(10)
	mine := &room.Mine{West: axes.Rad(99), East: axes.Rad(92), Contacts: l.Two.Unprotected, RoomCost: 0.039, Best: l.Two}
	safe := *l
	safe.Two.Safe, safe.Two.Unprotected = true, nil
	for name, f := range map[string]func(*bytes.Buffer) error{
		"limits.txt":           func(b *bytes.Buffer) error { return WriteLimits(b, m.Rig, Limits(m.Rig, l, nil, false)) },
		"limits_mine.txt":      func(b *bytes.Buffer) error { return WriteLimits(b, m.Rig, Limits(m.Rig, l, mine, false)) },
		"limits_confirmed.txt": func(b *bytes.Buffer) error { return WriteLimits(b, m.Rig, Limits(m.Rig, &safe, nil, true)) },
	} {
		var b bytes.Buffer
		if err := f(&b); err != nil {
			t.Fatal(err)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
}

func fits(t *testing.T, name, s string) {
	t.Helper()
	for i, l := range strings.Split(s, "\n") {
		if n := utf8.RuneCountInString(l); n > columns {
			t.Errorf("%s: line %d has %d columns: %q", name, i+1, n, l)
		}
	}
}

func TestCostOfNothingIsZero(t *testing.T) {
	if got := costPct(0); got != "0.0" {
		t.Errorf("no cost is written %q", got)
	}
	if got := costPct(4.2601); got != "4.3" {
		t.Errorf("a cost of 4.2601 is written %q, want 4.3: up", got)
	}
}
