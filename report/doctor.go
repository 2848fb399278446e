package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// DoctorDoc says what works on a machine.
type DoctorDoc struct {
	Findings []DoctorFinding `json:"findings"`
	OK       bool            `json:"ok" jsonschema_description:"nothing is bad"`
}

// DoctorFinding is one thing that was tried.
type DoctorFinding struct {
	About string `json:"about"`
	State string `json:"state" jsonschema:"enum=good,enum=look,enum=bad" jsonschema_description:"look: it works and may not be what you want"`
	Says  string `json:"says"`
}

// Add appends what was found about something.
func (d *DoctorDoc) Add(about, state, format string, a ...any) {
	d.Findings = append(d.Findings, DoctorFinding{about, state, fmt.Sprintf(format, a...)})
}

// WriteDoctor writes the document in words.
func WriteDoctor(w io.Writer, d *DoctorDoc) error {
	for _, f := range d.Findings {
		for i, line := range broken(f.Says, 78) {
			about, state := f.About, f.State
			if i > 0 {
				about, state = "", ""
			}
			if _, err := fmt.Fprintf(w, "%-5s %-13s %s\n", state, about, line); err != nil {
				return err
			}
		}
	}
	return nil
}

// broken breaks a text into lines of at most so many characters, between words where it can.
func broken(text string, width int) []string {
	var lines []string
	for _, word := range strings.Fields(text) {
		if n := len(lines); n > 0 && utf8.RuneCountInString(lines[n-1])+1+utf8.RuneCountInString(word) <= width {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}
