package night

import (
	"math"
	"time"
)

// shape is what blocks of one target can be: how long n sub-exposures last, and what any block is worth in ticks.
type shape struct {
	sum  []int64 // sum[t] is the worth of minutes 0 … t−1, ticks
	sub  float64 // minutes
	all  lengths
	few  lengths // of the same minutes only the most sub-exposures and, with a cap, the least: one of them is best at any price
	most int     // in one block

	// What a block is worth is at most slope·(its minutes' worth) + flat, see pace.
	slope float64
	flat  int64
}

// length is one number of sub-exposures and how long they last.
type length struct {
	subs, minutes int32
	open          float64 // the share of the minutes that the shutter is open
}

// lengths are the lengths that blocks may have, by their sub-exposures.
type lengths struct {
	list  []length
	first []int32 // first[m] is the first that lasts m minutes or more
}

// newShape makes the shape of a target of which no stretch is longer than longest minutes.
func newShape(w wish, minutes, longest, minBlock int, greatest float64) shape {
	s := shape{sum: make([]int64, minutes+1), sub: w.sub.Minutes()}
	var top int64
	for t := range minutes {
		v := int64(0)
		if greatest > 0 {
			v = int64(math.Round(w.worth[t] / greatest * optTicks))
		}
		s.sum[t+1] = s.sum[t] + v
		top = max(top, v)
	}
	// n·sub + (n−1)·between ≤ L gives n·sub ≤ slope·(L + between): the worth of L minutes, no more than L·top, counts for at
	// most slope·(worth + between·top).
	cycle := w.sub + w.between
	s.slope = float64(w.sub) / float64(cycle)
	s.flat = int64(math.Ceil(s.slope * w.between.Minutes() * float64(top)))

	var all, few []length
	for n := 1; w.most < 0 || n <= w.most; n++ {
		m := int((time.Duration(n)*cycle - w.between + time.Minute - 1) / time.Minute)
		if m > longest {
			break
		}
		if m < minBlock {
			continue
		}
		s.most = n
		if w.most < 0 && len(all) > 0 && int(all[len(all)-1].minutes) == m {
			all = all[:len(all)-1]
		}
		open := float64(time.Duration(n)*w.sub) / float64(time.Duration(m)*time.Minute)
		all = append(all, length{subs: int32(n), minutes: int32(m), open: open})
	}
	for i, l := range all {
		if i == 0 || i == len(all)-1 || all[i-1].minutes != l.minutes || all[i+1].minutes != l.minutes {
			few = append(few, l)
		}
	}
	s.all, s.few = newLengths(all, longest), newLengths(few, longest)
	return s
}

func newLengths(list []length, longest int) lengths {
	s := lengths{list: list, first: make([]int32, longest+2)}
	i := 0
	for m := range s.first {
		for i < len(list) && int(list[i].minutes) < m {
			i++
		}
		s.first[m] = int32(i)
	}
	return s
}

// from is the index of the first that lasts m minutes or more.
func (s *lengths) from(m int) int {
	if m >= len(s.first) {
		return len(s.list)
	}
	return int(s.first[max(0, m)])
}

// shortest is how long the shortest lasts, of one or more.
func (s *lengths) shortest() int { return int(s.list[0].minutes) }

// longest is how long the longest lasts.
func (s *lengths) longest() int { return int(s.list[len(s.list)-1].minutes) }

// worth is the worth in ticks of a block that begins at minute t, its charge taken off.
func (s *shape) worth(t int, l *length) int64 {
	return int64(l.open*float64(s.sum[t+int(l.minutes)]-s.sum[t])) - optCharge
}

// value is the worth in ticks of a block of n sub-exposures in minutes from … to.
func (s *shape) value(from, to, n int) int64 {
	for i := s.all.from(to - from); i < len(s.all.list); i++ {
		if l := &s.all.list[i]; int(l.subs) == n {
			return s.worth(from, l)
		}
	}
	panic("night: a block of a length that its target does not have")
}
