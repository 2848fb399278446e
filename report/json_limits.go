package report

import (
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Span is [from, to].
type Span [2]float64

// LimitsDoc is the document of `legroom limits`.
type LimitsDoc struct {
	Rig string `json:"rig"`
	Basis
	Night         string       `json:"night" jsonschema_description:"date of the evening, at the site, of the night that confirmed is about: tonight's"`
	Confirmed     bool         `json:"confirmed" jsonschema_description:"whether the owner has confirmed the set-up list for that night; until then the limits are planned only"`
	Unconfirmed   string       `json:"unconfirmed" jsonschema_description:"why it is not confirmed; empty when it is"`
	ByDeclination []RowDoc     `json:"by_declination"`
	SlewOrders    []OrderDoc   `json:"slew_orders" jsonschema_description:"empty where the document says in which order the mount turns its axes; else what the bands have as it stands (unknown: each order must be free), and what they would have if the document said which"`
	TwoNumber     TwoNumberDoc `json:"two_number"`
	RoomPercent   ShareDoc     `json:"room_percent" jsonschema_description:"free part of the sky above the horizon"`
	CheckErrors   []string     `json:"check_errors" jsonschema_description:"what legroom check calls an error of this rig: until they are mended the limits are not to be trusted, and the set-up is not confirmed"`
	Mine          *MineDoc     `json:"mine,omitempty"`
}

// RowDoc is the answer for one band of declination, the worst over the band.
type RowDoc struct {
	DecFromDeg   float64     `json:"dec_from_deg"`
	DecToDeg     float64     `json:"dec_to_deg"`
	DecDeg       float64     `json:"dec_deg" jsonschema_description:"the middle of the band"`
	WestFreeH    []Span      `json:"west_free_h" jsonschema_description:"free hour angles on side west, unwrapped, rounded inwards"`
	EastFreeH    []Span      `json:"east_free_h"`
	StopH        *float64    `json:"stop_h" jsonschema:"nullable" jsonschema_description:"where an unattended run on side west must end; null only when stop_reason says that there is no such hour angle"`
	StopReason   room.Reason `json:"stop_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable" jsonschema_description:"horizon: no limit, it sets first; never_ends: no limit as far as its lower transit, and it does not set"`
	ResumeH      *float64    `json:"resume_h" jsonschema:"nullable" jsonschema_description:"where the run on side east may start at the earliest; null as stop_h"`
	ResumeReason room.Reason `json:"resume_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	FlipH        []Span      `json:"flip_h" jsonschema_description:"start hour angles from which the flip is proven"`
	IdleMin      float64     `json:"idle_min" jsonschema_description:"minutes between stop and resume when no flip window exists"`
	CrossH       *float64    `json:"cross_h" jsonschema:"nullable" jsonschema_description:"without a flip window: the earliest hour angle at which the slew to side east, from where the run on side west stopped with tracking off, is proven; null with a flip window, and when none was found within two hours"`
	WestOtherH   []Span      `json:"west_other_h" jsonschema_description:"of west_free_h, above the horizon: the runs that a contact cuts off from the one that stop_h ends; tracking does not lead there, a slew may"`
	EastOtherH   []Span      `json:"east_other_h" jsonschema_description:"of east_free_h, above the horizon: the runs that a contact cuts off from the one that resume_h begins"`
}

// OrderDoc is what the bands with a run on both sides have in one order of the axes, each band as much as another.
type OrderDoc struct {
	Order   rig.Order `json:"axis_order" jsonschema:"enum=unknown,enum=both_at_once,enum=ra_first,enum=dec_first"`
	FlipMin float64   `json:"mean_flip_min" jsonschema_description:"flip windows, minutes, in the mean over the bands"`
	IdleMin float64   `json:"mean_idle_min"`
	NoFlip  int       `json:"bands_without_flip"`
	Bands   int       `json:"bands"`
}

// TwoNumberDoc is one RA axis limit a side.
type TwoNumberDoc struct {
	WestDeg      float64 `json:"west_deg" jsonschema_description:"RA axis from counterweight-down"`
	EastDeg      float64 `json:"east_deg"`
	EntryStepDeg float64 `json:"entry_step_deg" jsonschema_description:"step in which the mount takes a limit"`
	WestEntryDeg float64 `json:"west_entry_deg" jsonschema_description:"to enter: rounded down to the step"`
	EastEntryDeg float64 `json:"east_entry_deg"`
	MeridianDoc
	DecFromDeg      float64     `json:"dec_from_deg" jsonschema_description:"the pair, safe and unprotected are for declinations from here to dec_to_deg only; -90 to 90: all. A mount keeps the pair at every declination"`
	DecToDeg        float64     `json:"dec_to_deg"`
	Safe            bool        `json:"safe" jsonschema_description:"every pose above the horizon between them, at dec_from_deg to dec_to_deg, is proven free"`
	RoomCostPercent float64     `json:"room_cost_percent" jsonschema_description:"of the pair to enter: of the room on either side with limits by declination"`
	Unprotected     []IslandDoc `json:"unprotected" jsonschema_description:"contact inside the pair: not protected by these numbers"`
	Strict          *StrictDoc  `json:"strict" jsonschema:"nullable" jsonschema_description:"the largest pair with nothing unprotected inside; null where even counterweight-down is not free, so that there is none"`
}

// MeridianDoc is where a pair of RA axis limits lies from the meridian.
type MeridianDoc struct {
	WestPastMeridianMin        *float64 `json:"west_past_meridian_min" jsonschema:"nullable" jsonschema_description:"of west_deg: tracked no longer than that, side west keeps within it; negative: before the meridian. 4 minutes a degree of the axis; with a head that is off the pole the least of the declinations from minutes_dec_from_deg to minutes_dec_to_deg, for the axis comes there at another hour angle at each. null: there is none, go by the axis angle alone"`
	EastBeforeMeridianMin      *float64 `json:"east_before_meridian_min" jsonschema:"nullable" jsonschema_description:"of east_deg: started no earlier than that, side east keeps within it; negative: past the meridian; null as west_past_meridian_min"`
	WestEntryPastMeridianMin   *float64 `json:"west_entry_past_meridian_min" jsonschema:"nullable" jsonschema_description:"west_past_meridian_min of west_entry_deg"`
	EastEntryBeforeMeridianMin *float64 `json:"east_entry_before_meridian_min" jsonschema:"nullable" jsonschema_description:"east_before_meridian_min of east_entry_deg"`
	MinutesDecFromDeg          *float64 `json:"minutes_dec_from_deg" jsonschema:"nullable" jsonschema_description:"the minutes are for declinations from here to minutes_dec_to_deg: the pair's own; with a head that is off the pole without those that never rise or lie near a pole, where no hour angle says where the axis is; null: for none"`
	MinutesDecToDeg            *float64 `json:"minutes_dec_to_deg" jsonschema:"nullable"`
	OffPoleDeg                 float64  `json:"off_pole_deg" jsonschema_description:"how far the polar axis points from the pole"`
}

// StrictDoc is the pair with nothing unprotected inside.
type StrictDoc struct {
	WestDeg         float64 `json:"west_deg"`
	EastDeg         float64 `json:"east_deg"`
	WestEntryDeg    float64 `json:"west_entry_deg"`
	EastEntryDeg    float64 `json:"east_entry_deg"`
	RoomCostPercent float64 `json:"room_cost_percent"`
}

// IslandDoc is a place of contact inside a pair of limits.
type IslandDoc struct {
	Side       string  `json:"side" jsonschema:"enum=west,enum=east"`
	RAFromDeg  float64 `json:"ra_axis_from_deg"`
	RAToDeg    float64 `json:"ra_axis_to_deg"`
	DecFromDeg float64 `json:"dec_from_deg"`
	DecToDeg   float64 `json:"dec_to_deg"`
	A          string  `json:"a"`
	B          string  `json:"b"`
}

// ShareDoc is the room in percent.
type ShareDoc struct {
	West   float64 `json:"west"`
	East   float64 `json:"east"`
	Either float64 `json:"either"`
}

// MineDoc answers for the limits that the owner already has.
type MineDoc struct {
	WestDeg         float64     `json:"west_deg"`
	EastDeg         float64     `json:"east_deg"`
	DecFromDeg      float64     `json:"dec_from_deg" jsonschema_description:"safe is for declinations from here to dec_to_deg only; -90 to 90: all"`
	DecToDeg        float64     `json:"dec_to_deg"`
	Safe            bool        `json:"safe" jsonschema_description:"every pose above the horizon between them, at dec_from_deg to dec_to_deg, is proven free"`
	Contacts        []IslandDoc `json:"contacts"`
	RoomCostPercent float64     `json:"room_cost_percent"`
	BestCostPercent float64     `json:"best_room_cost_percent" jsonschema_description:"of the best pair, to compare"`
}

// Limits returns the document of a rig's limits. mine may be nil; wrong is what CheckErrors says of the rig.
func Limits(r *rig.Rig, l *room.Limits, mine *room.Mine, setup rig.Setup, wrong []string) LimitsDoc {
	d := LimitsDoc{
		Rig: r.Name,
		Basis: Basis{Fingerprint: l.Fingerprint, MarginMM: l.MarginMM, Mode: l.Mode, ToleranceMM: up(l.ToleranceMM),
			Unmeasured: append([]string{}, l.Unmeasured...), Without: l.Without},
		Night:         setup.Night,
		Confirmed:     setup.Confirmed,
		Unconfirmed:   setup.Reason,
		CheckErrors:   append([]string{}, wrong...),
		ByDeclination: []RowDoc{},
		SlewOrders:    []OrderDoc{},
		TwoNumber:     twoNumber(l.Two, r.Mount.EntryStepDeg),
		RoomPercent:   ShareDoc{West: percent(l.Room.West), East: percent(l.Room.East), Either: percent(l.Room.Either)},
	}
	for i := range l.Rows {
		d.ByDeclination = append(d.ByDeclination, rowDoc(&l.Rows[i]))
	}
	for _, o := range l.Orders {
		d.SlewOrders = append(d.SlewOrders, OrderDoc{o.Order, down(axes.Minutes(o.Flip)), up(axes.Minutes(o.Idle)), o.NoFlip, o.Of})
	}
	if mine != nil {
		d.Mine = &MineDoc{WestDeg: nearest(axes.Deg(mine.West)), EastDeg: nearest(axes.Deg(mine.East)), Safe: mine.Safe,
			DecFromDeg: up(axes.Deg(mine.Best.DecFrom)), DecToDeg: down(axes.Deg(mine.Best.DecTo)), Contacts: islands(mine.Contacts), RoomCostPercent: percent(mine.RoomCost), BestCostPercent: percent(mine.Best.RoomCost)}
	}
	return d
}

// percent keeps four decimals of a share.
func percent(share float64) float64 { return math.Round(share*1e6) / 1e4 }

func rowDoc(r *room.Row) RowDoc {
	d := RowDoc{
		DecFromDeg: nearest(axes.Deg(r.DecFrom)), DecToDeg: nearest(axes.Deg(r.DecTo)), DecDeg: nearest(axes.Deg((r.DecFrom + r.DecTo) / 2)),
		WestFreeH: inward(r.West), EastFreeH: inward(r.East), FlipH: inward(r.Flip), WestOtherH: inward(r.WestOther), EastOtherH: inward(r.EastOther),
		StopReason: r.Stop.Reason, ResumeReason: r.Resume.Reason,
		IdleMin: up(axes.Minutes(r.Idle)),
	}
	if hasAngle(r.Stop.Reason) {
		h := hoursDown(r.Stop.HourAngle)
		d.StopH = &h
	}
	if hasAngle(r.Resume.Reason) {
		h := hoursUp(r.Resume.HourAngle)
		d.ResumeH = &h
	}
	if r.CrossProven {
		h := hoursUp(r.Cross)
		d.CrossH = &h
	}
	return d
}

// hasAngle tells whether a run ends at an hour angle at all.
func hasAngle(r room.Reason) bool { return r != room.NeverEnds && r != room.NeverUsable }

// inward converts to hours and rounds each interval inwards; one that rounds away is left out.
func inward(in []room.Interval) []Span {
	out := []Span{}
	for _, i := range in {
		if s := (Span{hoursUp(i.From), hoursDown(i.To)}); s[0] <= s[1] {
			out = append(out, s)
		}
	}
	return out
}

func twoNumber(t room.TwoNumber, step float64) TwoNumberDoc {
	if step <= 0 {
		step = 1
	}
	strict := &StrictDoc{WestDeg: down(axes.Deg(t.StrictWest)), EastDeg: down(axes.Deg(t.StrictEast)),
		WestEntryDeg: room.Entry(t.StrictWest, step), EastEntryDeg: room.Entry(t.StrictEast, step), RoomCostPercent: percent(t.StrictRoomCost)}
	if strict.WestEntryDeg+strict.EastEntryDeg <= 0 {
		strict = nil
	}
	return TwoNumberDoc{
		WestDeg: down(axes.Deg(t.West)), EastDeg: down(axes.Deg(t.East)),
		EntryStepDeg: step, WestEntryDeg: room.Entry(t.West, step), EastEntryDeg: room.Entry(t.East, step),
		MeridianDoc: meridian(&t),
		DecFromDeg:  up(axes.Deg(t.DecFrom)), DecToDeg: down(axes.Deg(t.DecTo)), Safe: t.Safe, RoomCostPercent: percent(t.RoomCost), Unprotected: islands(t.Unprotected),
		Strict: strict,
	}
}

// meridian writes where the pair lies from the meridian, the minutes rounded down: what is taken away is time.
func meridian(t *room.TwoNumber) MeridianDoc {
	d := MeridianDoc{OffPoleDeg: up(axes.Deg(t.Meridian.Off))}
	past := func(hourAngle float64) *float64 {
		x := down(axes.Minutes(hourAngle))
		return &x
	}
	if m := &t.Meridian; m.Found {
		d.WestPastMeridianMin, d.EastBeforeMeridianMin = past(m.West), past(-m.East)
		from, to := up(axes.Deg(m.DecFrom)), down(axes.Deg(m.DecTo))
		d.MinutesDecFromDeg, d.MinutesDecToDeg = &from, &to
	}
	if m := &t.Entered; m.Found {
		d.WestEntryPastMeridianMin, d.EastEntryBeforeMeridianMin = past(m.West), past(-m.East)
	}
	return d
}

func islands(in []room.Island) []IslandDoc {
	out := []IslandDoc{}
	for _, i := range in {
		out = append(out, IslandDoc{Side: i.Side.String(), RAFromDeg: down(axes.Deg(i.RAFrom)), RAToDeg: up(axes.Deg(i.RATo)),
			DecFromDeg: down(axes.Deg(i.DecFrom)), DecToDeg: up(axes.Deg(i.DecTo)), A: i.A, B: i.B})
	}
	return out
}
