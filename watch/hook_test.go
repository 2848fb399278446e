package watch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestCommandHook(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("sh"); err != nil {
		t.Skip("no shell here")
	}
	out := filepath.Join(t.TempDir(), "out")
	h, err := CommandHook([]string{"sh", "-c", `cat > "$0"; echo "$LEGROOM_RUNG $LEGROOM_GAP_MM" >> "$0"`, out}, true)
	if err != nil || !h.CutsPower {
		t.Fatal(err)
	}
	gap := 31.25
	if err := h.Do(t.Context(), Call{Rung: Hooked, Why: "a; b $(c)", GapMM: &gap}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	var c Call
	if err := json.NewDecoder(bytes.NewReader(data)).Decode(&c); err != nil || c.Why != "a; b $(c)" {
		t.Errorf("%v %+v", err, c)
	}
	if tail := string(data[len(data)-12:]); tail != "hooked 31.2\n" {
		t.Errorf("%q", tail)
	}
	bad, _ := CommandHook([]string{"sh", "-c", "echo broken >&2; exit 3"}, false)
	if err := bad.Do(t.Context(), Call{}); err == nil || err.Error() != "exit status 3: broken" {
		t.Errorf("%v", err)
	}
	// One that hangs, and leaves a child behind, is ended by its deadline.
	hang, _ := CommandHook([]string{"sh", "-c", "sleep 5 & sleep 5"}, false)
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	if err := hang.Do(ctx, Call{}); err == nil {
		t.Error("a hook that hangs came to an end")
	}
	for _, argv := range [][]string{nil, {""}, {"no-such-program-here"}} {
		if _, err := CommandHook(argv, false); err == nil {
			t.Errorf("%q: no error", argv)
		}
	}
}

func TestWebHook(t *testing.T) {
	var got Call
	answer := http.StatusNoContent
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || json.NewDecoder(r.Body).Decode(&got) != nil {
			answer = http.StatusBadRequest
		}
		if answer == http.StatusFound {
			w.Header().Set("Location", "/elsewhere")
		}
		w.WriteHeader(answer)
	}))
	defer s.Close()
	h, err := WebHook(s.URL+"/off", false)
	if err != nil {
		t.Fatal(err)
	}
	if err := h.Do(t.Context(), Call{Rung: Hooked}); err != nil || got.Rung != Hooked {
		t.Errorf("%v %+v", err, got)
	}
	for _, code := range []int{http.StatusFound, http.StatusInternalServerError} {
		answer = code
		if err := h.Do(t.Context(), Call{}); err == nil {
			t.Errorf("%d counts as done", code)
		}
	}
	s.Close() // its address may hold a secret, which no error repeats
	if err := h.Do(t.Context(), Call{}); err == nil || strings.Contains(h.Name+err.Error(), "off") {
		t.Errorf("%q without a server: %v", h.Name, err)
	}
	for _, a := range []string{"", "127.0.0.1:80", "ftp://127.0.0.1/"} {
		if _, err := WebHook(a, false); err == nil {
			t.Errorf("%q: no error", a)
		}
	}
}

// A relay that must be fed is fed while the mount obeys, and starves when it does not.
func TestFeed(t *testing.T) {
	fed := 0
	b := atLimit(t, func(o *Options, y *toy) {
		o.Feed = &Hook{Name: "relay", Do: func(context.Context, Call) error { fed++; return nil }}
		y.ignoreStops = true
	})
	fed = 0
	b.steps(60)
	if fed < 11 || fed > 13 {
		t.Errorf("fed %d times in a minute, every 5 s", fed)
	}
	b.until(time.Hour, func() bool { return b.w.Status().Rung == Hooked })
	fed = 0
	b.steps(100)
	if fed > 0 {
		t.Errorf("fed %d times though the mount does not obey", fed)
	}
}

// A journal that cannot be written is an alarm, and the loop goes on.
func TestJournalFails(t *testing.T) {
	full := errors.New("no space left")
	b := ready(t, deg(60, 45), nil)
	b.w.o.Record = func([]Record) error { return full }
	b.steps(5)
	s := b.w.Status()
	if s.Counts.JournalFails != 5 || s.Rung != Watching || len(s.Alarms) != 1 || s.Alarms[0].Key != "journal" {
		t.Errorf("%+v %+v", s.Counts, s.Alarms)
	}
	if err := b.w.Acknowledge("journal"); err != nil {
		t.Fatal(err)
	}
	b.steps(1)
	if a := b.w.Status().Alarms; len(a) != 1 || !a[0].Known {
		t.Errorf("an acknowledged alarm is still shown: %+v", a)
	}
	b.w.o.Record = func([]Record) error { return nil }
	b.steps(2)
	if a := b.w.Status().Alarms; len(a) != 0 || b.w.Acknowledge("journal") == nil {
		t.Errorf("%+v", a)
	}
}

func TestEvents(t *testing.T) {
	b := ready(t, deg(60, 45), nil)
	ch, end := b.w.Subscribe()
	last := b.w.Events(0)
	b.w.Stop()
	b.steps(2)
	e := <-ch
	if e.Key != "stop" || e.ID != last[len(last)-1].ID+1 {
		t.Errorf("%+v after %+v", e, last[len(last)-1])
	}
	after := b.w.Events(last[len(last)-1].ID)
	if len(after) < 2 || after[0].ID != e.ID {
		t.Errorf("%+v", after)
	}
	end()
	// The journal has every event, in order.
	var ids []int64
	for _, r := range b.records {
		if r.Kind == KindEvent {
			ids = append(ids, r.Event.ID)
		}
	}
	for i, id := range ids {
		if id != int64(i+1) {
			t.Fatalf("events in the journal: %v", ids)
		}
	}
}
