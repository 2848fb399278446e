package report

import (
	"strings"
	"testing"

	"legroom/rig"
)

// Where the document does not say which axis turns first, one sentence says what that costs and one how to settle it: windows rounded
// down, and how many bands have none.
func TestOrderWords(t *testing.T) {
	got := orderWords([]OrderDoc{{rig.UnknownOrder, 30.9, 13, 22, 28}, {rig.BothAtOnce, 67.99, 0, 6, 28}, {rig.RAFirst, 129, 0, 0, 28}, {rig.DecFirst, 30.9, 13, 22, 28}})
	want := "In the mean a band's flip window is 30 min (22 of 28 have none); were it known: both at once 1 h 07 min (6 of 28 have none); RA first 2 h 09 min; " +
		"declination first 30 min (22 of 28 have none). To settle it, "
	if !strings.Contains(got, want) || !strings.HasSuffix(got, "write axis_order under mount.slew.") {
		t.Errorf("%s", got)
	}
	if got := orderWords(nil); got != "" {
		t.Errorf("the order is known: %s", got)
	}
}
