package rig

import (
	"fmt"
	"slices"
	"strings"
)

// Known says what a question knows of the rig's conditions: those that hold and those that do not. It refuses a name that the
// document does not have.
func (r *Rig) Known(holds, holdsNot []string) (Conditions, error) {
	known := Conditions{}
	for state, names := range map[State][]string{Holds: holds, HoldsNot: holdsNot} {
		for _, n := range names {
			if !slices.Contains(r.ConditionNames(), n) {
				return nil, fmt.Errorf("condition %q is not in %s: it has %s", n, r.Path, quoted(r.ConditionNames()))
			}
			if s, twice := known[n]; twice && s != state {
				return nil, fmt.Errorf("condition %q is said both to hold and not to hold (with, without)", n)
			}
			known[n] = state
		}
	}
	return known, nil
}

func quoted(names []string) string {
	q := make([]string, len(names))
	for i, n := range names {
		q[i] = fmt.Sprintf("%q", n)
	}
	return strings.Join(q, ", ")
}
