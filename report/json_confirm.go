package report

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Answer is what the owner says to a line of the set-up list.
type Answer string

const (
	Yes        Answer = "yes"
	No         Answer = "no"
	Unanswered Answer = "unanswered"
)

// ConfirmDoc is the document of `legroom confirm`.
type ConfirmDoc struct {
	Rig         string         `json:"rig"`
	File        string         `json:"file" jsonschema_description:"of the rig"`
	SetupFile   string         `json:"setup_file" jsonschema_description:"where the confirmation lies, or would lie"`
	Fingerprint string         `json:"fingerprint"`
	Night       string         `json:"night" jsonschema_description:"date of the evening at the site"`
	Confirmed   bool           `json:"confirmed"`
	Unconfirmed string         `json:"unconfirmed" jsonschema_description:"why it is not confirmed; empty when it is"`
	ConfirmedAt *time.Time     `json:"confirmed_at" jsonschema:"nullable"`
	Unasked     bool           `json:"unasked" jsonschema_description:"this command was told the answers (--all, --yes) and asked nobody"`
	Lines       []AnsweredLine `json:"lines" jsonschema_description:"the set-up list"`
	Uncounted   []string       `json:"uncounted" jsonschema_description:"what legroom check says of joints by which a gap that the axes change counts nowhere"`
}

// AnsweredLine is a line of the set-up list with its answer.
type AnsweredLine struct {
	rig.SetupLine
	Answer Answer `json:"answer" jsonschema:"enum=yes,enum=no,enum=unanswered"`
}

// Confirm returns the document of a set-up: s after the command, with the answers that it was given, by the keys of the lines.
// A set-up that is confirmed has yes to every line.
func Confirm(r *rig.Rig, s rig.Setup, answers map[string]Answer, unasked bool) ConfirmDoc {
	d := ConfirmDoc{Rig: r.Name, File: r.Path, SetupFile: r.SetupFile(), Fingerprint: r.Fingerprint(), Night: s.Night, Confirmed: s.Confirmed,
		Unconfirmed: s.Reason, Unasked: unasked, Lines: []AnsweredLine{}, Uncounted: uncounted(r)}
	if s.Confirmed {
		d.ConfirmedAt = &s.At
	}
	for _, l := range s.Lines {
		a := AnsweredLine{l, Unanswered}
		if s.Confirmed {
			a.Answer = Yes
		} else if given, ok := answers[l.Key]; ok {
			a.Answer = given
		}
		d.Lines = append(d.Lines, a)
	}
	return d
}

// uncounted lists the joints that check warns of, every condition's parts being there; none for a rig that cannot be put together,
// which is not confirmed anyway.
func uncounted(r *rig.Rig) []string {
	out := []string{}
	if m, err := axes.NewModel(r, nil); err == nil {
		for _, f := range JointFindings(m) {
			out = append(out, f.Path+": "+f.Text)
		}
	}
	return out
}

// Confirmable refuses to confirm a rig of which a check finds errors, and withdraws what was confirmed before: it holds for no such
// rig, nor for the one that it becomes when the errors are mended. without are the conditions that do not hold.
func Confirmable(r *rig.Rig, without []string) error {
	err := sound(r, without)
	if err == nil {
		return nil
	}
	_, left := r.Withdraw()
	return errors.Join(err, left)
}

func sound(r *rig.Rig, without []string) error {
	known, err := r.Known(nil, without)
	if err != nil {
		return err
	}
	m, err := axes.NewModel(r, known)
	if err != nil {
		return err
	}
	g, err := room.NewGauge(m, room.Options{})
	if err != nil {
		return err
	}
	wrong := CheckErrors(g)
	if len(wrong) == 0 {
		return nil
	}
	return fmt.Errorf("%s cannot be confirmed, for no rig can be as it says: %s; mend that, and see legroom check", r.Path, strings.Join(wrong, "; "))
}
