package sim

import (
	"fmt"
	"math"
	"slices"
)

// Faults are what the mount and the link to it do wrong. The zero value is a good mount. Times are of the simulator's clock.
type Faults struct {
	// Of the link.
	DelayS   float64 `json:"delay_s"`   // every answer comes that much later
	Loss     float64 `json:"loss"`      // share of calls that are lost: half of them before they are carried out, half after
	HalfOpen bool    `json:"half_open"` // connections stay open, and nothing is carried out or answered any more
	Garbage  bool    `json:"garbage"`   // answers are none of the protocol's

	// Of what is said.
	Frozen          bool    `json:"frozen"`             // values stay as they were
	WrongSide       bool    `json:"wrong_side"`         // the other side is said
	UnknownSide     bool    `json:"unknown_side"`       // no side is said
	UnknownTracking bool    `json:"unknown_tracking"`   // whether it tracks is not said
	SideByHourAngle bool    `json:"side_by_hour_angle"` // west before the meridian and east past it is said, whatever the axes do
	ClockS          float64 `json:"clock_s"`            // the mount's clock is fast by that
	LongitudeDeg    float64 `json:"longitude_deg"`

	// Of what is done.
	IgnoreStop       bool    `json:"ignore_stop"`        // abort, rates of 0 and tracking off are accepted and not done
	SlowStopS        float64 `json:"slow_stop_s"`        // they are done that much later
	RestoreTrackingS float64 `json:"restore_tracking_s"` // so long after an abort tracking is switched on; 0: not
}

// Validate says what of it is out of range.
func (f Faults) Validate() error {
	for _, v := range []struct {
		name     string
		x        float64
		from, to float64
	}{
		{"delay_s", f.DelayS, 0, 3600}, {"loss", f.Loss, 0, 1}, {"clock_s", f.ClockS, -1e9, 1e9},
		{"longitude_deg", f.LongitudeDeg, -360, 360}, {"slow_stop_s", f.SlowStopS, 0, 3600},
		{"restore_tracking_s", f.RestoreTrackingS, 0, 3600},
	} {
		if !(v.x >= v.from && v.x <= v.to) || math.IsNaN(v.x) {
			return fmt.Errorf("%s %g: give a number from %g to %g", v.name, v.x, v.from, v.to)
		}
	}
	said := []bool{f.WrongSide, f.UnknownSide, f.SideByHourAngle}
	if i := slices.Index(said, true); i >= 0 && slices.Contains(said[i+1:], true) {
		return fmt.Errorf("wrong_side, unknown_side, side_by_hour_angle: switch on one at a time")
	}
	return nil
}

// carried is what becomes of one call on its way.
type carried struct {
	delay        float64 // s
	lost, before bool    // lost, and that before it is carried out
	halfOpen     bool
	garbage      bool
}

// carry draws what becomes of the next call.
func (m *Mount) carry() carried {
	m.mu.Lock()
	defer m.mu.Unlock()
	f := &m.faults
	c := carried{delay: f.DelayS, halfOpen: f.HalfOpen, garbage: f.Garbage}
	if f.Loss > 0 {
		c.lost, c.before = m.luck.Float64() < f.Loss, m.luck.Float64() < 0.5
	}
	return c
}
