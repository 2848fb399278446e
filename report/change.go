package report

import (
	"math"

	"legroom/axes"
	changes "legroom/change"
	"legroom/load"
)

// VariantsDoc is the document of `legroom change`: the rig as it is, first, and its variants.
type VariantsDoc struct {
	Rig       string       `json:"rig"`
	Confirmed bool         `json:"confirmed" jsonschema_description:"always false: a change is planned, not set up"`
	LostOver  string       `json:"lost_over" jsonschema_description:"what lost_min is counted over: the night of a date, or months; empty when it was not asked for"`
	PushN     float64      `json:"push_n" jsonschema_description:"sideways push that bending is for, N"`
	WindMS    float64      `json:"wind_m_per_s" jsonschema_description:"wind that bending is for, m/s"`
	Variants  []VariantDoc `json:"variants" jsonschema_description:"the first is the document as it is"`
}

// EditDoc is one change of a document.
type EditDoc struct {
	Path  string `json:"path"`
	Value string `json:"value,omitempty"`
	File  string `json:"file,omitempty" jsonschema_description:"what it was taken from"`
}

// VariantDoc is what one rig gives.
type VariantDoc struct {
	Name    string    `json:"name"`
	Changes []EditDoc `json:"changes"`
	Assumed []string  `json:"assumed" jsonschema_description:"what the document does not say and had to be assumed"`
	Basis
	RoomPercent    ShareDoc           `json:"room_percent"`
	IdleMin        map[string]float64 `json:"idle_min" jsonschema_description:"by target: minutes between stop and resume when no flip window exists"`
	IdleSum        float64            `json:"idle_sum_min"`
	LostMin        map[string]float64 `json:"lost_min,omitempty" jsonschema_description:"by target: what the rig costs of the sky's time, minutes, over lost_over"`
	LostSum        *float64           `json:"lost_sum_min" jsonschema:"nullable"`
	NoWaySum       *float64           `json:"no_way_sum_min" jsonschema:"nullable" jsonschema_description:"of lost_sum_min: free, but lost for want of a proven slew there from the park position; null when none are counted, or over one night only, which asks for no way from park"`
	WorstGapMM     *float64           `json:"worst_gap_mm" jsonschema:"nullable" jsonschema_description:"tightest pose of all targets, each on side west until its transit and on side east after, without limits: a bound that no such pose falls below by more than half a millimetre, tolerances taken off; negative: parts may overlap"`
	Worst          *WorstDoc          `json:"worst" jsonschema:"nullable"`
	Targets        []ChangeTarget     `json:"targets"`
	Tipping        *ChangeTipping     `json:"tipping" jsonschema:"nullable" jsonschema_description:"null when it is not known: see tipping_unknown, and balance_missing, without whose masses no bound is one"`
	TippingUnknown string             `json:"tipping_unknown,omitempty"`
	TippingMissing []string           `json:"tipping_missing" jsonschema_description:"what stands on the feet and has no mass in the document, and counted nothing: a mass that stands still over the feet only holds the rig down, what turns is in balance_missing too, and what stands still beyond the feet in tipping_unknown instead"`
	Bending        []ChangeBending    `json:"bending" jsonschema_description:"each upright; empty when there is none"`
	BendingUnknown string             `json:"bending_unknown,omitempty"`
	Counterweights []ChangeWeight     `json:"counterweights" jsonschema_description:"empty while balance_missing names something"`
	WeightsFit     bool               `json:"counterweights_fit"`
	BalanceMissing []string           `json:"balance_missing" jsonschema_description:"what turns with an axis and has no mass in the document: until it has, it is not known where counterweights and tube go and what tips the rig"`
	SlideMM        *float64           `json:"balance_slide_mm" jsonschema:"nullable" jsonschema_description:"how far the tube would have to slide forward in its rings to balance the declination axis"`
	Cables         []ChangeCable      `json:"cables"`
	CablesUnknown  string             `json:"cables_unknown,omitempty"`
	Differences    []string           `json:"differences" jsonschema_description:"keys of what is not as in the first variant"`
	Saved          string             `json:"saved,omitempty" jsonschema_description:"file that the changed document was written to"`
}

