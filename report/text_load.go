package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"legroom/load"
)

// noMass says what a load leaves out, and of what that is to be mended first.
func noMass(missing []string, relied string) string {
	return "NO MASS IN THE DOCUMENT, counted as nothing: " + strings.Join(missing, ", ") + ". Give each its mass_kg before you rely on " + relied + "."
}

// WriteLoad writes a load as text of at most 100 columns.
func WriteLoad(w io.Writer, d LoadDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	if len(d.MissingMass) > 0 {
		p.para("", "  ", noMass(d.MissingMass, "this"))
	}
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+".")
	where := "all declinations"
	if d.DecFromDeg > -90 || d.DecToDeg < 90 {
		where = fmt.Sprintf("declinations %s to %s", angle(d.DecFromDeg, 1), angle(d.DecToDeg, 1))
	}
	p.para("", "", "The worst over every pose that is above the horizon and proven free, "+where+". What was found stands beside what is proven: in no such pose is it worse. Masses and lengths count as the document gives them, without their tolerances.")
	if len(d.GuessedMass) > 0 {
		p.para("", "  ", "UNMEASURED MASSES (from a template, they count as they stand): "+firstOf(d.GuessedMass)+". Weigh them before you rely on this.")
	}
	p.line("")
	p.balance(&d.Balance)
	p.line("")
	p.tipping(&d)
	if len(d.Bending) > 0 {
		p.line("")
		p.line("BENDING of what carries the mount; legs, joints and the mount itself give as well, mostly more")
		for i := range d.Bending {
			p.bending(&d.Bending[i])
		}
	}
	if len(d.Cables) > 0 {
		p.line("")
		p.line("CABLES, straight from tie to tie; what lies round a housing needs more, and gaps do not see cables")
		for i := range d.Cables {
			p.cable(&d.Cables[i])
		}
	}
	p.line("")
	p.line("HOW THIS IS FOUND")
	for _, m := range d.Methods {
		p.para("  "+pad(m.Figure, 16)+" ", strings.Repeat(" ", 19), m.Formula+". "+upperFirst(m.Source)+". Left out: "+m.LeavesOut+".")
	}
	p.line("")
	p.para("", "", "A tall support tips, and counterweights and tubes fall: hold the tube when you move a weight or loosen a ring; weights on before the tube, tube off before the weights. These figures are for planning; no safety rating is claimed.")
	return p.writeTo(w)
}

// figure writes a figure with two decimals at most, none from a hundred on.
func figure(x float64) string {
	if math.Abs(x) >= 100 {
		return plain(x, 0)
	}
	return plain(x, 2)
}

func (p *page) balance(b *BalanceDoc) {
	if len(b.MissingMass) > 0 {
		p.para("BALANCE NOT KNOWN: ", "  ", noWeight(b.MissingMass))
		return
	}
	p.line("BALANCE")
	c := b.Declination
	p.para("  Declination axis  ", strings.Repeat(" ", 20), fmt.Sprintf("turns %s kg, centre of mass %s and %s: out of balance by up to %s N·m.", figure(c.MassKg),
		sideways(c.AlongMM, "forward", "backward"), sideways(c.AsideMM, "aside along +y", "aside along −y"), figure(c.MomentNm)))
	if c.SlideMM != nil && c.DovetailMM != nil && math.Abs(*c.SlideMM) >= 0.5 {
		p.para(strings.Repeat(" ", 20), strings.Repeat(" ", 20), fmt.Sprintf("Slide the tube %s in its rings, or the dovetail %s in the saddle.",
			sideways(*c.SlideMM, "forward", "backward"), sideways(*c.DovetailMM, "forward", "backward")))
	}
	if c.LeftNm >= 0.1 {
		side := "+y"
		if c.AsideKgMM > 0 {
			side = "−y"
		}
		p.para(strings.Repeat(" ", 20), strings.Repeat(" ", 20), fmt.Sprintf("What lies aside stays: %s N·m. A weight on the %s side of the tube makes up for it: 1 kg at %s mm from the axis.", figure(c.LeftNm), side, plain(math.Abs(c.AsideKgMM), 0)))
	}
	r := b.RA
	p.para("  RA axis           ", strings.Repeat(" ", 20), fmt.Sprintf("turns %s kg, centre of mass %s: up to %s N·m at this latitude.", figure(r.MassKg), sideways(r.TowardMM, "towards the saddle", "towards the weights"), figure(r.MomentNm)))
	if len(r.Weights) == 0 {
		p.para(strings.Repeat(" ", 20), strings.Repeat(" ", 20), "No counterweight with a mass: the drive has to hold that.")
		return
	}
	for _, w := range r.Weights {
		p.line("%s%s, %s kg: %s mm from the crossing, now %s (bar: %s to %s)", strings.Repeat(" ", 20), w.Name, figure(w.MassKg), plain(w.AtMM, 0), plain(w.NowMM, 0), plain(w.FromMM, 0), plain(w.ToMM, 0))
	}
	switch {
	case r.Fits:
		p.line("%sThen %s N·m stay.", strings.Repeat(" ", 20), figure(r.LeftNm))
	case r.LackKg > 0:
		p.para(strings.Repeat(" ", 20), strings.Repeat(" ", 20), fmt.Sprintf("NOT IN BALANCE: %s kg more are needed at the bar's end, or a longer bar; %s N·m stay.", figure(r.LackKg), figure(r.LeftNm)))
	default:
		p.para(strings.Repeat(" ", 20), strings.Repeat(" ", 20), fmt.Sprintf("NOT IN BALANCE: %s kg too much, at the innermost weight's place; %s N·m stay.", figure(-r.LackKg), figure(r.LeftNm)))
	}
}

