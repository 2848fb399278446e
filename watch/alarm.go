package watch

import (
	"fmt"
	"slices"
	"time"
)

// alarms keeps what is wrong now, and tells everybody who listens. It is used under the watch's lock.
type alarms struct {
	now     func() time.Time
	last    int64
	active  []AlarmState
	recent  []Event
	hear    map[int]chan Event
	next    int
	records *[]Record
}

const keepEvents = 500

// raise begins an alarm, or carries on with one of the same key; only a beginning, or a higher level, is an event.
func (a *alarms) raise(key string, l Level, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	for i := range a.active {
		s := &a.active[i]
		if s.Key != key {
			continue
		}
		louder := s.Level != l && l == Alarm
		s.Text, s.Level = text, l
		if louder {
			s.Known = false
			a.tell(Event{Key: key, Level: l, Text: text})
		}
		return
	}
	a.active = append(a.active, AlarmState{Key: key, Level: l, Text: text, Since: a.now()})
	a.tell(Event{Key: key, Level: l, Text: text})
}

// over ends an alarm.
func (a *alarms) over(key string) { a.overBy(key, "") }

// overBy ends an alarm, and says what by where its own words would read as if the danger were past.
func (a *alarms) overBy(key, text string) {
	i := slices.IndexFunc(a.active, func(s AlarmState) bool { return s.Key == key })
	if i < 0 {
		return
	}
	if text == "" {
		text = a.active[i].Text
	}
	a.active = slices.Delete(a.active, i, i+1)
	a.tell(Event{Key: key, Level: Note, Text: text, Over: true})
}

// note tells something that is over as it happens.
func (a *alarms) note(key, format string, args ...any) {
	a.tell(Event{Key: key, Level: Note, Text: fmt.Sprintf(format, args...)})
}

func (a *alarms) tell(e Event) {
	a.last++
	e.ID, e.At = a.last, a.now()
	a.recent = append(a.recent, e)
	if n := len(a.recent) - keepEvents; n > 0 {
		a.recent = slices.Delete(a.recent, 0, n)
	}
	*a.records = append(*a.records, Record{At: e.At, Kind: KindEvent, Event: &e})
	for _, ch := range a.hear {
		select {
		case ch <- e:
		default: // who does not listen finds it in Events, by the gap in the IDs
		}
	}
}

// Events returns the events after an ID, the last 500 at most.
func (w *Watch) Events(after int64) []Event {
	w.mu.Lock()
	defer w.mu.Unlock()
	i := slices.IndexFunc(w.alarms.recent, func(e Event) bool { return e.ID > after })
	if i < 0 {
		return nil
	}
	return slices.Clone(w.alarms.recent[i:])
}

// Subscribe sends every event from now on. Who reads too slowly misses some: the IDs show it, and Events has them.
func (w *Watch) Subscribe() (events <-chan Event, end func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	id, ch := w.alarms.next, make(chan Event, 64)
	w.alarms.next++
	w.alarms.hear[id] = ch
	return ch, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.alarms.hear, id)
	}
}

// Acknowledge says that the owner has heard an alarm. It is shown until it is over.
func (w *Watch) Acknowledge(key string) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i := range w.alarms.active {
		if w.alarms.active[i].Key == key {
			w.alarms.active[i].Known = true
			w.alarms.note("acknowledge", "acknowledged: %s", w.alarms.active[i].Text)
			return nil
		}
	}
	return fmt.Errorf("there is no alarm %q", key)
}

// Tell tells an event of another part of the program.
func (w *Watch) Tell(key string, l Level, text string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.alarms.tell(Event{Key: key, Level: l, Text: text})
}
