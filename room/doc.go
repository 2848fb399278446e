// Package room proves where a rig has room: gaps at a pose, the certified map of the torus of axis angles, tracks, limits by
// declination, the two-number limit, slews and routes.
//
// The data goes from Gauge (gaps at one pose) by way of prover.prove (a whole cell at once) to Map (the torus), and everything
// else reads the map: Map.Limits, Map.Target, Map.Mine, Map.Slew, Map.Route. Angles are radians, lengths millimetres. Only a
// proven lower bound makes anything free; what is undecided is not free.
package room
