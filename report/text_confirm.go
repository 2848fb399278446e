package report

import (
	"io"

	"legroom/rig"
)

// WriteConfirm writes a set-up and whether it is confirmed as text of at most 100 columns.
func WriteConfirm(w io.Writer, d ConfirmDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", setupWords(rig.Setup{Night: d.Night, Confirmed: d.Confirmed, Reason: d.Unconfirmed}))
	if d.Confirmed && d.Unasked {
		p.para("", "", "CONFIRMED BY FLAGS, NOBODY WAS ASKED. Every line below now counts as seen at the rig:")
	}
	p.line("")
	no := false
	for _, l := range d.Lines {
		p.para(map[Answer]string{Yes: "  [x] ", No: "  NO  ", Unanswered: "  [ ] "}[l.Answer], "      ", l.Name+": "+l.Text)
		no = no || l.Answer == No
	}
	p.line("")
	for _, u := range d.Uncounted {
		p.para("  WARNING  ", "           ", u)
	}
	if len(d.Uncounted) > 0 {
		p.line("")
	}
	if no {
		p.para("", "", "Where the rig is not so, set it up so; or measure it, write that into "+d.File+", and confirm again. No limit, plan or card of this rig holds until then.")
		p.line("")
	}
	if d.Confirmed {
		p.para("", "", "For this night only, and for fingerprint "+d.Fingerprint+": after a change of the rig, confirm again. Kept in "+d.SetupFile+".")
		p.line("")
	}
	p.para("", "", cautions)
	return p.writeTo(w)
}
