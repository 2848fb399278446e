package sim

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// When the power comes back the mount has lost its place, and says that it is home: until it has been homed.
func TestRestart(t *testing.T) {
	eachLink(t, func(t *testing.T, r *rigged) {
		r.read(t)
		other, err := r.open()
		if err != nil {
			t.Fatal(err)
		}
		before := r.State()
		r.Restart(200 * time.Millisecond)
		if _, err := r.tel.Read(r.limit(t, 2*time.Second)); !errors.Is(err, mount.ErrNotConnected) {
			t.Errorf("without power: %v", err)
		}
		if err := r.tel.Connect(r.limit(t, 100*time.Millisecond)); err == nil {
			t.Error("connected without power")
		}
		r.pass(300 * time.Millisecond)
		if _, err := r.tel.Read(r.limit(t, 2*time.Second)); !errors.Is(err, mount.ErrNotConnected) {
			t.Errorf("before it is connected: %v", err)
		}
		if err := r.tel.Connect(r.limit(t, 5*time.Second)); err != nil {
			t.Fatal(err)
		}
		s, w := r.read(t), r.State()
		if d := axes.Deg(s.Place.Dec); math.Abs(d+90) > 0.01 {
			t.Errorf("it says declination %.2f°, not the pole's, at home", d)
		}
		if d := w.True.RA - before.True.RA; d < 0 || axes.Deg(d) > 0.05 || w.True.Dec != before.True.Dec || w.Restarts != 1 || !w.Tracking {
			t.Errorf("truly: %+v after %+v", w, before)
		}
		_ = other.Connect(r.limit(t, 5*time.Second))
		_, err = other.Read(r.limit(t, 5*time.Second))
		if errors.Is(err, mount.ErrNotConnected) { // it may hear of the restart late, and tells it once
			_, err = other.Read(r.limit(t, 5*time.Second))
		}
		if err != nil {
			t.Errorf("another client: %v", err)
		}
		r.CutPower()
		if _, err := r.tel.Read(r.limit(t, 2*time.Second)); !errors.Is(err, mount.ErrNotConnected) {
			t.Errorf("with the power cut: %v", err)
		}
		a := r.State()
		r.pass(100 * time.Millisecond)
		if b := r.State(); a.True != b.True || b.Power {
			t.Errorf("without power the axes went from %v to %v", a.True, b.True)
		}
	})
}

// Several clients see one mount, and each may command it.
func TestSeveralClients(t *testing.T) {
	eachLink(t, func(t *testing.T, r *rigged) {
		clients := []mount.Telescope{r.tel}
		for range 4 {
			c, err := r.open()
			if err != nil {
				t.Fatal(err)
			}
			clients = append(clients, c)
		}
		n := len(clients)
		if !r.network {
			for i, c := range clients {
				if err := c.SetTracking(context.Background(), i%2 == 0); err != nil {
					t.Error(err)
				}
				if s, err := clients[(i+1)%n].Read(context.Background()); err != nil || s.Tracking != mount.Say(i%2 == 0) {
					t.Errorf("client %d: %v, %v", (i+1)%n, s.Tracking, err)
				}
			}
			return
		}
		errs := make(chan error, n)
		for i, c := range clients {
			go func() {
				var all []error
				for k := range 10 {
					if i == 0 {
						all = append(all, c.SetTracking(r.limit(t, 5*time.Second), k%2 == 1))
					}
					_, err := c.Read(r.limit(t, 5*time.Second))
					all = append(all, err)
				}
				errs <- errors.Join(all...)
			}()
		}
		for range clients {
			if err := <-errs; err != nil {
				t.Error(err)
			}
		}
		for _, c := range clients {
			if s, err := c.Read(r.limit(t, 5*time.Second)); err != nil || s.Tracking != mount.Yes {
				t.Errorf("%+v, %v", s, err)
			}
		}
	})
}
