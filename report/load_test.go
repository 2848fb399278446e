package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/load"
)

// madeUpLoad is a load with every kind of answer: known and not, enough and not.
func madeUpLoad(t *testing.T) load.Answer {
	at := func(ra, dec float64) axes.Angles { return axes.Angles{RA: axes.Rad(ra), Dec: axes.Rad(dec)} }
	edge := func(value, height float64) load.Edge {
		return load.Edge{Value: value, Bound: value * 0.97, At: at(-40, 60), Over: "leg 3 – leg 2", TowardsDeg: 180, HeightMM: height}
	}
	return load.Answer{
		Load: &load.Load{Model: madeUp(t), Missing: []string{"tripod", "plug and cable bend"}}, DecFrom: axes.Rad(-30), DecTo: axes.Rad(90),
		Balance: load.Balance{
			Missing: []string{"plug and cable bend"},
			Dec:     load.DecBalance{MassKg: 20.7, AlongMM: 12.34, AsideMM: 11.8, MomentNm: 3.456, SlideMM: -14.2, DovetailMM: -12.8, AsideKgMM: 243.75, LeftNm: 2.39},
			RA: load.RABalance{MassKg: 50.7, TowardsSaddleMM: 31.4, MomentNm: 12.3371, ShiftMM: 57.5, LackKg: 1.317, LeftNm: 4.98,
				Weights: []load.WeightPlace{{Name: "counterweight 1", MassKg: 8, NowMM: 285, AtMM: 342.5, LeastMM: 137.5, GreatestMM: 417.5}}},
		},
		Tipping: &load.Tipping{MassKg: 57.6, Distance: edge(283.2, 0), Moment: edge(159.9, 0), Push: edge(72.6, 2211), Wind: edge(19.8, 1290)},
		Asked:   load.Wanted{PushN: 80, WindMS: 15}, Remedy: load.Remedy{BallastKg: 8.44, SpreadMM: 94.1},
		Bends: load.Wanted{PushN: 10, WindMS: 4},
		Bending: []load.Bending{
			{Name: "column", Unknown: "wall_mm"},
			{Name: "pier extension", CarriesKg: 46.9, Push: load.Tilt{TiltRad: 3e-6, BoundRad: 3e-6, DeflectionMM: 0.00031}, Wind: load.Tilt{TiltRad: 1.5e-6, BoundRad: 1.6e-6},
				Frequency: load.Frequency{Value: 58.7, Bound: 57.5}},
		},
		Cables: []load.Cable{
			{Name: "power and data", LengthMM: 2190, Reach: load.Reach{At: at(35, 100), ValueMM: 2214, BoundMM: 2214.8}, Least: load.Reach{ValueMM: 2034}, TiedMM: 2260, SlackMM: -24.8, TiedSlackMM: -70,
				Spans: []load.Span{{From: "camera", To: "saddle", Longest: load.Reach{BoundMM: 710}, LeastMM: 710},
					{From: "saddle", To: "tray", Longest: load.Reach{BoundMM: 1550}, LeastMM: 1368, LoopMM: 182, HangsMM: 775, ByRA: true,
						Left: &load.Loop{LengthMM: 1550, Below: load.Reach{At: at(35, 100), ValueMM: 88, BoundMM: 89}, Parts: []load.Near{
							{Part: "leg 2", Touch: load.MayTouch, Gap: load.Reach{At: at(35, 100)}},
							{Part: "counterweight 1", Touch: load.Clear, Gap: load.Reach{At: at(-40, 60), ValueMM: 27.8, BoundMM: 24.6}},
							{Part: "camera", Touch: load.NoReach, Gap: load.Reach{At: at(-40, 60), ValueMM: 104, BoundMM: 99}}}},
						Loose: &load.Loop{LengthMM: 1645, Below: load.Reach{At: at(35, 100), ValueMM: 138, BoundMM: 139}, Parts: []load.Near{
							{Part: "leg 2", Touch: load.MayTouch, Gap: load.Reach{At: at(35, 100)}},
							{Part: "counterweight 1", Touch: load.MayTouch, Gap: load.Reach{At: at(-40, 60)}},
							{Part: "camera", Touch: load.NoReach, Gap: load.Reach{At: at(-40, 60), ValueMM: 14, BoundMM: 9}}}}}},
				Tie: &load.Suggestion{Part: "polar housing", AtMM: r3.Vec{X: 60, Z: -95}, After: "saddle", LoopMM: 61, WasMM: 182, TiedMM: 2311}},
		},
		Poses: []axes.Angles{at(-40, 60)}, Slacks: [][]float64{{120.5}},
		Stands: []load.Stand{{Centre: r3.Vec{X: 1, Y: -30.5, Z: 900}, Distance: edge(283.2, 0), Push: edge(72.6, 2211), Wind: edge(19.8, 1290)}},
	}
}

