package load

import (
	"context"
	"errors"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// MapCellDeg is the smallest cell of the map that says which poses are used, degrees.
const MapCellDeg = 0.5

// Question is what is asked of the load of a rig.
type Question struct {
	DecFrom, DecTo float64 // declinations of the used poses, radians
	Stands, Bends  Wanted  // what the rig is to stand, none when zero; what bends what carries the mount
	Loops          bool    // what hanging loops may touch too: it takes longest
	StepDeg        float64 // the load pose by pose too, at such steps of both axes; 0: not
}

// Answer is the load of a rig: the worst over all used poses.
type Answer struct {
	Load           *Load
	DecFrom, DecTo float64 // radians
	Balance        Balance
	Tipping        *Tipping // nil when nothing has a mass
	Asked          Wanted
	Remedy         Remedy
	Bending        []Bending
	Bends          Wanted
	Cables         []Cable
	Poses          []axes.Angles
	Stands         []Stand     // of each pose, or none
	Slacks         [][]float64 // of each pose, by cable
}

// Answer works a question out for the rig of a map, over its poses that are above the horizon and proven free, under what is known of the
// rig's conditions. It calls progress with the share of the work that is done.
func (q Question) Answer(ctx context.Context, m *room.Map, known rig.Conditions, progress func(done float64)) (Answer, error) {
	l, err := New(m.Gauge().Model.Rig, known)
	if err != nil {
		return Answer{}, err
	}
	poses := FreePoses(m).Declinations(q.DecFrom, q.DecTo)
	a := Answer{Load: l, DecFrom: q.DecFrom, DecTo: q.DecTo, Balance: l.Balance(), Asked: q.Stands, Bends: q.Bends}
	switch t, err := l.Tipping(ctx, poses); {
	case errors.Is(err, ErrNoMass):
	case err != nil:
		return a, err
	default:
		a.Tipping = &t
		if !t.Anchored && q.Stands != (Wanted{}) {
			if a.Remedy, err = l.Remedy(ctx, poses, q.Stands); err != nil {
				return a, err
			}
		}
	}
	progress(0.05)
	if a.Bending, err = l.Bending(ctx, poses, q.Bends); err != nil {
		return a, err
	}
	progress(0.1)
	if a.Cables, err = l.Cables(ctx, poses); err != nil {
		return a, err
	}
	if q.Loops {
		const before = 0.15 // of the work
		if err := l.Loops(ctx, poses, a.Cables, func(done float64) { progress(before + (1-before)*done) }); err != nil {
			return a, err
		}
	}
	if q.StepDeg > 0 {
		err = a.byPose(poses.Grid(q.StepDeg))
	}
	return a, err
}

// byPose fills in the load at each pose.
func (a *Answer) byPose(poses []axes.Angles) error {
	a.Poses, a.Slacks = poses, make([][]float64, len(poses))
	if a.Tipping != nil {
		var err error
		if a.Stands, err = a.Load.Stands(poses); err != nil {
			return err
		}
	}
	for i, g := range poses {
		for k := range a.Cables {
			s, err := a.Load.Slack(k, g)
			if err != nil {
				return err
			}
			a.Slacks[i] = append(a.Slacks[i], s)
		}
	}
	return nil
}
