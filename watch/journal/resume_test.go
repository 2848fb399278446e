package journal

import (
	"path/filepath"
	"testing"
	"time"

	"legroom/watch"
)

// A watch that begins again does not carry on from a sample after which the mount was gone: its power may have been off.
func TestLastSampleBeforeLoss(t *testing.T) {
	failed := func(after time.Duration, where, kind string) watch.Record {
		return watch.Record{At: evening.Add(after), Kind: watch.KindError, Error: &watch.Failure{Where: where, Kind: kind, Text: "x"}}
	}
	for name, c := range map[string]struct {
		then []watch.Record
		ok   bool
	}{
		"nothing":               {nil, true},
		"some answers lost":     {[]watch.Record{failed(time.Second, "read", "link"), failed(4*time.Second, "read", "link")}, true},
		"a stop that failed":    {[]watch.Record{failed(30*time.Second, "abort", "link")}, true},
		"no power":              {[]watch.Record{failed(time.Second, "read", watch.NotConnected)}, false},
		"no answer any more":    {[]watch.Record{failed(time.Second, "read", "link"), failed(12*time.Second, "read", "link")}, false},
		"no power, then a word": {[]watch.Record{failed(time.Second, "read", watch.NotConnected), record(5)}, false},
	} {
		path := filepath.Join(t.TempDir(), "night.db")
		j := Open(path, Options{Session: session})
		if err := j.Record(append(records(0, 1), c.then...)); err != nil {
			t.Fatal(err)
		}
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := r.LastSample(within(t), "toy", "abc")
		if err != nil || (s != nil) != c.ok {
			t.Errorf("%s: %+v %v", name, s, err)
		}
		r.Close()
	}
}
