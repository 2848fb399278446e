package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"image/png"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/sky"
)

// madeUpSeason has a target of every kind: some cost, none, no room, never up, and names that are too long.
func madeUpSeason(months int) *night.Season {
	s := &night.Season{West: axes.Rad(95), East: axes.Rad(92),
		Options: night.Options{SunAltitude: sky.Astronomical, MinAltitude: axes.Rad(25), MoonApart: axes.Rad(60), MoonLit: 0.3, MinBlock: 20 * time.Minute}}
	for k := range months {
		first := time.Date(2026, time.November+time.Month(k), 1, 0, 0, 0, 0, time.UTC)
		s.Months = append(s.Months, night.Month{Year: first.Year(), Month: first.Month(), Nights: 30, Dark: 300 * time.Hour})
	}
	minutes := func(x float64) time.Duration { return time.Duration(x * float64(time.Minute)) }
	for i, name := range []string{"M 31", "M 42", "no room at all, and a name that is too long", "Far south"} {
		g := night.SeasonTarget{Target: sky.Target{Name: name, Place: sky.J2000{RA: axes.Rad(10.6847), Dec: axes.Rad(41.27 - 40*float64(i))}},
			DecFrom: axes.Rad(41.2 - 40*float64(i)), DecTo: axes.Rad(41.5 - 40*float64(i)), Rises: i < 3, Best: -1, Months: make([]night.Hours, months)}
		for k := range g.Months {
			h := &g.Months[k]
			if i == 3 || i == 1 && k%12 > 6 {
				continue
			}
			h.Sky, h.Nights = minutes(9000.7/(1+float64(k%12))), 28
			switch i {
			case 0:
				h.By = night.Limited{Hours: h.Sky - minutes(300.5), NoWay: minutes(20), Flip: minutes(40.25), Idle: minutes(200), NoRoom: minutes(40.25), Nights: 27}
				h.Two = night.Limited{Hours: h.Sky - minutes(400.5), Flip: minutes(60.25), Idle: minutes(200), NoRoom: minutes(140.25), Nights: 26}
			case 1:
				h.By, h.Two = night.Limited{Hours: h.Sky, Nights: 28}, night.Limited{Hours: h.Sky / 2, NoRoom: h.Sky - h.Sky/2, Nights: 20}
			case 2:
				h.By, h.Two = night.Limited{NoRoom: h.Sky}, night.Limited{NoRoom: h.Sky}
			}
			if g.Best < 0 && i < 2 {
				g.Best = k
			}
		}
		s.Targets = append(s.Targets, g)
	}
	s.Total.Months = make([]night.Hours, months)
	for i := range s.Targets {
		for k := range s.Targets[i].Months {
			s.Targets[i].All.Add(s.Targets[i].Months[k])
			s.Total.Months[k].Add(s.Targets[i].Months[k])
		}
		s.Total.All.Add(s.Targets[i].All)
	}
	return s
}

// The parts of a cost add up to it as they stand, and neither is less than it is.
func TestSeasonCostsAddUp(t *testing.T) {
	percent := 12.0
	const seed = 20261126
	r := rand.New(rand.NewPCG(seed, 0))
	for i := range 2000 {
		l := LimitedDoc{NoWayH: 2.65, FlipH: 5.72, IdleH: 115.93, NoRoomH: 0, CostPercent: &percent}
		if i > 0 {
			part := func() float64 { return nearest(max(0, r.Float64()*[]float64{0.2, 3, 400, 9000}[r.IntN(4)]-0.05)) }
			l.NoWayH, l.FlipH, l.IdleH, l.NoRoomH = part(), part(), part(), part()
		}
		l.CostH = nearest(l.NoWayH + l.FlipH + l.IdleH + l.NoRoomH)
		var cost float64
		if _, err := fmt.Sscanf(costWords(l), "%f h", &cost); err != nil {
			t.Fatalf("%q: %v", costWords(l), err)
		}
		parts, sum := costShares(l), 0.0
		for _, s := range parts {
			if s != "–" && s[0] != '<' {
				x, err := strconv.ParseFloat(s, 64)
				if err != nil {
					t.Fatal(err)
				}
				sum += x
			}
		}
		if math.Abs(sum-cost) > 1e-6 || cost < l.CostH-1e-4 || cost > l.CostH+1 || l.CostH < 1000 && cost > l.CostH+0.1 {
			t.Fatalf("seed %d: %+v costs %q, its parts are %v", seed, l, costWords(l), parts)
		}
	}
}

