package guard

import (
	"context"
	"errors"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/sky"
	"legroom/watch"
)

// pier is the standard's sideofpier: 1 for side west, 0 for east, −1 when it is not known.
func pier(side axes.Side, known bool) int {
	switch {
	case !known:
		return -1
	case side == axes.West:
		return 1
	}
	return 0
}

// side is the side that the watch goes by now.
func (t *Telescope) side(s *watch.Status) (axes.Side, bool) {
	sample := t.fresh(s)
	if sample == nil {
		return 0, false
	}
	side, err := axes.ParseSide(sample.Side)
	return side, err == nil
}

// sideOfPier answers with the watch's side. Where the watch has none, the mount's own is worth nothing either; its errors are told.
func (t *Telescope) sideOfPier(ctx context.Context, c alpaca.Call) (any, error) {
	s := t.w.Status()
	if side, known := t.side(&s); known {
		return pier(side, true), nil
	}
	if _, err := t.pass(ctx, c); err != nil {
		return nil, err
	}
	return pier(0, false), nil
}

// destination answers on which side a slew would end, by the mount and by the rig document; −1 when they disagree: such a slew
// is not let through.
func (t *Telescope) destination(ctx context.Context, c alpaca.Call) (any, error) {
	sides := t.w.Sides(t.place(c))
	v, err := t.pass(ctx, c)
	if len(sides) != 1 {
		return v, err
	}
	switch mine := pier(sides[0], true); {
	case errors.Is(err, mount.ErrLacks), err == nil && v == -1:
		return mine, nil
	case err == nil && v != mine:
		return -1, nil
	}
	return v, err
}

// endSide says on which side the watch has to prove a slew: nil for every side that the rig document leaves open. Only where
// the document says that the mount goes to the side that it is told is the mount's own word for this slew enough.
func (t *Telescope) endSide(ctx context.Context, c alpaca.Call, to sky.Equatorial) (*axes.Side, error) {
	v, err := t.pass(ctx, alpaca.Call{Member: "destinationsideofpier",
		Args: alpaca.Args{"RightAscension": c.Float("RightAscension"), "Declination": c.Float("Declination")}})
	if errors.Is(err, mount.ErrLink) || errors.Is(err, mount.ErrNotConnected) {
		return nil, err
	}
	if err != nil || v != 0 && v != 1 {
		return nil, nil
	}
	told := axes.East
	if v == 1 {
		told = axes.West
	}
	sides := t.w.Sides(to)
	switch {
	case len(sides) == 1 && sides[0] != told:
		return nil, t.refuse("the mount says that the slew ends on side %v, the rig document (mount.own_rules) that it ends on side %v: "+
			"correct the document, or set the mount to what it says", told, sides[0])
	case len(sides) == 2 && t.own.Rules.SideChoice == "as_told":
		return &told, nil
	}
	return nil, nil
}

// equinox is what the mount's coordinates refer to.
func (t *Telescope) equinox() mount.Equinox {
	if q := t.w.Status().Desc.Equinox; q != mount.UnknownEquinox {
		return q
	}
	return t.o.Equinox
}

// place is the place of date in a call.
func (t *Telescope) place(c alpaca.Call) sky.Equatorial {
	return t.equinox().ToDate(axes.FromHours(c.Float("RightAscension")), axes.Rad(c.Float("Declination")), time.Now())
}
