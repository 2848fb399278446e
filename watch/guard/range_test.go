package guard

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"legroom/mount"
	"legroom/mount/alpaca"
)

// Arguments beyond the standard's ranges are answered with its "invalid value", and none comes to the mount: neither raw, nor by way of a
// target that the mount keeps.
func TestRanges(t *testing.T) {
	b := newBench(t, deg(60, 45), Options{}, nil)
	k := &came{Device: b.real}
	b.over(k)
	at := b.place(deg(60, 45))
	ra, dec := at["RightAscension"].(float64), at["Declination"].(float64)
	level := b.level(deg(60, 45))
	alt, az := level["Altitude"].(float64), level["Azimuth"].(float64)
	equatorial := func(ra, dec float64) alpaca.Args { return alpaca.Args{"RightAscension": ra, "Declination": dec} }
	var cs []alpaca.Call
	for _, member := range []string{"slewtocoordinates", "slewtocoordinatesasync", "synctocoordinates"} {
		for _, args := range []alpaca.Args{equatorial(ra+24, dec), equatorial(ra-24.1, dec), equatorial(ra+240, dec), equatorial(ra, 180-dec), equatorial(ra, -90.1)} {
			cs = append(cs, alpaca.Put(member, args))
		}
	}
	for _, member := range []string{"slewtoaltaz", "slewtoaltazasync", "synctoaltaz"} {
		for _, args := range []alpaca.Args{{"Altitude": alt, "Azimuth": az + 720}, {"Altitude": alt, "Azimuth": az - 360}, {"Altitude": 180 - alt, "Azimuth": az}} {
			cs = append(cs, alpaca.Put(member, args))
		}
	}
	for name, xs := range map[string][]any{
		"TargetRightAscension": {24.1, -0.1}, "TargetDeclination": {90.1, -91.0}, "SiteLatitude": {90.5}, "SiteLongitude": {-180.5, 359.0},
		"SiteElevation": {-301.0, 10001.0}, "TrackingRate": {-1, 4}, "SlewSettleTime": {-1, 2147483647}, "SideOfPier": {-1, 2},
	} {
		for _, x := range xs {
			cs = append(cs, alpaca.Put(map[string]string{"TargetRightAscension": "targetrightascension", "TargetDeclination": "targetdeclination",
				"SiteLatitude": "sitelatitude", "SiteLongitude": "sitelongitude", "SiteElevation": "siteelevation", "TrackingRate": "trackingrate",
				"SlewSettleTime": "slewsettletime", "SideOfPier": "sideofpier"}[name], alpaca.Args{name: x}))
		}
	}
	cs = append(cs, alpaca.Put("moveaxis", alpaca.Args{"Axis": 3, "Rate": 0.1}), alpaca.Put("moveaxis", alpaca.Args{"Axis": -1, "Rate": 0.1}),
		alpaca.Put("pulseguide", alpaca.Args{"Direction": 4, "Duration": 10}), alpaca.Put("pulseguide", alpaca.Args{"Direction": 0, "Duration": -1}),
		alpaca.Put("pulseguide", alpaca.Args{"Direction": 0, "Duration": 10001}),
		alpaca.Call{Member: "destinationsideofpier", Args: equatorial(ra+24, dec)})
	refused := func(c alpaca.Call) {
		t.Helper()
		_, err := b.tel.Call(t.Context(), c)
		var no *mount.Refused
		if !errors.Is(err, mount.ErrValue) || !errors.As(err, &no) || no.Number != 0x401 {
			t.Errorf("%s %v: %v", c.Member, c.Args, err)
		}
	}
	for _, c := range cs {
		refused(c)
	}
	b.over(strangeTarget{k})
	for _, member := range []string{"slewtotarget", "slewtotargetasync", "synctotarget"} {
		refused(alpaca.Put(member, nil))
	}
	if len(k.puts) > 0 {
		t.Errorf("came to the mount: %v", k.puts)
	}
	for _, h := range []float64{0, 24} {
		if err := inRange(alpaca.Put("targetrightascension", alpaca.Args{"TargetRightAscension": h})); err != nil {
			t.Error(err)
		}
	}
	if s := fmt.Sprint(inRange(alpaca.Put("slewtocoordinates", equatorial(28.7, 0)))); s != "value out of range: RightAscension 28.7 h, give 0 to 24 h" {
		t.Error(s)
	}
}

// strangeTarget is a mount that took a target of more than a turn.
type strangeTarget struct{ alpaca.Device }

func (s strangeTarget) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if v, ok := map[string]float64{"targetrightascension": 28.7, "targetdeclination": 40}[c.Member]; ok && !c.Put {
		return v, nil
	}
	return s.Device.Call(ctx, c)
}