func TestLoadAsText(t *testing.T) {
	basis := Basis{Fingerprint: "0123-4567-89ab", MarginMM: 30, Mode: "rss", ToleranceMM: 12}
	all := madeUpLoad(t)
	weighed := all
	weighed.Load, weighed.Balance.Missing = &load.Load{Model: all.Load.Model}, nil
	good := all
	good.Load = &load.Load{Model: all.Load.Model}
	good.DecFrom, good.DecTo = axes.Rad(-90), axes.Rad(90)
	good.Balance.Missing, good.Balance.RA.Weights = nil, nil
	good.Tipping, good.Remedy, good.Cables = &load.Tipping{Anchored: true}, load.Remedy{}, nil
	bare := good // which was asked for something, too
	bare.Tipping, bare.Bending, bare.Stands = nil, nil, nil
	bare.Balance.Dec = load.DecBalance{SlideMM: math.NaN(), DovetailMM: math.NaN()}
	for name, r := range map[string]load.Answer{"load.txt": weighed, "load_missing.txt": all, "load_anchored.txt": good, "load_bare.txt": bare} {
		var b bytes.Buffer
		doc := Load(basis, r)
		if err := WriteLoad(&b, doc); err != nil {
			t.Fatal(err)
		}
		if want := name == "load_anchored.txt"; doc.StandsAsAsked != want {
			t.Errorf("%s: stands as asked: %v", name, doc.StandsAsAsked)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
}

// A figure that depends on a mass which the document does not give is no number, whoever reads it.
func TestMissingMassGivesNoFigure(t *testing.T) {
	r := madeUpLoad(t)
	r.Bending[1].Missing = []string{"plug and cable bend"}
	for _, support := range []bool{false, true} {
		if support { // the support's mass alone is missing: balance is known, what tips it is not
			r.Load = &load.Load{Model: r.Load.Model, Missing: []string{"tripod"}}
			r.Balance.Missing = nil
		}
		nothing := r
		nothing.Asked = load.Wanted{}
		if Load(Basis{}, nothing).StandsAsAsked {
			t.Errorf("support %v: with nothing asked it is said to stand, and a mass is missing", support)
		}
		d := Load(Basis{}, r)
		if b := d.Balance; (b.Declination != nil) != support || (b.RA != nil) != support {
			t.Errorf("support %v: balance %+v", support, b)
		}
		if x := d.Tipping; x.Distance != nil || x.Moment != nil || x.Push != nil || x.Wind != nil || x.Remedy != nil || !x.AskedUnknown || d.StandsAsAsked {
			t.Errorf("support %v: tipping %+v", support, x)
		}
		if p := d.ByPose[0]; p.CentreMM != nil || p.DistanceMM != nil || p.PushN != nil || p.WindMS != nil || len(p.SlackMM) == 0 {
			t.Errorf("support %v: %+v", support, p)
		}
		if f := d.Bending[1]; f.FrequencyHz != nil || f.ProvenHz != nil || f.PushTilt == nil {
			t.Errorf("support %v: %+v", support, f)
		}
		var text bytes.Buffer
		if err := WriteLoad(&text, d); err != nil {
			t.Fatal(err)
		}
		if s := strings.Join(strings.Fields(text.String()), " "); !strings.Contains(s, "TIPPING NOT KNOWN: without the mass of") || !strings.Contains(s, "`anchored: yes`") || strings.Contains(s, "tips it") || strings.Contains(s, "Hz or more") {
			t.Errorf("support %v:\n%s", support, s)
		}
	}
}

func TestLoadAsCSV(t *testing.T) {
	r := madeUpLoad(t)
	var b bytes.Buffer
	r.Load = &load.Load{Model: r.Load.Model}
	if err := WriteLoadCSV(&b, Load(Basis{}, r)); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 2 || len(rows[0]) != len(rows[1]) {
		t.Fatalf("%v %v", rows, err)
	}
	if got := strings.Join(rows[1][3:], " "); got != "-40 60 1 -30.5 900 283.2 72.6 19.8 120.5" || rows[0][11] != "slack_mm power and data" {
		t.Errorf("%v", rows)
	}
	r.Stands, r.Tipping = nil, nil
	if d := Load(Basis{}, r); d.ByPose[0].CentreMM != nil || d.Tipping != nil {
		t.Errorf("no mass, and yet %+v", d.ByPose[0])
	}
}
