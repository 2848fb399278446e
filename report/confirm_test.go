package report

import (
	"bytes"
	"testing"
	"time"

	"legroom/rig"
)

func TestConfirmDocument(t *testing.T) {
	r := madeUp(t).Rig
	r.Path = "terrace.yaml"
	list := r.SetupList(nil)
	done := rig.Setup{Night: "2026-03-14", Confirmed: true, Lines: list, At: time.Date(2026, 3, 14, 19, 0, 0, 0, time.FixedZone("", 3600))}
	open := rig.Setup{Night: "2026-03-14", Reason: "no yes to riser, roof", Lines: list}
	for name, d := range map[string]ConfirmDoc{
		"confirm.txt":         Confirm(r, done, map[string]Answer{"riser": No}, false), // what is confirmed has yes to all
		"confirm_unasked.txt": Confirm(r, done, nil, true),
		"confirm_no.txt":      Confirm(r, open, map[string]Answer{"leg-bearing": Yes, "leg-extension": Yes, "train": Yes, "saddle-mark": Yes, "riser": No}, false),
	} {
		for _, l := range d.Lines {
			if d.Confirmed && l.Answer != Yes {
				t.Errorf("%s: confirmed with %s to %s", name, l.Answer, l.Key)
			}
		}
		validate(t, "confirm", d)
		d.Fingerprint = "7f3a-90c1-5e" // the made-up rig's changes with every key of a document
		var b bytes.Buffer
		if err := WriteConfirm(&b, d); err != nil {
			t.Fatal(err)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
	validate(t, "setup", rig.Confirmation{Version: 1, Fingerprint: "7f3a-90c1-5e", Night: "2026-03-14", At: done.At, Without: []string{}, Lines: list})
}
