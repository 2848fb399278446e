package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/solid/fcl"
)

const (
	poseCount = 1000 // random poses of each rig
	poseRuns  = 9    // of each program, by turns; the fastest counts
)

// normal is FCL's own default distance_tolerance; with it most of FCL's distances are within 1e-4 mm, which is what the gauge asks of
// itself, and a few are off by 1e-3. finer is what the tests ask of FCL.
const (
	normal = 1e-6
	finer  = 1e-9
)

// wholePose times the least gap of a pose, FCL's broad phase against room.Gauge.Gap, on the same parts at the same poses.
func wholePose() error {
	p, err := fcl.Build()
	if err != nil {
		return fmt.Errorf("FCL: %w (install g++, pkg-config and libfcl-dev)", err)
	}
	files, err := examples()
	if err != nil {
		return err
	}
	fmt.Printf("least gap of a whole pose: FCL's DynamicAABBTreeCollisionManager::distance against room.Gauge.Gap, of %d random poses those without\n"+
		"overlap, then all; fastest of %d runs by turns; FCL with its default distance_tolerance %g (and with %g)\n", poseCount, poseRuns, normal, finer)
	fmt.Printf("  %-29s %5s %6s %-8s %6s %18s %8s %14s   %s\n", "", "parts", "pairs", "", "poses", "FCL ns/pose", "ns/pose", "ratio", "largest difference")
	for _, file := range files {
		g, err := gaugeOf(file, rig.None)
		if err != nil {
			return err
		}
		all := randomPoses(poseCount)
		s := g.NewScratch()
		var apart []axes.Angles
		for _, ax := range all {
			if g.Gap(ax, s).Nearest.Gap > 0 {
				apart = append(apart, ax)
			}
		}
		name := filepath.Base(file)
		for k, poses := range [][]axes.Angles{apart, all} {
			r, err := race(p, g, poses)
			if err != nil {
				return fmt.Errorf("%s: %w", file, err)
			}
			fmt.Printf("  %-29s %5d %6d %-8s %6d %8.0f (%7.0f) %8.0f %5.1f (%5.1f)   %.0e (%.0e) mm", name, len(g.Model.Parts), g.Pairs(),
				[]string{"apart", "all"}[k], len(poses), r.theirs, r.theirsFiner, r.ours, r.theirs/r.ours, r.theirsFiner/r.ours, r.difference, r.differenceFiner)
			if file == terrace {
				fmt.Printf("  (target ≥ 8: %s)", verdict(r.theirs/r.ours >= 8))
			}
			fmt.Println()
		}
	}
	return nil
}

// raced is a comparison: nanoseconds a pose, and the largest difference of the gaps where both say apart, mm.
type raced struct{ theirs, theirsFiner, ours, difference, differenceFiner float64 }

func race(p *fcl.Program, g *room.Gauge, poses []axes.Angles) (raced, error) {
	scene := sceneOf(g.Model, poses)
	r := raced{theirs: math.Inf(1), theirsFiner: math.Inf(1), ours: math.Inf(1)}
	gaps := make([]room.Gap, len(poses))
	s := g.NewScratch()
	each := 1e9 / float64(len(poses))
	for range poseRuns {
		for _, ask := range []struct {
			tolerance, allowed float64
			best, difference   *float64
		}{{normal, 1e-2, &r.theirs, &r.difference}, {finer, 1e-3, &r.theirsFiner, &r.differenceFiner}} {
			scene.Tolerance = ask.tolerance
			answers, seconds, err := p.Scene(scene)
			if err != nil {
				return r, err
			}
			*ask.best = min(*ask.best, seconds*each)
			start := time.Now()
			for i, ax := range poses {
				gaps[i] = g.Gap(ax, s)
			}
			r.ours = min(r.ours, time.Since(start).Seconds()*each)
			d, err := difference(gaps, answers)
			if err != nil {
				return r, err
			}
			if d > ask.allowed {
				return r, fmt.Errorf("the answers differ by %v mm: a time for another answer is no time", d)
			}
			*ask.difference = d
		}
	}
	return r, nil
}

func randomPoses(n int) []axes.Angles {
	rnd := rand.New(rand.NewPCG(1, 2))
	out := make([]axes.Angles, n)
	for i := range out {
		out[i] = axes.Angles{RA: (rnd.Float64()*2 - 1) * math.Pi, Dec: (rnd.Float64()*2 - 1) * math.Pi}
	}
	return out
}

// sceneOf puts what the gauge looks at into FCL's terms: one manager for what stands still, one for the arm and one for the tube, and the
// pairs that do not count left out.
func sceneOf(m *axes.Model, poses []axes.Angles) fcl.Scene {
	groups := map[rig.Frame]int{rig.Ground: 0, rig.Polar: 0, rig.Arm: 1, rig.TubeFrame: 2}
	var s fcl.Scene
	for i := range m.Parts {
		p := &m.Assembly.Parts[i]
		s.Parts = append(s.Parts, fcl.Part{Group: groups[p.Frame], Kind: string(p.Shape), Size: p.SizeMM, Place: m.PartPose(i, axes.Angles{}).Place()})
	}
	s.Skip = append(append(s.Skip, m.Assembly.Joined...), m.Assembly.Turning...)
	for _, ax := range poses {
		var places [][12]float64
		for i := range s.Parts {
			if s.Parts[i].Group != 0 {
				places = append(places, m.PartPose(i, ax).Place())
			}
		}
		s.Poses = append(s.Poses, places)
	}
	return s
}

// difference returns the largest difference of the two programs' gaps where both say apart. They must agree on that.
func difference(gaps []room.Gap, answers []fcl.SceneAnswer) (float64, error) {
	worst := 0.0
	for i, a := range answers {
		gap := gaps[i].Nearest.Gap
		if (a.Distance < 0) != (gap <= 0) {
			return 0, fmt.Errorf("pose %d: FCL says %v mm, the gauge %v mm", i, a.Distance, gap)
		}
		if a.Distance >= 0 {
			worst = max(worst, math.Abs(a.Distance-gap))
		}
	}
	return worst, nil
}