// WorstDoc is a pose and the pair that is nearest there.
type WorstDoc struct {
	Target     string  `json:"target"`
	Side       string  `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH float64 `json:"hour_angle_h"`
	DecDeg     float64 `json:"dec_deg"`
	A          string  `json:"a"`
	B          string  `json:"b"`
}

// ChangeTarget is what a rig leaves of one target.
type ChangeTarget struct {
	Name       string   `json:"name"`
	DecDeg     float64  `json:"dec_deg" jsonschema_description:"apparent"`
	Rises      bool     `json:"rises"`
	StopH      *float64 `json:"stop_h" jsonschema:"nullable" jsonschema_description:"as in legroom limits"`
	ResumeH    *float64 `json:"resume_h" jsonschema:"nullable"`
	FlipProven bool     `json:"flip_proven" jsonschema_description:"there is a flip window"`
	IdleMin    float64  `json:"idle_min"`
	LostMin    *float64 `json:"lost_min" jsonschema:"nullable"`
	WorstGapMM *float64 `json:"worst_gap_mm" jsonschema:"nullable"`
	Unflipped  bool     `json:"flip_unproven" jsonschema_description:"both sides have room, the target has to change between them, and no flip is proven: that there is no idle time is not proven either"`
}

// ChangeTipping is what would tip a rig over, worst over all free poses.
type ChangeTipping struct {
	MassKg     float64 `json:"mass_kg"`
	Anchored   bool    `json:"anchored" jsonschema_description:"the document says that it is held down: then nothing tips it"`
	DistanceMM float64 `json:"distance_mm" jsonschema_description:"least distance of the centre of mass inside of an edge of the feet's polygon, proven"`
	PushN      float64 `json:"push_n" jsonschema_description:"least horizontal push at the highest point that tips it, proven"`
	WindMS     float64 `json:"wind_m_per_s" jsonschema_description:"least wind that tips it, proven"`
}

// ChangeBending is how an upright gives way.
type ChangeBending struct {
	Name        string   `json:"name"`
	Unknown     string   `json:"unknown,omitempty" jsonschema_description:"what the document does not say, so that nothing could be computed"`
	PushArcsec  *float64 `json:"push_arcsec" jsonschema:"nullable" jsonschema_description:"tilt of its top under push_n, at most"`
	WindArcsec  *float64 `json:"wind_arcsec" jsonschema:"nullable"`
	FrequencyHz *float64 `json:"frequency_hz" jsonschema:"nullable" jsonschema_description:"lowest first frequency"`
	Missing     []string `json:"missing" jsonschema_description:"what it carries and has no mass in the document: then the frequency is not known"`
}

// ChangeWeight is where one counterweight has to go.
type ChangeWeight struct {
	Name  string  `json:"name"`
	NowMM float64 `json:"now_mm" jsonschema_description:"crossing to its centre"`
	AtMM  float64 `json:"at_mm" jsonschema_description:"where it balances the RA axis"`
}

// ChangeCable is how far a cable must reach.
type ChangeCable struct {
	Name    string   `json:"name"`
	ReachMM float64  `json:"reach_mm" jsonschema_description:"longest path over all free poses, at most"`
	SlackMM *float64 `json:"slack_mm" jsonschema:"nullable" jsonschema_description:"what it is longer than that; null when its length is not given"`
}

// Changes returns the document of variants, the present one first.
func Changes(list []*changes.Result, a changes.Ask, lostOver string) VariantsDoc {
	d := VariantsDoc{Rig: list[0].Rig.Name, LostOver: lostOver, PushN: a.PushN, WindMS: a.WindMS}
	for _, r := range list {
		d.Variants = append(d.Variants, variantDoc(r, a.Lost))
	}
	for i := range d.Variants {
		d.Variants[i].Differences = differences(&d.Variants[0], &d.Variants[i])
	}
	return d
}

func variantDoc(r *changes.Result, lost *changes.Lost) VariantDoc {
	v := VariantDoc{
		Name: r.Name, Changes: []EditDoc{}, Assumed: append([]string{}, r.Assumed...), Basis: BasisOf(r.Gauge, r.Gauge.MaxAllowance()),
		RoomPercent: ShareDoc{West: percent(r.Room.West), East: percent(r.Room.East), Either: percent(r.Room.Either)},
		IdleMin:     map[string]float64{}, Targets: []ChangeTarget{}, Bending: []ChangeBending{}, Counterweights: []ChangeWeight{}, BalanceMissing: []string{}, Cables: []ChangeCable{},
		Differences: []string{},
	}
	for _, e := range r.Edits {
		v.Changes = append(v.Changes, EditDoc(e))
	}
	sum, noWay := 0.0, 0.0
	for i := range r.Targets {
		t := changeTarget(&r.Targets[i], lost != nil)
		v.Targets = append(v.Targets, t)
		if !t.Rises {
			continue
		}
		v.IdleMin[t.Name] = t.IdleMin
		v.IdleSum = nearest(v.IdleSum + t.IdleMin)
		if t.LostMin != nil {
			if v.LostMin == nil {
				v.LostMin = map[string]float64{}
			}
			v.LostMin[t.Name] = *t.LostMin
			sum += *t.LostMin
			noWay += up(r.Targets[i].NoWay.Minutes())
		}
		if w := t.WorstGapMM; w != nil && (v.WorstGapMM == nil || *w < *v.WorstGapMM) {
			x := &r.Targets[i].Worst
			v.WorstGapMM = w
			v.Worst = &WorstDoc{Target: t.Name, Side: x.Pose.Side.String(), HourAngleH: nearest(axes.Hours(x.Pose.HourAngle)), DecDeg: nearest(axes.Deg(x.Pose.Dec)), A: x.A, B: x.B}
		}
	}
	if v.LostMin != nil {
		sum = nearest(sum)
		v.LostSum = &sum
		if lost.Months > 0 {
			noWay = nearest(noWay)
			v.NoWaySum = &noWay
		}
	}
	v.loads(&r.Load)
	return v
}

func changeTarget(t *changes.TargetResult, lost bool) ChangeTarget {
	x := ChangeTarget{Name: t.Name, DecDeg: nearest(axes.Deg(t.Dec)), Rises: t.Rises}
	if t.Rises {
		row := rowDoc(&t.Row)
		x.StopH, x.ResumeH, x.IdleMin, x.FlipProven = row.StopH, row.ResumeH, row.IdleMin, len(row.FlipH) > 0
		x.WorstGapMM = finite(down(t.Worst.Lower))
		x.Unflipped = x.IdleMin == 0 && !x.FlipProven && !t.Alone && x.StopH != nil && x.ResumeH != nil && *x.StopH > *x.ResumeH
	}
	if lost && t.Sky > 0 {
		x.LostMin = finite(up(t.Lost.Minutes()))
	}
	return x
}

// finite is nil for what is no number, or endless.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func (v *VariantDoc) loads(l *changes.Load) {
	weighed := len(l.Balance.Missing) == 0
	v.TippingMissing = []string{}
	if t := l.Tipping; t != nil {
		if !t.Anchored {
			v.TippingMissing = append(v.TippingMissing, t.Missing...)
		}
		if t.Anchored || weighed {
			v.Tipping = &ChangeTipping{MassKg: nearest(t.MassKg), Anchored: t.Anchored, DistanceMM: down(t.Distance.Bound), PushN: down(t.Push.Bound), WindMS: down(t.Wind.Bound)}
		}
	}
	v.TippingUnknown, v.BendingUnknown, v.CablesUnknown = l.NoTipping, l.NoBending, l.NoCables
	for i := range l.Bending {
		v.Bending = append(v.Bending, changeBending(&l.Bending[i]))
	}
	v.BalanceMissing = append(v.BalanceMissing, l.Balance.Missing...)
	if ra := &l.Balance.RA; weighed {
		for _, w := range ra.Weights {
			v.Counterweights = append(v.Counterweights, ChangeWeight{Name: w.Name, NowMM: nearest(w.NowMM), AtMM: nearest(w.AtMM)})
		}
		v.WeightsFit = ra.Fits
		v.SlideMM = finite(nearest(l.Balance.Dec.SlideMM))
	}
	for _, c := range l.Cables {
		x := ChangeCable{Name: c.Name, ReachMM: up(c.Reach.BoundMM)}
		if c.LengthMM > 0 {
			x.SlackMM = finite(down(c.SlackMM))
		}
		v.Cables = append(v.Cables, x)
	}
}

func changeBending(b *load.Bending) ChangeBending {
	d := ChangeBending{Name: b.Name, Unknown: b.Unknown, Missing: append([]string{}, b.Missing...)}
	if b.Unknown != "" {
		return d
	}
	arcsec := func(t load.Tilt) *float64 { return finite(up(axes.Deg(t.BoundRad) * 3600)) }
	d.PushArcsec, d.WindArcsec = arcsec(b.Push), arcsec(b.Wind)
	if b.Frequency.Bound > 0 && len(b.Missing) == 0 {
		d.FrequencyHz = finite(down(b.Frequency.Bound))
	}
	return d
}

// differences lists the keys of what is not as in the present rig, by more than what searches may differ by.
func differences(present, v *VariantDoc) []string {
	out := []string{}
	differs := func(key string, a, b *float64, by float64) {
		if (a == nil) != (b == nil) || a != nil && math.Abs(*a-*b) > by {
			out = append(out, key)
		}
	}
	differs("room_percent", &present.RoomPercent.Either, &v.RoomPercent.Either, 0.005)
	differs("idle_min", &present.IdleSum, &v.IdleSum, 0.05)
	differs("lost_min", present.LostSum, v.LostSum, 0.5)
	differs("worst_gap_mm", present.WorstGapMM, v.WorstGapMM, 0.5)
	differs("tipping", tips(present), tips(v), 0.5)
	differs("bending", bends(present), bends(v), 0.05)
	differs("counterweights", weighs(present), weighs(v), 0.5)
	differs("cables", slack(present), slack(v), 0.5)
	return out
}

// tips is the push that tips a variant, bends the greatest tilt of an upright under the push, weighs where the first counterweight has to
// go, slack the least slack of a cable; nil where that is not known.
func tips(v *VariantDoc) *float64 {
	if v.Tipping == nil || v.Tipping.Anchored {
		return nil
	}
	return &v.Tipping.PushN
}

func bends(v *VariantDoc) *float64 {
	var most *float64
	for _, b := range v.Bending {
		if b.PushArcsec != nil && (most == nil || *b.PushArcsec > *most) {
			most = b.PushArcsec
		}
	}
	return most
}

func weighs(v *VariantDoc) *float64 {
	if len(v.Counterweights) == 0 {
		return nil
	}
	return &v.Counterweights[0].AtMM
}

func slack(v *VariantDoc) *float64 {
	var least *float64
	for _, c := range v.Cables {
		if c.SlackMM != nil && (least == nil || *c.SlackMM < *least) {
			least = c.SlackMM
		}
	}
	return least
}
