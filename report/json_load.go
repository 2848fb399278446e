package report

import (
	"math"

	"legroom/axes"
	"legroom/load"
	"legroom/rig"
)

// LoadDoc is the document of `legroom load`.
type LoadDoc struct {
	Rig string `json:"rig"`
	Basis
	DecFromDeg    float64         `json:"dec_from_deg" jsonschema_description:"declinations of the used poses; those are above the horizon and proven free"`
	DecToDeg      float64         `json:"dec_to_deg"`
	MissingMass   []string        `json:"missing_mass" jsonschema_description:"what has no mass in the document: figures that depend on it are null"`
	GuessedMass   []string        `json:"unmeasured_masses" jsonschema_description:"paths of masses that came from a template and were never measured: they count as they stand"`
	MassKg        float64         `json:"mass_kg" jsonschema_description:"of everything that stands on the feet and has a mass"`
	Balance       BalanceDoc      `json:"balance"`
	Tipping       *TippingDoc     `json:"tipping" jsonschema:"nullable" jsonschema_description:"null when nothing has a mass"`
	Bending       []BendingDoc    `json:"bending"`
	Cables        []CableDoc      `json:"cables"`
	ByPose        []LoadPoseDoc   `json:"by_pose" jsonschema_description:"used poses in steps of both axes; empty unless asked for"`
	Methods       []LoadMethodDoc `json:"methods" jsonschema_description:"how the figures were found"`
	StandsAsAsked bool            `json:"stands_as_asked" jsonschema_description:"no cable is too short, and it is known that the rig does not tip by itself and stands what was asked"`
}

// BalanceDoc is the balance of both axes.
type BalanceDoc struct {
	MissingMass []string       `json:"missing_mass" jsonschema_description:"what turns with an axis and has no mass in the document: then the rest is null"`
	Declination *DecBalanceDoc `json:"declination" jsonschema:"nullable"`
	RA          *RABalanceDoc  `json:"ra" jsonschema:"nullable"`
}

// DecBalanceDoc is about the declination axis.
type DecBalanceDoc struct {
	MassKg     float64  `json:"mass_kg" jsonschema_description:"of what turns with the tube"`
	AlongMM    float64  `json:"centre_along_mm" jsonschema_description:"centre of mass from the declination axis along the tube, forward positive"`
	AsideMM    float64  `json:"centre_aside_mm" jsonschema_description:"along the tube frame's y"`
	MomentNm   float64  `json:"moment_n_m" jsonschema_description:"the most that gravity turns the axis with"`
	SlideMM    *float64 `json:"slide_mm" jsonschema:"nullable" jsonschema_description:"balances it: tube, train and guide tubes forward through the rings; null when none of them has a mass"`
	DovetailMM *float64 `json:"dovetail_slide_mm" jsonschema:"nullable" jsonschema_description:"or instead: the dovetail forward in the saddle"`
	AsideKgMM  float64  `json:"aside_kg_mm" jsonschema_description:"mass times arm that lies aside, along the tube frame's y: a weight of m kg goes this / m mm out on the other side"`
	LeftNm     float64  `json:"left_n_m" jsonschema_description:"what stays after the slide"`
}

// RABalanceDoc is about the RA axis.
type RABalanceDoc struct {
	MassKg   float64     `json:"mass_kg" jsonschema_description:"of what turns with the arm"`
	TowardMM float64     `json:"centre_towards_saddle_mm" jsonschema_description:"centre of mass from the RA axis along the declination axis, towards the saddle positive"`
	MomentNm float64     `json:"moment_n_m" jsonschema_description:"the most that gravity turns the axis with, at the latitude"`
	Weights  []WeightDoc `json:"weights" jsonschema_description:"where the counterweights balance it; empty when there are none with a mass"`
	ShiftMM  float64     `json:"shift_mm" jsonschema_description:"how far all of them move, away from the saddle positive"`
	Fits     bool        `json:"fits" jsonschema_description:"whether the bar has room for that"`
	LackKg   float64     `json:"lack_kg" jsonschema_description:"when not: what is missing at the bar's end; negative: what is too much nearest to the axis"`
	LeftNm   float64     `json:"left_n_m" jsonschema_description:"what stays after all moves"`
}

