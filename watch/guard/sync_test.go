package guard

import (
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
)

// While one client waits for the end of its slew, the others' reads and stops go through, and what would set the mount in
// motion is refused with the name of what is under way.
func TestOthersWhileASlewIsWaitedFor(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(60, 45), Options{}, nil)
	ended := make(chan error, 1)
	from := b.place(deg(60, 45))
	go func() { ended <- b.put("slewtocoordinates", b.place(deg(-45, -60))) }()
	if !b.until(5*time.Second, func() bool { return b.sim.State().Slewing }) {
		t.Fatal("does not slew")
	}
	underWay := func(what string) {
		t.Helper()
		select {
		case err := <-ended:
			t.Fatalf("%s waited for the end of the slew (%v)", what, err)
		default:
		}
	}
	for _, member := range []string{"slewing", "rightascension", "sideofpier", "devicestate", "tracking", "utcdate"} {
		b.get(member)
		underWay(member)
	}
	var all sync.WaitGroup
	level := alpaca.Args{"Altitude": 50.0, "Azimuth": 120.0}
	for member, args := range map[string]alpaca.Args{"slewtocoordinates": from, "slewtocoordinatesasync": from,
		"slewtoaltazasync": level, "sideofpier": {"SideOfPier": 1}, "park": nil, "unpark": nil, "findhome": nil, "tracking": {"Tracking": true},
		"moveaxis": {"Axis": 0, "Rate": 0.1}, "synctocoordinates": from, "slewtotargetasync": nil} {
		all.Go(func() {
			if text, is := no(b.put(member, args)); !is || !strings.Contains(text, "slewtocoordinates is under way since ") ||
				!strings.Contains(text, "stop it first") || len(text) > longestMessage {
				t.Errorf("%s: %s", member, text)
			}
		})
	}
	all.Wait()
	underWay("what was refused")
	for member, args := range map[string]alpaca.Args{"tracking": {"Tracking": false}, "moveaxis": {"Axis": 0, "Rate": 0.0}} {
		if err := b.put(member, args); err != nil {
			t.Errorf("%s: %v", member, err)
		}
		underWay(member)
	}
	if err := b.put("abortslew", nil); err != nil {
		t.Error(err)
	}
	select {
	case <-ended:
	case <-time.After(10 * time.Second):
		t.Error("still waited for after an abort")
	}
	if at := b.sim.State().Believed; at.RA < axes.Rad(-40) {
		t.Errorf("at %.1f°: it was at its end before the abort, and that tries nothing", axes.Deg(at.RA))
	}
}
