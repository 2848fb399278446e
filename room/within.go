package room

import (
	"math"

	"legroom/axes"
)

// Within returns the same map for a mount that lets its RA axis turn no further than from −east to west from
// counterweight-down, radians, both positive: what lies beyond is out of travel for tracks and slews.
func (m *Map) Within(west, east float64) *Map {
	model := *m.gauge.Model
	t := model.Travel
	model.Travel = axes.Travel{RAFrom: math.Max(t.RAFrom, -east), RATo: math.Min(t.RATo, west), DecFrom: t.DecFrom, DecTo: t.DecTo}
	gauge := *m.gauge
	gauge.Model = &model
	within := *m
	within.gauge = &gauge
	return &within
}
