// Package indi speaks the open INDI wire protocol 1.7, XML elements over TCP: a client that is a mount.Telescope, and the
// server side that a simulated mount stands on.
//
// A device has properties. Each is a vector of members of one kind with a state; the device defines it (def), tells changes
// (set) and takes it away (del), and a client asks for definitions (get) and wishes for values (new). There are no numbers
// that tie an answer to its question, and no authentication: it belongs on a network that is trusted.
package indi

import (
	"slices"
	"time"
)

// Kind is what the members of a vector are.
type Kind int8

const (
	Text Kind = iota + 1
	Number
	Switch
	Light
	BLOB // passed over: the client never enables it, the server has none
)

var kinds = map[Kind]string{Text: "Text", Number: "Number", Switch: "Switch", Light: "Light", BLOB: "BLOB"}

func (k Kind) String() string { return kinds[k] }

// State of a property. Unstated in a set leaves it as it was.
type State int8

const (
	Unstated State = iota
	Idle
	Ok
	Busy  // the device works on it
	Alert // the device could not, and its values may be worth nothing
)

var states = map[State]string{Idle: "Idle", Ok: "Ok", Busy: "Busy", Alert: "Alert"}

func (s State) String() string { return states[s] }

// Vector is a property: what defines it, and its values. A set or a new carries only Device, Name, Kind and some members, a
// set also State and Message.
type Vector struct {
	Device, Name string
	Kind         Kind
	Label, Group string
	State        State
	Perm         string    // "ro", "wo" or "rw"
	Rule         string    // of switches: "OneOfMany", "AtMostOne" or "AnyOfMany"
	Message      string    // in the device's words
	Stamp        time.Time // when the device told it, by a clock of its own; zero: not told
	Members      []Member
}

// Member is one value of a vector. Which fields count follows from the vector's kind.
type Member struct {
	Name, Label string
	Text        string  // the value of a Text; of others as it stood on the wire
	Number      float64 // in the unit that the property has on the wire
	On          bool
	Light       State

	// Of numbers: a format for people, and the range that a client may wish for if Max is more than Min.
	Format         string
	Min, Max, Step float64
}

// Member finds a member by its name.
func (v Vector) Member(name string) (Member, bool) {
	for _, m := range v.Members {
		if m.Name == name {
			return m, true
		}
	}
	return Member{}, false
}

// On names the switches that are on.
func (v Vector) On() []string {
	var on []string
	for _, m := range v.Members {
		if m.On {
			on = append(on, m.Name)
		}
	}
	return on
}

// names tells whether a set tells all the members of a vector.
func (v Vector) names(of Vector) bool {
	return !slices.ContainsFunc(of.Members, func(m Member) bool {
		_, ok := v.Member(m.Name)
		return !ok
	})
}

// with is the vector with the values, the state and the message of a set. Members that it does not have are passed over.
func (v Vector) with(set Vector) Vector {
	v.Members = slices.Clone(v.Members)
	for _, m := range set.Members {
		for i := range v.Members {
			if to := &v.Members[i]; to.Name == m.Name {
				to.Text, to.Number, to.On, to.Light = m.Text, m.Number, m.On, m.Light
			}
		}
	}
	if set.State != Unstated {
		v.State = set.State
	}
	v.Message, v.Stamp = set.Message, set.Stamp
	return v
}
