package sky

import (
	"testing"
	"time"

	"legroom/axes"
)

func benchSite() Site { return place(36.9, -3) }

func BenchmarkApparent(b *testing.B) {
	t := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for b.Loop() {
		J2000{RA: 1, Dec: 0.5}.Apparent(t)
	}
}

func BenchmarkSunAltitude(b *testing.B) {
	s, t := benchSite(), time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for b.Loop() {
		s.SunAltitude(t)
	}
}

func BenchmarkNight(b *testing.B) {
	s := benchSite()
	for b.Loop() {
		if _, err := NightOf(s, 2026, 3, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTrackWindows(b *testing.B) {
	s, t := benchSite(), time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	k := s.Track(t, Equatorial{1, 0.5})
	for b.Loop() {
		Windows(k.Above(axes.Rad(30)), t, t.Add(24*time.Hour))
	}
}

func BenchmarkMoonUp(b *testing.B) {
	n, err := NightOf(benchSite(), 2026, 3, 1)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		n.MoonUp()
	}
}

func BenchmarkMoonApart(b *testing.B) {
	s, t := benchSite(), time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	p := s.MoonPath(t, t.Add(24*time.Hour))
	e := p.At(t)
	for b.Loop() {
		Windows(p.Apart(e, axes.Rad(5)), t, t.Add(24*time.Hour))
	}
}