func TestSeasonDocument(t *testing.T) {
	d := Season(madeUpGauge(t), madeUpSeason(12))
	validate(t, "season", d)
	if d.From != "2026-11" || d.To != "2027-10" || d.Targets[2].BestMonth != nil || *d.Targets[0].BestMonth != "2026-11" {
		t.Errorf("%s to %s, best %v and %v", d.From, d.To, d.Targets[0].BestMonth, d.Targets[2].BestMonth)
	}
	for _, x := range d.Targets {
		for _, h := range append(x.ByMonth, x.All) {
			for _, l := range []LimitedDoc{h.By, h.Two} {
				if off := h.SkyH - l.Hours - l.NoWayH - l.FlipH - l.IdleH - l.NoRoomH; off < -1e-5 || off > 1e-5 {
					t.Errorf("%s: %+v is off from %v h of sky by %v h", x.Name, l, h.SkyH, off)
				}
				if (l.CostPercent == nil) != (h.SkyH == 0) {
					t.Errorf("%s: a cost of %v with %v h of sky", x.Name, l.CostPercent, h.SkyH)
				}
			}
		}
	}
}

func TestSeasonAsText(t *testing.T) {
	for _, months := range []int{1, 12, 24} {
		d := Season(madeUpGauge(t), madeUpSeason(months))
		d.Fingerprint = "made-up"
		d.EitherUnsure = months == 1
		var b bytes.Buffer
		if err := WriteSeason(&b, d); err != nil {
			t.Fatal(err)
		}
		fits(t, fmt.Sprint(months, " months"), b.String())
		if months == 12 {
			golden(t, "season.txt", b.Bytes())
		}
		for _, want := range []string{"PLANNED, NOT CONFIRMED", "west 95°, east 92°", "never up", "no room", "All targets"} {
			if !strings.Contains(strings.Join(strings.Fields(b.String()), " "), want) {
				t.Errorf("%d months: no %q in\n%s", months, want, b.String())
			}
		}
	}
	// As many hours as a season may have in all still fit.
	s := madeUpSeason(12)
	for range 9 {
		s.Total.All.Add(s.Total.All)
		for k := range s.Total.Months {
			s.Total.Months[k].Add(s.Total.Months[k])
		}
	}
	var b bytes.Buffer
	if err := WriteSeason(&b, Season(madeUpGauge(t), s)); err != nil {
		t.Fatal(err)
	}
	fits(t, "very many hours", b.String())
}

func TestSeasonAsCSV(t *testing.T) {
	d := Season(madeUpGauge(t), madeUpSeason(12))
	d.Targets[0].Name = "=1+1"
	var b bytes.Buffer
	if err := WriteSeasonCSV(&b, d); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1+4*13 || rows[1][0] != "'=1+1" || rows[1][2] != "2026-11" || rows[13][2] != "all" || rows[13][3] != "360" || rows[13][5] != csvNear(d.Targets[0].All.SkyH, csvOther) ||
		rows[13][7] != csvDown(d.Targets[0].All.By.Hours, csvOther) || rows[13][15] != csvDown(d.Targets[0].All.Two.Hours, csvOther) || rows[52][13] != "" {
		t.Errorf("%d rows:\n%v\n%v\n%v", len(rows), rows[0], rows[13], rows[52])
	}
}

// The picture says in words and figures what its bars show, and each of the three bars is drawn in another way.
func TestSeasonPicture(t *testing.T) {
	c := SeasonChart{Season(madeUpGauge(t), madeUpSeason(12))}
	var b bytes.Buffer
	if err := c.WriteSVG(&b); err != nil {
		t.Fatal(err)
	}
	texts := svgTexts(t, b.Bytes())
	for _, want := range []string{"planned, not confirmed", "Nov 2026", "Jan 2027", "300 h dark", "without the rig", "one RA axis limit a side for these targets alone, west 95°, east 92°", "not to be left in the mount", "best month", "never up", "no room",
		"\n150\n", "\n145\n", "\n143\n", "M 31: 465 h without the rig, 405 h with it, 385 h with the two numbers"} {
		if !strings.Contains(texts, want) {
			t.Errorf("no %q in %s", want, texts)
		}
	}
	var again bytes.Buffer
	if err := c.WriteSVG(&again); err != nil || !bytes.Equal(again.Bytes(), b.Bytes()) {
		t.Errorf("the same season gives another picture: %v", err)
	}
	b.Reset()
	if err := c.WritePNG(&b, 60); err != nil {
		t.Fatal(err)
	}
	if img, err := png.Decode(&b); err != nil || img.Bounds().Dx() < 600 {
		t.Errorf("%v, %v", img.Bounds(), err)
	}
	if err := c.WritePNG(&b, 1e6); err == nil {
		t.Error("a million dots per inch are accepted")
	}
	var one, two bytes.Buffer
	for _, w := range []*bytes.Buffer{&one, &two} {
		if err := c.WritePDF(w); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.HasPrefix(one.Bytes(), []byte("%PDF")) || !bytes.Equal(one.Bytes(), two.Bytes()) {
		t.Error("the same season gives another page")
	}
}
