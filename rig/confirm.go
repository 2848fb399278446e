package rig

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// ConfirmationVersion is the version of the file that this program reads and writes.
const ConfirmationVersion = 1

// Confirmation is what stands in the file beside the rig document once the owner has confirmed the set-up list: for one
// night, for the rig as it was then.
type Confirmation struct {
	Version     int         `json:"version"`
	Fingerprint string      `json:"fingerprint" jsonschema_description:"of the rig when it was confirmed"`
	Night       string      `json:"night" jsonschema_description:"date of the evening, YYYY-MM-DD"`
	At          time.Time   `json:"confirmed_at"`
	Without     []string    `json:"without" jsonschema_description:"conditions confirmed not to hold, sorted"`
	Lines       []SetupLine `json:"lines" jsonschema_description:"the whole set-up list as it was confirmed"`
}

// Setup says whether a rig's set-up is confirmed for a night.
type Setup struct {
	Night     string // date of the evening, YYYY-MM-DD
	Confirmed bool
	Reason    string      // why not; "" when confirmed
	Lines     []SetupLine // as confirmed, or else as they have to be
	At        time.Time   // when it was confirmed; zero when it was not
}

// maxConfirmation bounds the file; seven lines take hardly a kilobyte.
const maxConfirmation = 64 << 10

// SetupFile is where the confirmation of this rig lies: beside the document, as mine.setup.json for mine.yaml; "" for a rig
// that was not read from a file.
func (r *Rig) SetupFile() string {
	if r.Path == "" {
		return ""
	}
	return strings.TrimSuffix(r.Path, filepath.Ext(r.Path)) + ".setup.json"
}

// Evening gives the date, YYYY-MM-DD, of the evening that the night at t belongs to by the clocks of the site: before noon it
// is the day before's.
func (s *Site) Evening(t time.Time) (string, error) {
	zone, err := s.zone()
	if err != nil {
		return "", err
	}
	t = t.In(zone)
	if t.Hour() < 12 {
		// Six hours before midnight is the evening before, whatever the clocks did about midnight or noon.
		t = time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone).Add(-6 * time.Hour)
	}
	return t.Format(time.DateOnly), nil
}

// zone is the site's time zone. No name, and that of this computer's own zone, are none of a site.
func (s *Site) zone() (*time.Location, error) {
	zone, err := time.LoadLocation(s.TimeZone)
	if err != nil || s.TimeZone == "" || s.TimeZone == "Local" {
		return nil, fmt.Errorf("time zone %q is not known: write an IANA name such as Europe/Madrid", clip(s.TimeZone))
	}
	return zone, nil
}

// SetupTonight is SetupFor for the night that now belongs to.
func (r *Rig) SetupTonight(without []string, now time.Time) Setup {
	night, err := r.Site.Evening(now)
	if err != nil {
		return Setup{Reason: err.Error(), Lines: r.SetupList(without)}
	}
	return r.SetupFor(night, without, now)
}

// SetupFor tells whether the owner has confirmed the set-up list for the night of a date, YYYY-MM-DD, as it is known at now.
// It is confirmed only when the file can be read whole, and night, fingerprint and every line are those of this rig. An answer
// that leaves conditions out, without, also needs each of them confirmed not to hold.
func (r *Rig) SetupFor(night string, without []string, now time.Time) Setup {
	c, err := r.confirmation(night, without, now)
	if err != nil {
		return Setup{Night: night, Reason: err.Error(), Lines: r.SetupList(without)}
	}
	return Setup{Night: night, Confirmed: true, Lines: c.Lines, At: c.At}
}

// confirmation reads the file and gives it when it is valid, or else the reason why not.
func (r *Rig) confirmation(night string, without []string, now time.Time) (*Confirmation, error) {
	if !isDate(night) {
		return nil, fmt.Errorf("%q is not a date: give year-month-day", clip(night))
	}
	if r.Path == "" {
		return nil, errors.New("the rig was not read from a file")
	}
	file := r.SetupFile()
	data, err := ReadFile(file, maxConfirmation)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errors.New("nobody has confirmed the set-up yet")
	}
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", file, err)
	}
	c, err := parseConfirmation(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if c.Night != night {
		return nil, fmt.Errorf("it was confirmed for the night of %s, not for this one", c.Night)
	}
	at := c.At.Format("2006-01-02 15:04")
	nights, err := r.Site.nights(c.At)
	if err != nil {
		return nil, err
	}
	if !slices.Contains(nights, night) {
		return nil, fmt.Errorf("%s: it was written on %s, which is not in that night", file, at)
	}
	if now.Before(c.At) {
		return nil, fmt.Errorf("it was confirmed on %s, which is yet to come by this computer's clock: look whether the clock was set back", at)
	}
	list := r.SetupList(c.Without)
	if print := r.Fingerprint(); c.Fingerprint != print {
		return nil, fmt.Errorf("the rig or its margin is another than the one confirmed (fingerprint %q then, %q now)%s", clip(c.Fingerprint), print, differing(c.Lines, list))
	}
	if !slices.Equal(c.Lines, list) {
		return nil, fmt.Errorf("the list is another than the one confirmed%s", differing(c.Lines, list))
	}
	for _, w := range without {
		if !slices.Contains(c.Without, w) {
			return nil, fmt.Errorf("this answer is only for without %q, which was not confirmed (legroom confirm --without)", w)
		}
	}
	return c, nil
}