// WeightDoc is where one counterweight goes.
type WeightDoc struct {
	Name   string  `json:"name"`
	MassKg float64 `json:"mass_kg"`
	NowMM  float64 `json:"now_mm" jsonschema_description:"crossing of the axes to its centre"`
	AtMM   float64 `json:"at_mm"`
	FromMM float64 `json:"bar_from_mm" jsonschema_description:"what the bar allows"`
	ToMM   float64 `json:"bar_to_mm"`
}

// TippingDoc is what would tip the rig over.
type TippingDoc struct {
	Anchored bool       `json:"anchored" jsonschema_description:"held down: the rest is null, as it is while missing_mass names something"`
	Distance *EdgeDoc   `json:"distance_mm" jsonschema:"nullable" jsonschema_description:"of the centre of mass inside of the feet's polygon, seen from above"`
	Moment   *EdgeDoc   `json:"moment_n_m" jsonschema:"nullable"`
	Push     *EdgeDoc   `json:"push_n" jsonschema:"nullable" jsonschema_description:"horizontal, at the highest point of the rig"`
	Wind     *EdgeDoc   `json:"wind_m_per_s" jsonschema:"nullable"`
	Remedy   *RemedyDoc `json:"remedy" jsonschema:"nullable" jsonschema_description:"null unless something was asked to be stood and could be answered"`
	// AskedUnknown: nothing is known of a push that nothing but the parts with a mass would resist.
	AskedUnknown bool `json:"asked_unknown" jsonschema_description:"something was asked to be stood, and missing_mass names something: not known"`
}

// EdgeDoc is the worst over all used poses.
type EdgeDoc struct {
	Found      float64     `json:"found" jsonschema_description:"at the pose"`
	Proven     float64     `json:"proven" jsonschema_description:"in no used pose less"`
	At         AxisPoseDoc `json:"at"`
	Over       string      `json:"over" jsonschema_description:"the two feet"`
	TowardsDeg float64     `json:"towards_deg" jsonschema_description:"azimuth of the fall, or to which the wind blows"`
	HeightMM   float64     `json:"height_mm" jsonschema_description:"of the force above the edge; 0 for distance and moment"`
}

// RemedyDoc is what would let the rig stand what was asked.
type RemedyDoc struct {
	PushN     float64 `json:"asked_push_n"`
	WindMS    float64 `json:"asked_wind_m_per_s"`
	BallastKg float64 `json:"ballast_kg" jsonschema_description:"on the centre line; 0 when it stands it as it is"`
	SpreadMM  float64 `json:"spread_mm" jsonschema_description:"or instead: the feet this much further out, at the same height"`
}

// BendingDoc is how one upright bends.
type BendingDoc struct {
	Upright     string      `json:"upright"`
	Unknown     string      `json:"unknown" jsonschema_description:"keys that the document lacks; empty when the rest could be computed"`
	MissingMass []string    `json:"missing_mass"`
	CarriesKg   float64     `json:"carries_kg"`
	PushN       float64     `json:"push_n" jsonschema_description:"horizontal, at the height where the axes cross"`
	PushTilt    *float64    `json:"push_tilt_arcsec" jsonschema:"nullable"`
	PushMM      *float64    `json:"push_deflection_mm" jsonschema:"nullable"`
	WindMS      float64     `json:"wind_m_per_s"`
	WindTilt    *float64    `json:"wind_tilt_arcsec" jsonschema:"nullable" jsonschema_description:"the most over all used poses and directions, as found"`
	WindProven  *float64    `json:"wind_tilt_proven_arcsec" jsonschema:"nullable" jsonschema_description:"in no used pose more"`
	WindMM      *float64    `json:"wind_deflection_mm" jsonschema:"nullable"`
	WindAt      AxisPoseDoc `json:"wind_at"`
	FrequencyHz *float64    `json:"frequency_hz" jsonschema:"nullable" jsonschema_description:"lowest first frequency over all used poses, as found; null when a mass is not known"`
	ProvenHz    *float64    `json:"frequency_proven_hz" jsonschema:"nullable" jsonschema_description:"in no used pose lower"`
}

