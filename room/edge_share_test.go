package room

import (
	"fmt"
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// The room in percent is what plain sampling of the sky by brute force gives, less the edge cells.
func TestRoomAgainstSampling(t *testing.T) {
	rnd := seeded(t)
	for k, data := range [][]byte{{}, {0, 1, 12, 1}, {0, 2, 3, 1, 4, 1}, {0, 3, 1, 1, 2, 1}, {7, 2, 1, 2, 2, 2}, {0, 7, 12, 3, 8, 2}} {
		t.Run(fmt.Sprint(k), func(t *testing.T) {
			model := mutated(t, k, data)
			if model == nil {
				t.Skip("no rig")
			}
			g, err := NewGauge(model, Options{Mode: rig.None})
			if err != nil {
				t.Fatal(err)
			}
			m := mapOf(t, g, 0.5)
			l := limitsOf(t, m)
			j, sky, h := newJudge(model, g.MarginMM, g.Mode), newSky(model), &model.Head
			var up, west, east, either float64
			for up < 3000 {
				p := axes.Pose{HourAngle: (2*rnd.Float64() - 1) * math.Pi, Dec: math.Asin(2*rnd.Float64() - 1)}
				if !sky.isUp(p.HourAngle, p.Dec) {
					continue
				}
				up++
				free := func(side axes.Side) bool {
					p.Side = side
					a := h.Angles(p)
					if s, _ := j.slack(a); s < 0 {
						return false
					}
					for _, k := range []float64{-1, 0, 1} {
						if b := (axes.Angles{RA: a.RA + k*turn, Dec: a.Dec}); reaches(model.Travel, b) {
							return true
						}
					}
					return false
				}
				w, e := free(axes.West), free(axes.East)
				if w {
					west++
				}
				if e {
					east++
				}
				if w || e {
					either++
				}
			}
			t.Logf("sampled %.3f %.3f %.3f, map %+v", west/up, east/up, either/up, l.Room)
			for _, c := range []struct {
				what      string
				got, want float64
			}{{"west", l.Room.West, west / up}, {"east", l.Room.East, east / up}, {"either", l.Room.Either, either / up}} {
				if c.got > c.want+0.035 || c.got < c.want-0.08 {
					t.Errorf("%s %.3f, sampling gives %.3f", c.what, c.got, c.want)
				}
			}
		})
	}
}

// Where contact stands at counterweight-down itself no pair of numbers is safe, and none is called so.
func TestContactAtCounterweightDown(t *testing.T) {
	model := made(t, 40, tail())
	w := model.Head.TubeFrame(axes.Angles{Dec: axes.Rad(30)}).Apply(vec3(250, 0, -700))
	m := mapOf(t, gaugeFor(t, made(t, 40, tail(), ball("post", rig.Ground, 40, w.X, w.Y, w.Z))), 0.5)
	two := limitsOf(t, m).Two
	if two.Safe || len(two.Unprotected) == 0 {
		t.Errorf("contact in the middle, yet %+v", two)
	}
	if two.StrictWest != 0 || two.StrictEast != 0 {
		t.Errorf("the strict pair holds contact: %+v", two)
	}
	if mine := m.Mine(axes.Rad(5), axes.Rad(5), LimitOptions{}); mine.Safe {
		t.Errorf("mine: %+v", mine)
	}
	if mine := m.Mine(1e-6, 0, LimitOptions{}); mine.Safe {
		t.Errorf("a small pair around contact: %+v", mine)
	}
	if mine := m.Mine(0, 0, LimitOptions{}); mine.Safe {
		t.Errorf("no room at all, around contact: %+v", mine)
	}
}