// noWeight says what a figure that is not known wants.
func noWeight(missing []string) string {
	return "without the mass of " + firstOf(missing) + " no figure would be that of the whole rig, and what to slide, move or lay on is not said."
}

// sideways writes a signed length as a length and a way.
func sideways(mm float64, plus, minus string) string {
	if mm < 0 {
		return plain(-mm, 0) + " mm " + minus
	}
	return plain(mm, 0) + " mm " + plus
}

func (p *page) tipping(d *LoadDoc) {
	t := d.Tipping
	switch {
	case t == nil:
		p.line("TIPPING: no part has a mass, so that nothing can be said")
		return
	case t.Anchored:
		p.para("TIPPING: ", "  ", "the document says that the support is anchored. What holds it down, footing or bolts, is for local codes and a builder to judge.")
		return
	}
	if len(d.MissingMass) > 0 {
		p.para("TIPPING NOT KNOWN: ", "  ", noWeight(d.MissingMass)+" Where footing or bolts hold the support down, write `anchored: yes` under support.")
		if t.AskedUnknown {
			p.para("  ", "  ", "WHETHER IT STANDS WHAT WAS ASKED IS NOT KNOWN, nor what ballast would do it.")
		}
		return
	}
	p.line("TIPPING of %s kg over the feet's polygon", figure(d.MassKg))
	if t.Distance.Proven <= 0 {
		p.para("  ", "  ", "IT MAY TIP BY ITSELF: the centre of mass is not proven to stay inside of the feet's polygon. Spread the legs, or lay ballast on them.")
	}
	row := func(what, unit string, e *EdgeDoc) {
		p.para(fmt.Sprintf("  %s  %s %s, found %s ", pad(what, 32), atLeast(e.Proven), unit, atLeast(e.Found)), strings.Repeat(" ", 36),
			fmt.Sprintf("over %s, towards %s°, at %s", e.Over, plain(e.TowardsDeg, 0), shortPose(e.At)))
	}
	row("centre of mass inside by", "mm", t.Distance)
	row("moment that tips it", "N·m", t.Moment)
	row(fmt.Sprintf("push that tips it, %s mm up", plain(t.Push.HeightMM, 0)), "N", t.Push)
	row("wind that tips it", "m/s", t.Wind)
	if r := t.Remedy; r != nil {
		var asked []string
		if r.PushN > 0 {
			asked = append(asked, "a push of "+figure(r.PushN)+" N at its top")
		}
		if r.WindMS > 0 {
			asked = append(asked, "a wind of "+figure(r.WindMS)+" m/s")
		}
		words := "It stands " + strings.Join(asked, " and ") + " in every such pose."
		if r.BallastKg > 0 {
			words = fmt.Sprintf("IT DOES NOT STAND %s everywhere: %s kg of ballast low on the centre line would do it, or the feet %s mm further out at the same height.",
				strings.Join(asked, " or "), plain(math.Ceil(r.BallastKg*10)/10, 1), plain(math.Ceil(r.SpreadMM), 0))
		}
		p.para("  ", "  ", words)
	}
}

// atLeast writes a lower bound, rounded down to a figure behind the point.
func atLeast(x float64) string { return plain(math.Floor(x*10)/10, 1) }

// atMost writes an upper bound, rounded up.
func atMost(x float64) string { return plain(math.Ceil(x*10)/10, 1) }

// shortPose names a pose in few letters.
func shortPose(a AxisPoseDoc) string {
	return fmt.Sprintf("side %s, %s h, %s", a.Side, strings.TrimPrefix(angleHours(a.HourAngleH), "+"), angle(a.DecDeg, 0))
}

// angleHours writes hours of hour angle with their sign.
func angleHours(h float64) string {
	s := plain(math.Abs(h), 1)
	if h < 0 && s != "0" {
		return "−" + s
	}
	return "+" + s
}

