package watch

import (
	"sync"
	"testing"
	"time"
)

// beside is a virtual clock beside which things really run.
type beside struct {
	*Virtual
	all *sync.WaitGroup
}

func (b beside) Go(f func()) { b.all.Go(f) }

// A disk that does not answer keeps the watch from nothing but knowing whether the document is still the same, and that it says.
func TestDiskDoesNotAnswer(t *testing.T) {
	answer, all := make(chan struct{}), &sync.WaitGroup{}
	b := ready(t, deg(60, 45), func(o *Options, y *toy) {
		o.Clock = beside{y.clk, all}
		print, n := o.Fingerprint, 0
		o.Fingerprint = func() (string, error) {
			if n++; n > 2 { // the first two are before the loop's first round, and in it
				<-answer
			}
			return print()
		}
	})
	before := b.w.Status().Counts
	b.until(lookEvery+5*time.Second, func() bool { return false })
	if s := b.w.Status(); s.Counts.Readings <= before.Readings || seen(b, BlindFingerprint) || !b.tracking {
		t.Errorf("%d looks, blind %v", s.Counts.Readings-before.Readings, s.BlindWhy)
	}
	b.until(lookEvery, func() bool { return false })
	if !seen(b, BlindFingerprint) || b.tracking {
		t.Errorf("blind %v, tracking %v", b.w.Status().BlindWhy, b.tracking)
	}
	close(answer)
	all.Wait()
	b.steps(1)
	if seen(b, BlindFingerprint) {
		t.Errorf("blind %v", b.w.Status().BlindWhy)
	}
	all.Wait()
}