// CableDoc is the reach of one cable.
type CableDoc struct {
	Name        string      `json:"name"`
	LengthMM    float64     `json:"length_mm" jsonschema_description:"its tolerance taken off"`
	ReachMM     float64     `json:"reach_mm" jsonschema_description:"longest way over all used poses, as found"`
	ProvenMM    float64     `json:"reach_proven_mm" jsonschema_description:"in no used pose longer"`
	At          AxisPoseDoc `json:"tightest_at"`
	LeastMM     float64     `json:"least_mm" jsonschema_description:"shortest way"`
	SlackMM     float64     `json:"slack_mm" jsonschema_description:"length less the proven reach; negative: it pulls"`
	TiedMM      float64     `json:"tied_mm" jsonschema_description:"what it needs when it is held fast at each tie"`
	TiedSlackMM float64     `json:"tied_slack_mm"`
	Spans       []SpanDoc   `json:"spans"`
	Tie         *TieDoc     `json:"tie" jsonschema:"nullable" jsonschema_description:"a further tie that makes the loops smaller"`
}

// SpanDoc is one straight piece of a cable.
type SpanDoc struct {
	From     string      `json:"from"`
	To       string      `json:"to"`
	LeaveMM  float64     `json:"leave_mm" jsonschema_description:"cable to leave between the two, proven"`
	At       AxisPoseDoc `json:"tightest_at"`
	LeastMM  float64     `json:"least_mm"`
	LoopMM   float64     `json:"loop_mm" jsonschema_description:"what hangs of that at its shortest"`
	WithinMM float64     `json:"loop_within_mm" jsonschema_description:"no point of the loop is farther from the nearer of its ties; 0 when neither axis changes it"`
	Axes     string      `json:"axes" jsonschema:"enum=none,enum=ra,enum=dec,enum=both" jsonschema_description:"what changes it"`
	Left     *LoopDoc    `json:"left" jsonschema:"nullable" jsonschema_description:"what hangs, and what that may touch, when the span is left leave_mm and held fast"`
	Loose    *LoopDoc    `json:"loose" jsonschema:"nullable" jsonschema_description:"the same with all the cable in it that the straight rest leaves at each pose: the most there can be, however it is tied"`
}

// LoopDoc is what hangs between two ties.
type LoopDoc struct {
	LengthMM float64       `json:"length_mm" jsonschema_description:"cable between the ties, at most"`
	BelowMM  float64       `json:"below_mm" jsonschema_description:"how far it hangs below the lower tie: in no used pose farther"`
	At       AxisPoseDoc   `json:"lowest_at"`
	Parts    []LoopPartDoc `json:"parts" jsonschema_description:"all parts but those that hold its ties or move with both; what it may touch first, then what is nearest"`
}

// LoopPartDoc is one part that a loop may come near.
type LoopPartDoc struct {
	Name     string      `json:"name"`
	Touch    string      `json:"touch" jsonschema:"enum=may touch,enum=clear,enum=out of reach" jsonschema_description:"may touch: not proven clear; clear: proven while it hangs still; out of reach: proven however it lies"`
	FoundMM  float64     `json:"gap_mm" jsonschema_description:"the least, as found: to the hanging loop, or when out of reach to wherever it may lie"`
	ProvenMM float64     `json:"gap_proven_mm" jsonschema_description:"in no used pose less; 0 when it may touch"`
	At       AxisPoseDoc `json:"at"`
}

// TieDoc is a further tie.
type TieDoc struct {
	Part   string     `json:"part"`
	AtMM   [3]float64 `json:"at_mm" jsonschema_description:"from the part's centre along its own axes"`
	After  string     `json:"after" jsonschema_description:"what holds the cable before it"`
	LoopMM float64    `json:"loop_mm"`
	WasMM  float64    `json:"was_mm" jsonschema_description:"the loop without it"`
	TiedMM float64    `json:"tied_mm" jsonschema_description:"what the cable then needs, held fast at each tie"`
}

// LoadPoseDoc is the load at one pose.
type LoadPoseDoc struct {
	AxisPoseDoc
	CentreMM   *[3]float64 `json:"centre_of_mass_mm" jsonschema:"nullable" jsonschema_description:"world frame"`
	DistanceMM *float64    `json:"distance_mm" jsonschema:"nullable" jsonschema_description:"inside of the feet's polygon"`
	PushN      *float64    `json:"push_n" jsonschema:"nullable" jsonschema_description:"that tips it; null for an anchored support"`
	WindMS     *float64    `json:"wind_m_per_s" jsonschema:"nullable"`
	SlackMM    []float64   `json:"slack_mm" jsonschema_description:"of each cable"`
}

