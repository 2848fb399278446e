package watch

import (
	"testing"
	"time"
)

// besideUntil is a virtual clock beside which things run until they are done, or hang.
type besideUntil struct {
	*Virtual
	hangs chan struct{}
}

func (b besideUntil) Go(f func()) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		f()
	}()
	select {
	case <-done:
	case <-b.hangs:
	}
}

// A disk that does not answer keeps the watch from nothing but knowing whether the document is still the same, and that it says.
func TestDiskDoesNotAnswer(t *testing.T) {
	answer, hangs, answered := make(chan struct{}), make(chan struct{}), make(chan struct{})
	b := ready(t, deg(60, 45), func(o *Options, y *toy) {
		o.Clock = besideUntil{y.clk, hangs}
		print, n := o.Fingerprint, 0
		o.Fingerprint = func() (string, error) {
			if n++; n == 3 { // the first two are before the loop's first round, and in it
				hangs <- struct{}{}
				<-answer
				defer close(answered)
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
	<-answered
	b.until(2*lookEvery, func() bool { return !seen(b, BlindFingerprint) })
	if seen(b, BlindFingerprint) {
		t.Errorf("blind %v", b.w.Status().BlindWhy)
	}
}
