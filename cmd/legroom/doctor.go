package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/shirou/gopsutil/v4/disk"
	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

func newDoctor() *cobra.Command {
	var e examination
	var f format
	c := &cobra.Command{
		Use:   "doctor [FOLDER]",
		Short: "What works on this machine: the page's port, the folder of rigs, the disk, the clock, the mount",
		Long: `Tries what Legroom needs on this machine and says of each whether it is good, bad, or worth a look: the page's
port, the folder of your rigs (this one when none is named) and the disk it is on, every rig in it, the clock, and
with --mount or --discover the mount, which is only asked and never moved. Exit code 1 when something is bad.`,
		Example: "  legroom doctor\n  legroom doctor rigs --discover\n  legroom doctor rigs --mount alpaca://127.0.0.1:7434/0",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fmt.Errorf("doctor: one folder at a time, but there are %d: %s", len(args), strings.Join(args, ", "))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if e.mount != "" && e.look {
				return errors.New("doctor: give --mount or --discover, not both")
			}
			e.folder = "."
			if len(args) > 0 {
				e.folder = args[0]
			}
			e.all(c)
			if err := c.Context().Err(); err != nil {
				return err
			}
			e.doc.OK = true
			for _, g := range e.doc.Findings {
				e.doc.OK = e.doc.OK && g.State != bad
			}
			var err error
			if f.name == "json" {
				err = report.Write(c.OutOrStdout(), e.doc)
			} else {
				err = report.WriteDoctor(c.OutOrStdout(), &e.doc)
			}
			if err != nil {
				return err
			}
			if !e.doc.OK {
				return errNo
			}
			return nil
		},
	}
	c.Flags().StringVar(&e.listen, "listen", "127.0.0.1:7433", "the address and port that the page is to have")
	c.Flags().StringVar(&e.mount, "mount", "", "ask the mount at this address: alpaca://HOST:PORT/N or indi://HOST:PORT/DEVICE")
	c.Flags().BoolVar(&e.look, "discover", false, "look for a mount in this machine's networks")
	f.flag(c, "text", "json")
	return c
}

// What a finding may be.
const (
	good = "good"
	look = "look"
	bad  = "bad"
)

// examination is one look at a machine.
type examination struct {
	folder, listen, mount string
	look                  bool
	doc                   report.DoctorDoc
	rigs                  []*rig.Rig
}

func (e *examination) all(c *cobra.Command) {
	v := report.Version()
	e.doc.Add("program", good, "legroom %s, %s, %s", v.Version, v.Go, v.System)
	e.port(c.Context())
	e.browser()
	if e.disk() {
		e.readRigs()
	}
	e.speed(c)
	e.clock(v)
	e.zones()
	e.askMount(c.Context())
}

func (e *examination) port(ctx context.Context) {
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", e.listen)
	if err != nil {
		e.doc.Add("port", look, "the page cannot have %s (%v): it may be open already; else end what has the port, or give `legroom serve --listen` another", e.listen, err)
		return
	}
	l.Close()
	e.doc.Add("port", good, "the page can have %s", e.listen)
}

func (e *examination) browser() {
	name := browserCommand("")[0]
	if _, err := exec.LookPath(name); err != nil {
		e.doc.Add("browser", look, "there is no %s here to open the browser with: open the page's address yourself", name)
		return
	}
	if name == "xdg-open" && os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
		e.doc.Add("browser", look, "%s is here, but no display is: open the page's address yourself, from where there is one", name)
		return
	}
	e.doc.Add("browser", good, "%s opens the page", name)
}

// lowDisk, bytes: a night's journal takes some tens of megabytes, and SQLite needs as much again while it writes.
const lowDisk = 1 << 30

// disk looks at the folder; false when there is none.
func (e *examination) disk() bool {
	switch info, err := os.Stat(e.folder); {
	case err != nil:
		e.doc.Add("folder", bad, "there is no folder %q: name the one that your rigs are in", e.folder)
		return false
	case !info.IsDir():
		e.doc.Add("folder", bad, "%q is a file: name the folder that it is in", e.folder)
		return false
	}
	f, err := os.CreateTemp(e.folder, ".legroom-*")
	if err == nil {
		err = errors.Join(f.Close(), os.Remove(f.Name()))
	}
	if err != nil {
		e.doc.Add("folder", bad, "nothing can be written into %s (%v): the page cannot save a rig there, nor a watch its journal", e.folder, err)
	} else {
		e.doc.Add("folder", good, "%s can be written into", e.folder)
	}
	free, err := disk.Usage(e.folder)
	switch {
	case err != nil:
		e.doc.Add("disk", look, "how much is free cannot be told: %v", err)
	case free.Free < lowDisk:
		e.doc.Add("disk", bad, "%.2f GB are free: a journal needs at least one", float64(free.Free)/1e9)
	default:
		e.doc.Add("disk", good, "%.1f GB are free", float64(free.Free)/1e9)
	}
	return true
}

func (e *examination) readRigs() {
	files, err := filepath.Glob(filepath.Join(escaped(e.folder), "*.yaml"))
	if err != nil {
		e.doc.Add("rigs", bad, "%v", err)
		return
	}
	for _, path := range files {
		if text, err := rig.ReadFile(path, 1<<20); err == nil && !rig.IsDocument(text) {
			continue
		}
		r, err := rig.Load(path)
		if err != nil {
			e.doc.Add("rig", bad, "%v", err)
			continue
		}
		e.rigs = append(e.rigs, r)
		e.doc.Add("rig", good, "%s: %s, fingerprint %s", filepath.Base(path), r.Name, r.Fingerprint())
	}
	if len(e.rigs) == 0 {
		e.doc.Add("rigs", look, "no rig in %s: `legroom new` begins one", e.folder)
	}
}