// LoadMethodDoc is how a figure was found.
type LoadMethodDoc struct {
	Figure    string `json:"figure"`
	Formula   string `json:"formula"`
	Source    string `json:"source"`
	LeavesOut string `json:"leaves_out"`
}

// Load returns the document of a load.
func Load(basis Basis, r load.Answer) LoadDoc {
	m := r.Load.Model
	h := &m.Head
	_, masses := m.Rig.Unmeasured()
	d := LoadDoc{Rig: m.Rig.Name, Basis: basis, DecFromDeg: nearest(axes.Deg(r.DecFrom)), DecToDeg: nearest(axes.Deg(r.DecTo)),
		MissingMass: append([]string{}, r.Load.Missing...), GuessedMass: rig.Paths(masses), MassKg: nearest(r.Load.MassKg()), Balance: balanceDoc(r.Balance),
		Bending: []BendingDoc{}, Cables: []CableDoc{}, ByPose: []LoadPoseDoc{}}
	if t := r.Tipping; t != nil {
		missing := len(r.Load.Missing) > 0
		d.Tipping = tippingDoc(h, t, r.Asked, r.Remedy, missing)
		d.StandsAsAsked = t.Anchored || !missing && t.Distance.Bound > 0 && r.Remedy == (load.Remedy{})
	}
	for i := range r.Bending {
		d.Bending = append(d.Bending, bendingDoc(h, &r.Bending[i], r.Bends))
	}
	for i := range r.Cables {
		d.Cables = append(d.Cables, cableDoc(h, &r.Cables[i]))
		d.StandsAsAsked = d.StandsAsAsked && r.Cables[i].SlackMM >= 0
	}
	for i, g := range r.Poses {
		p := LoadPoseDoc{AxisPoseDoc: axisPose(h, g), SlackMM: []float64{}}
		if r.Stands != nil && len(r.Load.Missing) == 0 {
			s := &r.Stands[i]
			p.CentreMM = &[3]float64{nearest(s.Centre.X), nearest(s.Centre.Y), nearest(s.Centre.Z)}
			p.DistanceMM = some(down(s.Distance.Value))
			if !r.Tipping.Anchored {
				p.PushN, p.WindMS = some(down(s.Push.Value)), some(down(s.Wind.Value))
			}
		}
		for _, slack := range r.Slacks[i] {
			p.SlackMM = append(p.SlackMM, down(slack))
		}
		d.ByPose = append(d.ByPose, p)
	}
	for _, m := range load.Methods() {
		d.Methods = append(d.Methods, LoadMethodDoc(m))
	}
	return d
}

// some is a number that is there; nil when it is none.
func some(x float64) *float64 {
	if math.IsNaN(x) {
		return nil
	}
	return &x
}

func balanceDoc(b load.Balance) BalanceDoc {
	d, r := &b.Dec, &b.RA
	out := BalanceDoc{MissingMass: append([]string{}, b.Missing...)}
	if len(b.Missing) > 0 {
		return out
	}
	out.Declination, out.RA = &DecBalanceDoc{MassKg: nearest(d.MassKg), AlongMM: nearest(d.AlongMM), AsideMM: nearest(d.AsideMM), MomentNm: up(d.MomentNm),
		SlideMM: some(nearest(d.SlideMM)), DovetailMM: some(nearest(d.DovetailMM)), AsideKgMM: nearest(d.AsideKgMM), LeftNm: up(d.LeftNm)},
		&RABalanceDoc{MassKg: nearest(r.MassKg), TowardMM: nearest(r.TowardsSaddleMM), MomentNm: up(r.MomentNm), Weights: []WeightDoc{},
			ShiftMM: nearest(r.ShiftMM), Fits: r.Fits, LackKg: nearest(r.LackKg), LeftNm: up(r.LeftNm)}
	for _, w := range r.Weights {
		out.RA.Weights = append(out.RA.Weights, WeightDoc{w.Name, w.MassKg, nearest(w.NowMM), nearest(w.AtMM), nearest(w.LeastMM), nearest(w.GreatestMM)})
	}
	return out
}

