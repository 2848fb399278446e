package rig

import (
	"fmt"
	"strings"
)

// Masses are the total masses of a rig by group, kg.
type Masses struct{ Support, Mount, Counterweights, Tube float64 }

// Total is the mass of all groups together, kg.
func (m Masses) Total() float64 { return m.Support + m.Mount + m.Counterweights + m.Tube }

// Masses adds up what the document gives; what has no mass there counts nothing. Extra parts count with the group of the
// section that lists them, those of the rig's own list with the frame they move with (ground: the support).
func (r *Rig) Masses() Masses {
	var m Masses
	s, mt, t := &r.Support, &r.Mount, &r.Tube
	m.Support += s.MassKg.Value
	for _, c := range []*Column{s.Column, s.Extension} {
		if c != nil {
			m.Support += c.MassKg.Value
		}
	}
	if mt.Base != nil {
		m.Mount += mt.Base.MassKg.Value
	}
	m.Mount += mt.PolarHousing.MassKg.Value + mt.DeclinationHousing.MassKg.Value
	if c := mt.Counterweights; c != nil {
		m.Counterweights += c.BarMassKg.Value
		for _, w := range c.Weights {
			m.Counterweights += w.MassKg.Value
		}
	}
	if mt.Saddle != nil {
		m.Mount += mt.Saddle.MassKg.Value
	}
	for _, p := range []*Plate{t.Dovetail, t.TopRail} {
		if p != nil {
			m.Tube += p.MassKg.Value
		}
	}
	for _, p := range t.Sections {
		m.Tube += p.MassKg.Value
	}
	if t.Train != nil {
		for _, p := range t.Train.Items {
			m.Tube += p.MassKg.Value
		}
	}
	for _, p := range t.GuideTubes {
		m.Tube += p.MassKg.Value
	}
	for _, p := range mt.Parts {
		m.Mount += p.MassKg.Value
	}
	for _, p := range t.Parts {
		m.Tube += p.MassKg.Value
	}
	for _, p := range r.Parts {
		switch p.Frame {
		case Polar, Arm:
			m.Mount += p.MassKg.Value
		case TubeFrame:
			m.Tube += p.MassKg.Value
		default:
			m.Support += p.MassKg.Value
		}
	}
	return m
}

func (f *finder) masses() {
	m := f.r.Masses()
	given := func(kg float64) string {
		if kg == 0 {
			return "not given"
		}
		return fmt.Sprintf("%.4g kg", kg)
	}
	f.on(FindingNote, "", "masses: support %s, mount %s, counterweights %s, tube with train %s, together %s%s",
		given(m.Support), given(m.Mount), given(m.Counterweights), given(m.Tube), given(m.Total()), f.without())
	if c := f.r.Mount.Counterweights; c != nil && len(c.Weights) > 0 && m.Tube > 0 && m.Counterweights == 0 {
		f.on(FindingNote, "mount.counterweights", "the tube has masses and the counterweights have none, so that balance cannot be told")
	}
}

// without names what the sum of the masses leaves out, for want of one in the document.
func (f *finder) without() string {
	var names []string
	if !f.r.Support.MassKg.Set() {
		names = append(names, string(f.r.Support.Kind))
	}
	if a, err := f.r.Assemble(nil); err == nil {
		for i := range a.Parts {
			if p := &a.Parts[i]; p.Unweighed && p.OnSupport() {
				names = append(names, p.Name)
			}
		}
	}
	const shown = 6
	switch n := len(names); {
	case n == 0:
		return ""
	case n > shown+1:
		names = append(names[:shown], fmt.Sprintf("%d more", n-shown))
	}
	last := len(names) - 1
	if last == 0 {
		return " without " + names[0] + ", which has no mass in the document"
	}
	return " without " + strings.Join(names[:last], ", ") + " and " + names[last] + ", which have no mass in the document"
}
