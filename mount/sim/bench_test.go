package sim

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// What the sim takes of a soak: one look of a night that tracks, and one flip with a look every quarter of a second.
func BenchmarkLink(b *testing.B) {
	doc := load(b, terrace)
	begin := func() (*Mount, *virtual, *Link) {
		v := &virtual{hand{at: evening}}
		m, _ := place(b, doc, 7, at(axes.West, -5, 20))
		m.now = v.Now
		return m, v, NewLink(m, v, 5*time.Millisecond)
	}
	look := func(l *Link) mount.Reading {
		r, err := l.Read(b.Context())
		if err != nil {
			b.Fatal(err)
		}
		return r
	}
	b.Run("look", func(b *testing.B) {
		_, v, l := begin()
		for b.Loop() {
			v.pass(time.Second)
			look(l)
		}
	})
	b.Run("flip", func(b *testing.B) {
		for b.Loop() {
			m, v, l := begin()
			if err := m.Slew(target(m, 1, 20), nil); err != nil {
				b.Fatal(err)
			}
			for {
				v.pass(250 * time.Millisecond)
				if look(l).Slewing == mount.No {
					break
				}
			}
		}
	})
	b.Run("draw", func(b *testing.B) {
		for b.Loop() {
			begin()
		}
	})
}