func tippingDoc(h *axes.Head, t *load.Tipping, asked load.Wanted, remedy load.Remedy, missing bool) *TippingDoc {
	d := &TippingDoc{Anchored: t.Anchored}
	if t.Anchored {
		return d
	}
	if missing {
		d.AskedUnknown = asked != (load.Wanted{})
		return d
	}
	edge := func(e load.Edge) *EdgeDoc {
		return &EdgeDoc{down(e.Value), down(e.Bound), axisPose(h, e.At), e.Over, nearest(e.TowardsDeg), nearest(e.HeightMM)}
	}
	d.Distance, d.Moment, d.Push, d.Wind = edge(t.Distance), edge(t.Moment), edge(t.Push), edge(t.Wind)
	if asked != (load.Wanted{}) {
		d.Remedy = &RemedyDoc{asked.PushN, asked.WindMS, up(remedy.BallastKg), up(remedy.SpreadMM)}
	}
	return d
}

func bendingDoc(h *axes.Head, b *load.Bending, w load.Wanted) BendingDoc {
	d := BendingDoc{Upright: b.Name, Unknown: b.Unknown, MissingMass: append([]string{}, b.Missing...), CarriesKg: nearest(b.CarriesKg),
		PushN: w.PushN, WindMS: w.WindMS, WindAt: axisPose(h, b.Wind.At)}
	if b.Unknown != "" {
		return d
	}
	arcsec := func(rad float64) *float64 { return some(up(axes.Deg(rad) * 3600)) }
	d.PushTilt, d.PushMM = arcsec(b.Push.TiltRad), some(up(b.Push.DeflectionMM))
	d.WindTilt, d.WindProven, d.WindMM = arcsec(b.Wind.TiltRad), arcsec(b.Wind.BoundRad), some(up(b.Wind.DeflectionMM))
	if b.Frequency.Value > 0 && len(b.Missing) == 0 {
		d.FrequencyHz, d.ProvenHz = some(down(b.Frequency.Value)), some(down(b.Frequency.Bound))
	}
	return d
}

func cableDoc(h *axes.Head, c *load.Cable) CableDoc {
	d := CableDoc{Name: c.Name, LengthMM: nearest(c.LengthMM), ReachMM: nearest(c.Reach.ValueMM), ProvenMM: up(c.Reach.BoundMM), At: axisPose(h, c.Reach.At),
		LeastMM: nearest(c.Least.ValueMM), SlackMM: down(c.SlackMM), TiedMM: up(c.TiedMM), TiedSlackMM: down(c.TiedSlackMM), Spans: []SpanDoc{}}
	for _, s := range c.Spans {
		turns := map[[2]bool]string{{true, true}: "both", {true, false}: "ra", {false, true}: "dec", {false, false}: "none"}[[2]bool{s.ByRA, s.ByDec}]
		d.Spans = append(d.Spans, SpanDoc{s.From, s.To, up(s.Longest.BoundMM), axisPose(h, s.Longest.At), nearest(s.LeastMM), up(s.LoopMM), up(s.HangsMM), turns, loopDoc(h, s.Left), loopDoc(h, s.Loose)})
	}
	if t := c.Tie; t != nil {
		d.Tie = &TieDoc{t.Part, [3]float64{nearest(t.AtMM.X), nearest(t.AtMM.Y), nearest(t.AtMM.Z)}, t.After, up(t.LoopMM), up(t.WasMM), up(t.TiedMM)}
	}
	return d
}

// loopDoc is nil for a loop that was not looked at.
func loopDoc(h *axes.Head, l *load.Loop) *LoopDoc {
	if l == nil {
		return nil
	}
	d := &LoopDoc{LengthMM: up(l.LengthMM), BelowMM: up(l.Below.BoundMM), At: axisPose(h, l.Below.At), Parts: []LoopPartDoc{}}
	for _, n := range l.Parts {
		d.Parts = append(d.Parts, LoopPartDoc{n.Part, string(n.Touch), down(n.Gap.ValueMM), down(n.Gap.BoundMM), axisPose(h, n.Gap.At)})
	}
	return d
}
