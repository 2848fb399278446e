package room

import (
	"sync"

	"legroom/axes"
)

// memory keeps what is proven of bands and of slews, for questions that come again. It is safe for concurrent use.
type memory struct {
	travel axes.Travel // the widest that bands are asked for
	bands  sync.Map    // [2]float64, declination axis angles → func() []Interval: not free in travel
	slews  sync.Map    // [2]Rect, start and end → func() bool: free in every order left open
}

// recall returns what known holds for a key, worked out when it is asked for first. Work that panics does so for all who ask: there is
// no answer then, and none is made up.
func recall[T any](known *sync.Map, key any, work func() T) T {
	once, _ := known.LoadOrStore(key, sync.OnceValue(work))
	return once.(func() T)()
}

// Remember returns the same map for a stretch of work in which questions come again: it keeps what it proves of bands and slews for
// as long as it lives, and so do maps that Within makes of it.
func (m *Map) Remember() *Map {
	kept := *m
	kept.memory = &memory{travel: m.gauge.Model.Travel}
	return &kept
}

// notFreeKept is notFreeFine from memory, where the map has one.
func (m *Map) notFreeKept(from, to, decFrom, decTo float64) []Interval {
	k := m.memory
	if k == nil {
		return m.notFreeFine(from, to, decFrom, decTo)
	}
	all := recall(&k.bands, [2]float64{decFrom, decTo}, func() []Interval {
		return m.notFreeFine(k.travel.RAFrom, k.travel.RATo, decFrom, decTo)
	})
	return intersect(all, []Interval{{from, to}})
}
