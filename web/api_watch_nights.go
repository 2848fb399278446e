package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/rig"
	"legroom/watch"
	"legroom/watch/journal"
)

// nightSamples is how many samples of a night the page is given at most: one in 15 s of a long one.
const nightSamples = 3000

type eveningIn struct {
	Evening string `path:"evening" format:"date" doc:"the date that the night begins with"`
}

// journalRoutes read the journal's nights back.
func (s *server) journalRoutes(api huma.API) {
	huma.Get(api, "/api/watch/nights", func(ctx context.Context, _ *struct{}) (*body[NightsDoc], error) {
		d := NightsDoc{Kept: s.o.Journal != "", Nights: []journal.Night{}}
		err := s.onJournal(func(j *journal.Reader) error {
			_, site, err := sessions(ctx, j)
			if err != nil {
				return err
			}
			d.TimeZone = site.TimeZone
			nights, err := j.Nights(ctx, site.Evening)
			d.Nights = append(d.Nights, nights...)
			return err
		})
		if errors.Is(err, fs.ErrNotExist) {
			err = nil // nothing was watched yet
		}
		return &body[NightsDoc]{d}, s.wrong(err)
	}, named("watchNights", "The nights that the journal has"))
	huma.Get(api, "/api/watch/nights/{evening}", func(ctx context.Context, in *eveningIn) (*body[NightRecord], error) {
		var d NightRecord
		err := s.onJournal(func(j *journal.Reader) (err error) {
			d, err = readNight(ctx, j, in.Evening)
			return err
		})
		return &body[NightRecord]{d}, s.wrong(err)
	}, named("watchNight", "One night of the journal: what was decided, told and done, and the samples of the least room", http.StatusNotFound))
}

// onJournal opens the journal for one question.
func (s *server) onJournal(f func(*journal.Reader) error) error {
	if s.o.Journal == "" {
		return fs.ErrNotExist
	}
	j, err := journal.OpenReader(s.o.Journal)
	if err != nil {
		return err
	}
	return errors.Join(f(j), j.Close())
}

func sessions(ctx context.Context, j *journal.Reader) ([]journal.Session, rig.Site, error) {
	all, err := j.Sessions(ctx)
	return all, journal.SiteOf(all), err
}

// readNight reads one night. Damage ends what is given, and is said.
func readNight(ctx context.Context, j *journal.Reader, evening string) (NightRecord, error) {
	d := NightRecord{Evening: evening, Sessions: []journal.Session{}, Samples: []watch.Sample{}, Records: []watch.Record{}}
	all, site, err := sessions(ctx, j)
	if err != nil {
		return d, err
	}
	d.TimeZone = site.TimeZone
	nights, err := j.Nights(ctx, site.Evening)
	if err != nil {
		return d, err
	}
	var night *journal.Night
	for i := range nights {
		if nights[i].Evening == evening {
			night = &nights[i]
		}
	}
	if night == nil {
		return d, huma.Error404NotFound(fmt.Sprintf("the journal has no night of %s", evening))
	}
	d.From, d.To = night.From, night.To
	bin := night.To.Sub(night.From) / nightSamples
	used := map[int64]bool{}
	for row, err := range j.Night(ctx, *night, site.Evening) {
		if err != nil {
			d.Problem = err.Error()
			break
		}
		d.From, d.To = earlier(d.From, row.At), later(d.To, row.At)
		used[row.Session] = true
		if row.Sample == nil {
			d.Records = append(d.Records, row.Record)
			continue
		}
		d.Of++
		if row.Sample.Proven() == nil { // of a blind watch: no gap that it worked out is one
			*row.Sample = row.Sample.WithoutGaps()
		}
		if n := len(d.Samples); n > 0 && bin > 0 && d.Samples[n-1].Got.Truncate(bin).Equal(row.Sample.Got.Truncate(bin)) {
			if tighter(row.Sample, &d.Samples[n-1]) {
				d.Samples[n-1] = *row.Sample
			}
		} else {
			d.Samples = append(d.Samples, *row.Sample)
		}
	}
	for _, x := range all {
		if used[x.ID] {
			d.Sessions = append(d.Sessions, x)
		}
	}
	return d, nil
}

// tighter tells whether a has less room than b; one whose room is not known has none.
func tighter(a, b *watch.Sample) bool {
	return b.LowerMM != nil && (a.LowerMM == nil || *a.LowerMM < *b.LowerMM)
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// NightsDoc lists what the journal has.
type NightsDoc struct {
	Kept     bool            `json:"kept" doc:"whether there is a journal"`
	TimeZone string          `json:"time_zone" doc:"of the site that the journal's newest rig stands at"`
	Nights   []journal.Night `json:"nights" doc:"the earliest first"`
}

// NightRecord is one night of the journal.
type NightRecord struct {
	Evening  string            `json:"evening"`
	TimeZone string            `json:"time_zone"`
	From     time.Time         `json:"from"`
	To       time.Time         `json:"to"`
	Of       int               `json:"of" doc:"how many samples the journal has; of a stretch of them the one with the least room is given"`
	Sessions []journal.Session `json:"sessions" doc:"the watches of that night, and the rig documents that they went by"`
	Samples  []watch.Sample    `json:"samples"`
	Records  []watch.Record    `json:"records" doc:"everything but samples"`
	Problem  string            `json:"problem" doc:"why the record ends before the night does; empty when it does not"`
}
