package soak

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"text/tabwriter"
)

// WriteText writes the report for a reader.
func (r *Report) WriteText(w io.Writer) error {
	out := &strings.Builder{}
	verdict := "every demand was met"
	if !r.Passed {
		verdict = "NOT every demand was met"
	}
	fmt.Fprintf(out, "%d nights of %g h in %s, seed %d: %s\n\n", r.Nights, r.NightH, r.Kind, r.Seed, verdict)
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, x := range []struct {
		what string
		n    any
		note string
	}{
		{"contacts", r.Contacts, "protected, and the mount obeyed; 0 is asked for"},
		{"late hooks", r.LateHooks, "contacts of a mount that did not obey or was out of reach, before the hook; 0"},
		{"false stops", r.FalseStops, fmt.Sprintf("fewer than 1 in %d nights", falseStopsIn)},
		{"false hooks", r.FalseHooks, "0"},
		{"unseen faults", r.Unseen, "that have to make the watch blind; 0"},
		{"stops not held", r.Unheld, "called done while the axes turned; 0"},
		{"misplaced", r.Misplaced, "not blind, and the axes elsewhere; 0"},
		{"journal rows lost", r.JournalRowsLost, fmt.Sprintf("of %d; 0", r.JournalRows)},
		{"broken nights", r.Broken, "0"},
		{"", "", ""},
		{"stops", r.Stops, list(r.StopsBy)},
		{"roomy stops", r.RoomyStops, "right by the document, and the drawn rig had more room"},
		{"busy stops", r.BusyStops, "over sockets: this computer was too busy to answer in time"},
		{"hooks", r.Hooks, ""},
		{"blind", r.Blind, list(r.BlindBy)},
		{"slews", r.Slews, fmt.Sprintf("of these not protected: %d", r.UnprotectedSlews)},
		{"contacts not protected", r.ContactsUnprotected, ""},
		{"worst reaction", fmt.Sprintf("%.2f s", r.WorstReactionS), fmt.Sprintf("decision to standstill; median %.2f s", r.MedianReactionS)},
		{"worst hook", fmt.Sprintf("%.1f s", r.WorstHookS), "decision to power cut"},
		{"worst blindness", fmt.Sprintf("%.1f s", r.WorstBlindS), "fault to being blind"},
		{"steps", r.Steps, fmt.Sprintf("of the loop, in %.0f simulated hours", r.SimulatedH)},
	} {
		fmt.Fprintf(t, "%s\t%v\t%s\n", x.what, x.n, x.note)
	}
	fmt.Fprintln(t)
	fmt.Fprintln(t, "rig\tnights\tcontacts\tnot protected\tstops\tfalse\thooks\tlate")
	for _, x := range r.Rigs {
		fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%d\t%d\t%d\t%d\n", x.Rig, x.Nights, x.Contacts, x.ContactsUnprotected, x.Stops, x.FalseStops, x.Hooks, x.LateHooks)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, x := range []struct {
		what string
		n    map[string]int
	}{{"done", r.Acts}, {"refused by the watch", r.Refused}, {"faults", r.Faults}, {"rigs skipped", r.Skipped}} {
		if len(x.n) > 0 {
			fmt.Fprintf(out, "\n%s: %s\n", x.what, list(x.n))
		}
	}
	for _, f := range r.Findings {
		fmt.Fprintf(out, "\nnight %d, %s, %s UTC: %s: %s\n", f.Night, f.Rig, f.At.UTC().Format("2006-01-02 15:04:05"), f.Kind, f.Text)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

// list writes counts in the order of their names.
func list(n map[string]int) string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(n)) {
		out = append(out, fmt.Sprintf("%s %d", k, n[k]))
	}
	return strings.Join(out, ", ")
}