// nights gives the dates of the nights that a set-up looked at then may stand for: that of the evening, and before noon also
// the one to come.
func (s *Site) nights(then time.Time) ([]string, error) {
	zone, err := s.zone()
	if err != nil {
		return nil, err
	}
	evening, err := s.Evening(then)
	if err != nil {
		return nil, err
	}
	return slices.Compact([]string{evening, then.In(zone).Format(time.DateOnly)}), nil
}

// differing names the lines of the list that are not as they were, two of them with how they are now.
func differing(then, now []SetupLine) string {
	var words []string
	more := 0
	for _, l := range now {
		switch {
		case slices.Contains(then, l):
		case len(words) < 2:
			words = append(words, "; "+strings.ToLower(l.Name)+" is now: "+l.Text)
		default:
			more++
		}
	}
	if more > 0 {
		words = append(words, fmt.Sprintf("; and %d more", more))
	}
	return strings.Join(words, "")
}

// parseConfirmation reads what Confirm has written, to the byte: a key that is there twice, in other letters or too many
// is not.
func parseConfirmation(data []byte) (*Confirmation, error) {
	var head struct{ Version json.Number }
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, errors.New("this is not what `legroom confirm` writes; confirm again")
	}
	if v := head.Version.String(); v != fmt.Sprint(ConfirmationVersion) {
		return nil, fmt.Errorf("it is of version %q, and this program reads version %d; confirm again", clip(v), ConfirmationVersion)
	}
	var c Confirmation
	if err := json.Unmarshal(data, &c); err != nil || !isDate(c.Night) || c.Without == nil {
		return nil, errors.New("this is not what `legroom confirm` writes; confirm again")
	}
	if again, err := c.encode(); err != nil || !bytes.Equal(again, data) {
		return nil, errors.New("it has been changed since `legroom confirm` wrote it; confirm again")
	}
	return &c, nil
}

func (c *Confirmation) encode() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(c)
	return b.Bytes(), err
}

// Confirm writes that the owner, looking at the rig, has said yes to every line of the set-up list for the night of a date,
// YYYY-MM-DD, with the conditions of without not holding. seen is the list as the owner saw it, which has to be the rig's;
// now has to be of that night, or of the day before it: nobody can have looked at what is yet to be set up. The file is
// written whole or not at all.
func (r *Rig) Confirm(night string, without []string, seen []SetupLine, now time.Time) error {
	if r.Path == "" {
		return errors.New("this rig was not read from a file: save it first, the confirmation lies beside it")
	}
	state := Conditions{}
	for _, w := range without {
		state[w] = HoldsNot
	}
	if err := r.knownConditions(state); err != nil {
		return err
	}
	if !isDate(night) {
		return fmt.Errorf("%q is not a date: give year-month-day, such as 2026-11-25", clip(night))
	}
	nights, err := r.Site.nights(now)
	if err != nil {
		return err
	}
	if !slices.Contains(nights, night) {
		return fmt.Errorf("the night of %s cannot be confirmed now: the set-up is looked at on the day or in the night itself; now that is %s",
			night, strings.Join(nights, " or "))
	}
	without = slices.Compact(slices.Sorted(slices.Values(without)))
	if list := r.SetupList(without); !slices.Equal(seen, list) {
		return fmt.Errorf("the set-up list is another than the one that was answered%s; go through it again", differing(seen, list))
	}
	zone, err := r.Site.zone()
	if err != nil {
		return err
	}
	c := Confirmation{Version: ConfirmationVersion, Fingerprint: r.Fingerprint(), Night: night, At: now.Truncate(time.Second).In(zone),
		Without: append([]string{}, without...), Lines: seen}
	data, err := c.encode()
	if err != nil {
		return err
	}
	file := r.SetupFile()
	if info, err := os.Lstat(file); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s cannot be written: something that is not a plain file is in its place; move it away", file)
	}
	if err := replaceFile(file, data, 0o644); err != nil {
		return fmt.Errorf("%s cannot be written: %w; the confirmation lies beside the rig document, in a folder that you may write to", file, reason(err))
	}
	return nil
}

// Withdraw takes the confirmation away, whatever night it is for, and tells whether there was one.
func (r *Rig) Withdraw() (bool, error) {
	file := r.SetupFile()
	if file == "" {
		return false, nil
	}
	info, err := os.Lstat(file)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err == nil && info.IsDir() {
		return false, fmt.Errorf("%s cannot be taken away: it is a folder", file)
	}
	if err == nil {
		err = os.Remove(file)
	}
	if err != nil {
		return false, fmt.Errorf("%s cannot be taken away: %w", file, reason(err))
	}
	return true, nil
}

// isDate tells whether s is a date as this program writes it.
func isDate(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return err == nil && len(s) == len(time.DateOnly)
}
