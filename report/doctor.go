package report

import (
	"fmt"
	"io"
	"strings"
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
	var p page
	for _, f := range d.Findings {
		first := fmt.Sprintf("%-5s %-13s ", f.State, f.About)
		p.para(first, strings.Repeat(" ", len(first)), f.Says)
	}
	return p.writeTo(w)
}
