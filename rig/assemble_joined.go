package rig

import (
	"fmt"
	"slices"
	"strings"
)

// OwnJoint is a pair that the document joins.
type OwnJoint struct {
	Pair [2]int // indices into Assembly.Parts, a < b
	Path string // of the joint, such as mount.joints[0]
}

// joined lists the pairs that touch by construction: the two housings where the axes cross, and what sits on the end of the
// declination housing; then the document's own, which are listed apart too, each pair once.
func (b *assembler) joined() (all [][2]int, own []OwnJoint, err error) {
	named := b.named()
	pairs := func(x, y string) (out [][2]int) {
		for _, i := range named[x] {
			for _, j := range named[y] {
				if i != j {
					out = append(out, [2]int{min(i, j), max(i, j)})
				}
			}
		}
		return out
	}
	all = append(all, pairs("polar housing", "declination housing")...)
	all = append(all, pairs("declination housing", "saddle")...)
	// The dovetail's underside is the saddle's clamping face, a plane square to the declination axis at its end: the gap
	// between a plate that turns in that plane and a round housing about that axis never changes.
	all = append(all, pairs("declination housing", "dovetail")...)

	for _, list := range []struct {
		path   string
		joints []Joint
	}{{"mount.joints", b.r.Mount.Joints}, {"joints", b.r.Joints}} {
		for i, j := range list.joints {
			path := fmt.Sprintf("%s[%d]", list.path, i)
			for k, n := range j {
				if len(named[n]) == 0 && !b.leftOut(n) {
					err := b.noPart(fmt.Sprintf("%s[%d]", path, k), n)
					return nil, nil, err
				}
			}
			for _, p := range pairs(j[0], j[1]) {
				if !slices.Contains(all, p) {
					all, own = append(all, p), append(own, OwnJoint{p, path})
				}
			}
		}
	}
	slices.SortFunc(all, func(x, y [2]int) int {
		if x[0] != y[0] {
			return x[0] - y[0]
		}
		return x[1] - y[1]
	})
	return slices.Compact(all), own, nil
}

// passing leaves of the document's joints those of parts whose gap changes as an axis turns.
func passing(asm *Assembly, own []OwnJoint) []OwnJoint {
	var out []OwnJoint
	for _, j := range own {
		a, b := &asm.Parts[j.Pair[0]], &asm.Parts[j.Pair[1]]
		moves := a.Frame != b.Frame && (a.Frame == Arm || a.Frame == TubeFrame || b.Frame == Arm || b.Frame == TubeFrame)
		if moves && !keepsGap(a, b) {
			out = append(out, j)
		}
	}
	return out
}

// OfMount tells whether a part is the mount's own: whoever made the mount built it to stay clear of the mount's other parts, or to touch
// them.
func (p *Part) OfMount() bool { return strings.HasPrefix(p.From, "mount.") }
