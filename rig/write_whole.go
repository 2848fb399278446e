package rig

import "strings"

// Whole is the rig as one document that stands alone: what it takes from other files is in it, comments are not.
func (r *Rig) Whole() []byte {
	var b strings.Builder
	for _, e := range r.tree.entries {
		b.WriteString(word(e.key, false) + ": " + flowText(e.value) + "\n")
	}
	return []byte(b.String())
}