// slowMap is how long a map may take before a page feels slow.
const slowMap = 2 * time.Second

func (e *examination) speed(c *cobra.Command) {
	if len(e.rigs) == 0 {
		return
	}
	model, err := axes.NewModel(e.rigs[0], rig.Conditions{})
	var g *room.Gauge
	if err == nil {
		g, err = room.NewGauge(model, room.Options{Mode: rig.RSS})
	}
	if err != nil {
		e.doc.Add("speed", bad, "%v", err)
		return
	}
	begun := time.Now()
	if _, err := newMapFor(c, g, 0.25); err != nil {
		return
	}
	took := time.Since(begun)
	state := good
	if took > slowMap {
		state = look
	}
	e.doc.Add("speed", state, "the room map of %s takes %.0f ms here", e.rigs[0].Name, took.Seconds()*1000)
}

// clock looks whether the clock can be right: not before the program was made. Whether it is kept right only a mount can tell.
func (e *examination) clock(v report.VersionDoc) {
	now := time.Now()
	if made, err := time.Parse(time.RFC3339, v.Made); err == nil && now.Before(made) {
		e.doc.Add("clock", bad, "it says %s, and this program was made on %s: set it, and have it synchronised", now.Format(time.RFC3339), made.Format(time.DateOnly))
		return
	}
	e.doc.Add("clock", good, "it says %s; have it synchronised, since a minute off is a quarter of a degree", now.Format(time.RFC3339))
}

// zones compares the rigs' time zones, which this program brings along, with that of the machine: once for each, with the rigs that
// stand in it.
func (e *examination) zones() {
	now := time.Now()
	_, here := now.Zone()
	var zones []string
	rigs := map[string][]string{}
	for _, r := range e.rigs {
		z := r.Site.TimeZone
		if rigs[z] == nil {
			zones = append(zones, z)
		}
		rigs[z] = append(rigs[z], r.Name)
	}
	for _, name := range zones {
		these, stand, clock := strings.Join(rigs[name], "; "), "stands", "the rig's time"
		if len(rigs[name]) > 1 {
			stand, clock = "stand", "the rigs' time"
		}
		zone, err := time.LoadLocation(name)
		if err != nil {
			e.doc.Add("time zone", bad, "%s: %v", these, err)
			continue
		}
		if _, there := now.In(zone).Zone(); there != here {
			e.doc.Add("time zone", look, "%s %s in %s, where it is %s; this machine goes by %s. Nights are told in %s",
				these, stand, name, now.In(zone).Format("15:04"), now.Format("15:04 MST"), clock)
			continue
		}
		e.doc.Add("time zone", good, "%s: %s, as this machine", these, name)
	}
}

func (e *examination) askMount(ctx context.Context) {
	address, err := e.mount, error(nil)
	if e.look {
		var all []netip.AddrPort
		if all, err = alpaca.Everywhere(); err == nil {
			address, err = discover(ctx, all, 2*time.Second)
		}
	}
	switch {
	case err != nil:
		e.doc.Add("mount", bad, "%v", err)
		return
	case address == "":
		e.doc.Add("mount", look, "not asked: give --mount ADDRESS, or --discover to look for one")
		return
	}
	if address, err = mountAddress(address); err != nil {
		e.doc.Add("mount", bad, "%v", err)
		return
	}
	tel, err := openMount(ctx, address)
	if err != nil {
		e.doc.Add("mount", bad, "%v", err)
		return
	}
	defer tel.Close()
	reading, err := tel.Read(ctx)
	d := tel.Describe()
	if err != nil {
		e.doc.Add("mount", bad, "%s at %s: %v", d.Name, address, err)
		return
	}
	e.doc.Add("mount", good, "%s at %s answers in %.0f ms", d.Name, address, reading.Got.Sub(reading.Asked).Seconds()*1000)
	for _, n := range d.Notes {
		e.doc.Add("mount", look, "%s", n)
	}
	for _, m := range reading.Missing {
		e.doc.Add("mount", look, "does not tell %s: %s", m.Member, m.Why)
	}
	if reading.UTCSaid {
		off := reading.UTC.Sub(reading.Got)
		state := good
		if off.Abs() > time.Minute {
			state = bad // the watch is blind then
		}
		e.doc.Add("mount's clock", state, "%d s ahead of this machine's", int(math.Round(off.Seconds())))
	}
	if reading.SiteSaid && len(e.rigs) == 1 {
		site := e.rigs[0].Site
		lat, lon := axes.Deg(reading.Lat)-site.LatitudeDeg, math.Remainder(axes.Deg(reading.Lon)-site.LongitudeDeg, 360)
		state := good
		if math.Abs(lat) > 0.25 || math.Abs(lon) > 0.25 {
			state = bad // the watch is blind then
		}
		e.doc.Add("mount's site", state, "%.3f° north and %.3f° east of the document's", lat, lon)
	}
}

// escaped is a folder's name without meaning to Glob.
func escaped(folder string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(folder)
}
