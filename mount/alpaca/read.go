package alpaca

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// Read implements mount.Telescope. What changes from second to second is read in one call where the driver has one for that,
// else member by member. What hardly changes is read whole in the first look, then one of it a look, in turn. A
// look at another device than the one that was opened is none.
func (t *Telescope) Read(ctx context.Context) (mount.Reading, error) {
	r := mount.Reading{Asked: time.Now()}
	l := look{t: t, ctx: ctx}
	l.readState()

	ra, raOK := l.float("rightascension", 0, 24)
	dec, decOK := l.float("declination", -90, 90)
	if !(raOK && decOK) && l.err == nil {
		l.err = l.why
	}
	r.RA, r.Dec = axes.FromHours(ra), axes.Rad(dec)
	r.Side, r.SideSaid = l.side()
	r.Slewing = l.said("slewing")
	r.Tracking = l.said("tracking")
	var h float64
	h, r.SiderealSaid = l.float("siderealtime", 0, 24)
	r.Sidereal = axes.FromHours(h)
	r.UTC, r.UTCSaid = l.utc()
	r.Stamp, r.StampSaid = l.stamp()
	r.Parked = l.said("atpark")
	r.AtHome = l.said("athome")

	l.readRest()
	r.Equinox = l.equinox()
	r.RARate, r.DecRate, r.RatesSaid = l.rates()
	r.Lat, r.Lon, r.SiteSaid = l.site()
	if l.err != nil {
		return mount.Reading{}, l.err
	}
	r.Got = time.Now()
	if err := t.same(ctx); err != nil {
		return mount.Reading{}, err
	}
	r.Missing = l.missing
	r.Place = r.Equinox.ToDate(r.RA, r.Dec, r.Asked)
	for _, m := range l.missing {
		t.note(m.Member, m.Why)
	}
	return r, nil
}

// look is one Read under way.
type look struct {
	t       *Telescope
	ctx     context.Context
	state   map[string]json.RawMessage // from devicestate, by lower-case name
	missing []mount.Missing
	why     error // why the last missing one is
	err     error // a fatal error: nothing more is asked
}

func (l *look) miss(member string, err error) {
	l.why = fmt.Errorf("%s: %w", member, err)
	l.missing = append(l.missing, mount.Missing{Member: member, Why: err.Error()})
}

// ask asks for a member of the telescope.
func (l *look) ask(member string) (any, error) {
	if l.err != nil {
		return nil, l.err
	}
	v, err := l.t.call(l.ctx, Get(member))
	if fatal(err) || l.ctx.Err() != nil {
		l.err = err
	}
	return v, err
}

// readState asks for everything in one call, which interface version 4 brought. A driver that fails at it is read by members.
func (l *look) readState() {
	if l.t.Describe().Interface < 4 {
		return
	}
	v, err := l.ask("devicestate")
	if err == nil {
		l.state, err = stateOf(v.(json.RawMessage))
	}
	if err != nil && l.err == nil {
		l.t.note("devicestate", err.Error())
	}
}

// stateOf reads the value of devicestate: pairs of a member's name and its value. Members may be left out.
func stateOf(value json.RawMessage) (map[string]json.RawMessage, error) {
	items, err := list(value)
	if err != nil {
		return nil, err
	}
	state := map[string]json.RawMessage{}
	for _, item := range items {
		o, err := object(item)
		if err != nil {
			return nil, err
		}
		name, err := o.value("Name", Text)
		if err != nil {
			return nil, err
		}
		member := strings.ToLower(name.(string))
		if _, twice := state[member]; twice {
			return nil, fmt.Errorf("%s stands there twice", clipped(member))
		}
		if state[member], err = o.field("Value"); err != nil {
			return nil, err
		}
	}
	return state, nil
}

// value gives a member from the state, or asks for it.
func (l *look) value(member string) (any, bool) {
	var v any
	var err error
	if raw, ok := l.state[member]; ok {
		m, _ := MemberOf("telescope", member, false)
		v, err = m.Value.parse(raw)
	} else {
		v, err = l.ask(member)
	}
	if err != nil {
		l.miss(member, err)
		return nil, false
	}
	return v, true
}

func (l *look) said(member string) mount.Said {
	v, ok := l.value(member)
	if !ok {
		return mount.Unsaid
	}
	return mount.Say(v.(bool))
}

// float gives a number within a range.
func (l *look) float(member string, from, to float64) (float64, bool) {
	v, ok := l.value(member)
	if !ok {
		return 0, false
	}
	x, err := within(v.(float64), from, to)
	if err != nil {
		l.miss(member, err)
		return 0, false
	}
	return x, true
}

func within(x, from, to float64) (float64, error) {
	if !(x >= from && x <= to) {
		return 0, fmt.Errorf("%w: %g is not from %g to %g", mount.ErrAnswer, x, from, to)
	}
	return x, nil
}

func (l *look) side() (axes.Side, bool) {
	v, ok := l.value("sideofpier")
	if !ok {
		return 0, false
	}
	side, said, err := sideOf(v.(int))
	if err == nil && !said {
		err = errors.New("the mount says that it does not know")
	}
	if err != nil {
		l.miss("sideofpier", err)
		return 0, false
	}
	return side, true
}

// utc reads the mount's clock. A time without its Z may be any zone's.
func (l *look) utc() (time.Time, bool) {
	v, ok := l.value("utcdate")
	if !ok {
		return time.Time{}, false
	}
	text := v.(string)
	at, err := time.Parse(time.RFC3339, text) // takes fractions of a second too
	if err != nil || !strings.HasSuffix(text, "Z") {
		l.miss("utcdate", fmt.Errorf("%w: %q is no UTC time that ends in Z", mount.ErrAnswer, clipped(text)))
		return time.Time{}, false
	}
	return at, true
}

// stamp reads when the driver gathered its state, where it told the place in it. Some tell their own zone's time.
func (l *look) stamp() (time.Time, bool) {
	raw, ok := l.state["timestamp"]
	if _, place := l.state["rightascension"]; !ok || !place {
		return time.Time{}, false
	}
	v, err := Text.parse(raw)
	if err != nil {
		l.miss("timestamp", err)
		return time.Time{}, false
	}
	for _, form := range []string{time.RFC3339, "2006-01-02T15:04:05"} { // each takes fractions of a second too
		if at, err := time.Parse(form, v.(string)); err == nil {
			return at, true
		}
	}
	l.miss("timestamp", fmt.Errorf("%w: %q is no time", mount.ErrAnswer, clipped(v.(string))))
	return time.Time{}, false
}