func (p *page) bending(b *BendingDoc) {
	if b.Unknown != "" {
		p.para("  ", "    ", fmt.Sprintf("%s: not known. The document does not give %s, so that nothing is computed.", b.Upright, b.Unknown))
		return
	}
	without := ""
	if len(b.MissingMass) > 0 {
		without = ", and what of " + strings.Join(b.MissingMass, ", ") + " has no mass in the document"
	}
	p.para("  ", "    ", fmt.Sprintf("%s, carries %s kg%s", b.Upright, figure(b.CarriesKg), without))
	p.para("    ", "      ", fmt.Sprintf("a push of %s N at the height of the crossing tilts its top by %s″ and moves it by %s mm", figure(b.PushN), atMost(*b.PushTilt), plain(math.Ceil(*b.PushMM*1e4)/1e4, 4)))
	p.para("    ", "      ", fmt.Sprintf("a wind of %s m/s tilts it by up to %s″, found %s″ (%s)", figure(b.WindMS), atMost(*b.WindProven), atMost(*b.WindTilt), shortPose(b.WindAt)))
	if b.FrequencyHz == nil {
		p.para("    ", "      ", "first frequency: not known, for want of a mass of the upright or of what it carries")
		return
	}
	p.para("    ", "      ", fmt.Sprintf("first frequency %s Hz or more, found %s Hz, if all else were rigid", atLeast(*b.ProvenHz), atLeast(*b.FrequencyHz)))
}

func (p *page) cable(c *CableDoc) {
	word := fmt.Sprintf("%s mm to spare", plain(math.Floor(c.SlackMM), 0))
	if c.SlackMM < 0 {
		word = fmt.Sprintf("TOO SHORT by %s mm", plain(math.Ceil(-c.SlackMM), 0))
	}
	p.para("  ", "    ", fmt.Sprintf("%s, %s mm: must reach %s mm, tightest at %s; %s", c.Name, plain(math.Floor(c.LengthMM), 0), plain(math.Ceil(c.ProvenMM), 0), shortPose(c.At), word))
	if c.TiedMM > c.ProvenMM+1 {
		word = fmt.Sprintf("%s mm to spare", plain(math.Floor(c.TiedSlackMM), 0))
		if c.TiedSlackMM < 0 {
			word = fmt.Sprintf("%s mm too short for that", plain(math.Ceil(-c.TiedSlackMM), 0))
		}
		p.para("    ", "      ", fmt.Sprintf("held fast at each tie it needs %s mm: %s", plain(math.Ceil(c.TiedMM), 0), word))
	}
	for _, s := range c.Spans {
		loop := "stays as it is"
		if s.Axes != "none" {
			loop = fmt.Sprintf("up to %s mm of it hang, within %s mm of a tie", plain(math.Ceil(s.LoopMM), 0), plain(math.Ceil(s.WithinMM), 0))
		}
		p.para("    ", "      ", fmt.Sprintf("%s – %s: leave %s mm; %s", s.From, s.To, plain(math.Ceil(s.LeaveMM), 0), loop))
		p.loops(&s)
	}
	if t := c.Tie; t != nil {
		p.para("    ", "      ", fmt.Sprintf("a tie behind %s on %s (%s, %s, %s mm from its centre along its own axes) would make that loop %s instead of %s mm; the cable then needs %s mm",
			t.After, t.Part, plain(t.AtMM[0], 0), plain(t.AtMM[1], 0), plain(t.AtMM[2], 0), plain(math.Ceil(t.LoopMM), 0), plain(math.Ceil(t.WasMM), 0), plain(math.Ceil(t.TiedMM), 0)))
	}
}

// loops says what of a span's loop may get caught.
func (p *page) loops(s *SpanDoc) {
	if s.Left == nil || s.Loose == nil {
		return
	}
	touches := map[string]bool{}
	var may, reach []string
	var nearest *LoopPartDoc
	for i := range s.Left.Parts {
		switch n := &s.Left.Parts[i]; n.Touch {
		case string(load.MayTouch):
			touches[n.Name] = true
			may = append(may, fmt.Sprintf("%s (%s)", n.Name, shortPose(n.At)))
		case string(load.Clear):
			reach = append(reach, n.Name)
			if nearest == nil {
				nearest = n
			}
		}
	}
	words := "hanging still, it touches nothing that moves against it"
	if len(may) > 0 {
		words = "hanging still, it MAY TOUCH " + strings.Join(may, ", ")
	}
	if nearest != nil {
		words += fmt.Sprintf("; %s mm or more from all else, nearest to %s (%s)", plain(math.Floor(nearest.ProvenMM), 0), nearest.Name, shortPose(nearest.At))
	}
	p.para("      ", "        ", words)
	if len(reach) > 0 {
		p.para("      ", "        ", "blown, swinging or stiff, it may reach "+strings.Join(reach, ", ")+" too; nothing else is in its reach")
	}
	var also []string
	for _, n := range s.Loose.Parts {
		if n.Touch == string(load.MayTouch) && !touches[n.Name] {
			also = append(also, n.Name)
		}
	}
	if len(also) > 0 {
		p.para("      ", "        ", fmt.Sprintf("with all that may slide into it, %s mm, it may touch %s as well", plain(math.Ceil(s.Loose.LengthMM), 0), strings.Join(also, ", ")))
	}
}
