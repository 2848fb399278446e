package report

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"legroom/room"
)

// The columns of the table of limits are minutes, a hundred of them and more as well: no column has two units.
func TestLimitsTableHasOneUnit(t *testing.T) {
	h := func(x float64) *float64 { return &x }
	rows := []RowDoc{
		{StopH: h(4), StopReason: room.ByTravel, ResumeH: h(-2.35), ResumeReason: room.ByRoom, FlipH: []Span{{-1, 3.9}}},
		{StopH: h(0.5), StopReason: room.ByRoom, ResumeH: h(-0.5), ResumeReason: room.ByRoom, FlipH: []Span{{-0.4, 0.4}}},
		{StopH: h(-2), StopReason: room.ByRoom, ResumeH: h(0.5), ResumeReason: room.ByRoom, IdleMin: 150},
	}
	p := &page{}
	p.table(rows)
	var b bytes.Buffer
	if err := p.writeTo(&b); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for i := range rows {
		text += flipShort(&rows[i]) + "\n"
	}
	if hours := regexp.MustCompile(`\d h\b`).FindString(text); hours != "" {
		t.Errorf("hours beside minutes:\n%s", text)
	}
	for _, want := range []string{"+240 min (axis ends)", "−141 min", "−60…+234 min", "stop at −120 min, start at +30 min *", "idle 150 min *"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
}
