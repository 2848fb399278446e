package rig

import (
	"math"
	"slices"
)

// Altitude returns the horizon's altitude at an azimuth, both degrees: linear between the points, wrapping at 360°, 0 without
// points.
func (h Horizon) Altitude(azimuthDeg float64) float64 {
	if len(h) == 0 {
		return 0
	}
	az := turns(azimuthDeg)
	i, exact := slices.BinarySearchFunc(h, az, func(p [2]float64, az float64) int {
		switch {
		case p[0] < az:
			return -1
		case p[0] > az:
			return 1
		}
		return 0
	})
	if exact {
		return h[i][1]
	}
	a, b := h[(i+len(h)-1)%len(h)], h[i%len(h)]
	span, past := turns(b[0]-a[0]), turns(az-a[0])
	if span == 0 {
		return a[1]
	}
	return a[1] + (b[1]-a[1])*past/span
}

// Least returns the least altitude of the horizon between two azimuths, clockwise from the first; degrees, to ≥ from.
func (h Horizon) Least(fromDeg, toDeg float64) float64 {
	least := math.Min(h.Altitude(fromDeg), h.Altitude(toDeg))
	for _, p := range h {
		if turns(p[0]-fromDeg) <= toDeg-fromDeg {
			least = math.Min(least, p[1])
		}
	}
	return least
}

// turns brings an azimuth into [0, 360).
func turns(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	return deg
}

// ConditionNames lists the conditions that a question may name: the document's own and the two that every rig has.
func (r *Rig) ConditionNames() []string {
	names := []string{FocuserTravel, RotatorSweep}
	for _, c := range r.Conditions {
		names = append(names, c.Name)
	}
	return names
}
