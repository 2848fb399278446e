package alpaca

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"legroom/mount"
)

// maxNotes bounds what a hostile driver can make of Description.Notes.
const maxNotes = 64

// Describe implements mount.Telescope.
func (t *Telescope) Describe() mount.Description {
	t.mu.Lock()
	defer t.mu.Unlock()
	d := t.about
	d.Notes = slices.Clone(d.Notes)
	return d
}

// note adds a line to the description, once for each subject.
func (t *Telescope) note(subject, why string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.noted[subject] && len(t.noted) < maxNotes {
		t.noted[subject] = true
		t.about.Notes = append(t.about.Notes, subject+": "+why)
	}
}

// ask fills the description. A driver that leaves a question open gets a note; only a lost link or connection is an error.
func (t *Telescope) ask(ctx context.Context) error {
	a := asking{t: t, ctx: ctx}
	about := t.Describe()
	d := mount.Description{Protocol: about.Protocol, Address: about.Address}
	d.Name = a.text("name")
	d.Driver = a.text("driverinfo")
	d.Version = a.text("driverversion")
	d.Interface, _ = a.value(Get("interfaceversion")).(int)
	system, ok := a.value(Get("equatorialsystem")).(int)
	if ok {
		d.Equinox = equinoxOf(system)
	}
	d.Can = mount.Can{
		SetTracking: a.yes(Get("cansettracking")),
		Slew:        a.yes(Get("canslewasync")),
		Park:        a.yes(Get("canpark")),
		Unpark:      a.yes(Get("canunpark")),
		SetSide:     a.yes(Get("cansetpierside")),
		TellSide:    a.has("sideofpier", Get("sideofpier")),
	}
	for axis := range d.Can.MoveAxis {
		d.Can.MoveAxis[axis] = a.yes(Call{Member: "canmoveaxis", Args: Args{"Axis": axis}})
	}
	ra, raOK := a.value(Get("rightascension")).(float64)
	dec, decOK := a.value(Get("declination")).(float64)
	if raOK && decOK {
		place := Args{"RightAscension": ra, "Declination": dec}
		d.Can.TellSlewEnd = a.has("destinationsideofpier", Call{Member: "destinationsideofpier", Args: place})
	}
	if a.err != nil {
		return a.err
	}
	if ok && d.Equinox == mount.UnknownEquinox {
		t.note("equatorialsystem",
			fmt.Sprintf("%d is neither of date (1) nor J2000 (2): places are off by an unknown precession", system))
	}
	if !d.Can.SetTracking {
		t.note("cansettracking", "tracking cannot be switched: the mount cannot be stopped")
	}

	t.mu.Lock()
	defer t.mu.Unlock()
	d.Notes = t.about.Notes
	t.about, t.rest = d, nil
	return nil
}

func equinoxOf(equatorialSystem int) mount.Equinox {
	switch equatorialSystem {
	case 1:
		return mount.OfDate
	case 2:
		return mount.OfJ2000
	}
	return mount.UnknownEquinox
}

// asking is a row of questions that ends at the first one that the link did not carry.
type asking struct {
	t   *Telescope
	ctx context.Context
	err error
}

func (a *asking) value(c Call) any {
	v, err := a.try(c)
	if err != nil {
		a.t.note(c.Member, err.Error())
	}
	return v
}

func (a *asking) text(member string) string { s, _ := a.value(Get(member)).(string); return s }
func (a *asking) yes(c Call) bool           { return a.value(c) == true }

// has tells whether the driver has a member, even if it refuses to answer now.
func (a *asking) has(subject string, c Call) bool {
	_, err := a.try(c)
	if errors.Is(err, mount.ErrLacks) || errors.Is(err, mount.ErrAnswer) {
		a.t.note(subject, err.Error())
		return false
	}
	return a.err == nil
}

func (a *asking) try(c Call) (any, error) {
	if a.err != nil {
		return nil, a.err
	}
	v, err := a.t.call(a.ctx, c)
	if fatal(err) {
		a.err = err
	}
	return v, err
}

// fatal errors end a look: nothing more will come.
func fatal(err error) bool {
	return errors.Is(err, mount.ErrLink) || errors.Is(err, mount.ErrNotConnected)
}
