package alpaca

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"legroom/mount"
)

// identity is who answers at the telescope's address: by its host's list of devices, in which a device's UniqueID stays the same for
// ever, or by the name that it says itself where there is no list.
type identity struct{ id, name string }

// same makes sure that who answers is the device that was opened, where a connection has been made since that was last asked: another
// device may have come to stand behind the same number meanwhile. The first time it notes who that is.
func (t *Telescope) same(ctx context.Context) error {
	dials := t.device.host.dials.Load()
	t.mu.Lock()
	first, known := t.identity, t.identified
	asked := known && t.dials == dials
	t.mu.Unlock()
	if asked {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, 2*t.device.host.Deadline)
	defer cancel()
	now, moved, err := t.who(ctx, first, known)
	switch {
	case err != nil:
		return err
	case known && now.id != first.id, known && first.id == "" && now.name != first.name:
		return fmt.Errorf("%w: number %d is another device now: %s, and it was %s%s; begin the watch anew if that is right",
			mount.ErrAnswer, t.device.number, now, first, moved)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if !known {
		t.identity, t.identified = now, true
	}
	t.dials = dials
	return nil
}

// who asks for the identity that there is: the first time of either kind, later on of the one that was found then. moved tells where
// the first device has gone.
func (t *Telescope) who(ctx context.Context, first identity, known bool) (now identity, moved string, err error) {
	if !known || first.id != "" {
		devices, err := t.device.host.Devices(ctx)
		if err != nil && (known || ctx.Err() != nil) {
			return identity{}, "", err
		}
		if err != nil {
			t.note("configureddevices", err.Error())
		}
		scopes := slices.DeleteFunc(devices, func(d Listed) bool { return !strings.EqualFold(d.DeviceType, t.device.deviceType) })
		for _, d := range scopes {
			switch {
			case d.DeviceNumber == t.device.number:
				now = identity{d.UniqueID, d.DeviceName}
			case known && d.UniqueID == first.id:
				moved = fmt.Sprintf(", which is number %d now", d.DeviceNumber)
			}
		}
		if known || now.id != "" {
			return now, moved, nil
		}
	}
	v, err := t.call(ctx, Get("name"))
	if err == nil {
		now.name = v.(string)
	} else if known && first.name != "" || fatal(err) {
		return identity{}, "", err
	}
	return now, "", nil
}

func (i identity) String() string {
	if i == (identity{}) {
		return "none of the server's list"
	}
	if i.id == "" {
		return fmt.Sprintf("%q", clipped(i.name))
	}
	return fmt.Sprintf("%q (UniqueID %s)", clipped(i.name), clipped(i.id))
}
