package report

import (
	"crypto/sha256"
	"fmt"
	"io"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
)

// WriteCalendar writes a night's schedule as an iCalendar (RFC 5545), an event a block. An event of the same rig, target and start keeps
// its UID, so that a plan made again replaces it; now is when the plan was made.
func WriteCalendar(w io.Writer, d NightDoc, now time.Time) error {
	c := ics.NewCalendar()
	c.SetProductId("-//legroom//night//EN")
	c.SetCalscale("GREGORIAN")
	k := clocksOf(d.TimeZone, d.Night)
	for i := range d.Schedule {
		b := &d.Schedule[i]
		t := d.targetOf(b.Target)
		e := c.AddEvent(uid(&d, b))
		e.SetDtStampTime(now)
		e.SetStartAt(b.From)
		e.SetEndAt(b.To)
		e.SetSummary(fmt.Sprintf("%s, %s, %d × %s s", b.Target, sideWords(b), b.SubCount, plain(b.SubS, 1)))
		e.SetLocation(d.Rig)
		e.SetDescription(strings.Join(eventWords(k, &d, b, t), "\n"))
		status := ics.ObjectStatusTentative
		if d.Confirmed {
			status = ics.ObjectStatusConfirmed
		}
		e.SetStatus(status)
		if stopsBlock(b, t) {
			a := e.AddAlarm()
			a.SetAction(ics.ActionDisplay)
			a.SetTrigger("-PT5M", &ics.KeyValues{Key: string(ics.ParameterRelated), Value: []string{"END"}})
			a.SetDescription(fmt.Sprintf("%s must stop by %s: see that it does", b.Target, k.at(*t.Stop)))
		}
	}
	return c.SerializeTo(w, ics.WithNewLine("\r\n"))
}

// targetOf finds a target by its name, which is its own in a plan.
func (d *NightDoc) targetOf(name string) *TargetPlan {
	for i := range d.Targets {
		if d.Targets[i].Name == name {
			return &d.Targets[i]
		}
	}
	return &TargetPlan{Name: name}
}

func uid(d *NightDoc, b *BlockDoc) string {
	sum := sha256.Sum256([]byte(d.Fingerprint + "\n" + b.Target + "\n" + stamp(&b.UTC[0])))
	return "legroom-" + fmt.Sprintf("%x", sum[:16])
}

// stopsBlock tells whether a block's run ends within minutes of it for want of room: the one moment at which somebody should look.
func stopsBlock(b *BlockDoc, t *TargetPlan) bool {
	if b.Side != "west" || t.Stop == nil {
		return false
	}
	left := t.Stop.Sub(b.To)
	return left >= 0 && left < 10*time.Minute
}

func eventWords(k clocks, d *NightDoc, b *BlockDoc, t *TargetPlan) []string {
	out := []string{upperFirst(moveWords(k, &b.Come)) + "; " + b.Why + ".", upperFirst(t.Advice.Text) + "."}
	if t.Stop != nil && b.Side == "west" {
		out = append(out, "Side west must stop by "+k.both(down60(*t.Stop))+".")
	}
	if t.Flip != nil {
		out = append(out, "Flip between "+k.at(up60(t.Flip.From))+" and "+k.at(t.Flip.To)+".")
	}
	if d.Confirmed {
		out = append(out, "Set-up confirmed for the night of "+bothDays(d.Night)+".")
	} else {
		out = append(out, "PLANNED, NOT CONFIRMED: "+d.Unconfirmed+".")
	}
	return append(out, "Fingerprint "+d.Fingerprint+". "+cautions)
}
