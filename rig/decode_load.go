package rig

import "fmt"

// stiff checks what an upright is made of.
func (c *ruler) stiff(path string, diameter, wall *Length, m Material, modulusGPa float64) {
	if wall.Set() && diameter.Set() && wall.Value > diameter.Value/2 {
		c.wrong(path+".wall_mm", fmt.Sprintf("a wall of %s mm does not fit a diameter of %s mm", format(wall.Value), format(diameter.Value)), "write half of the diameter for a solid one")
	}
	if m != "" && modulusGPa != 0 {
		c.wrong(path+".modulus_gpa", "material says it already", "keep one of the two")
	}
}

// maxCables bounds the cables of a document, and the ties of one.
const maxCables = 100

func (c *ruler) cables(r *Rig) {
	if len(r.Cables) > maxCables {
		c.wrong("cables", fmt.Sprintf("there are %d cables", len(r.Cables)), fmt.Sprintf("at most %d are read", maxCables))
		return
	}
	seen := map[string]bool{}
	for i := range r.Cables {
		k, p := &r.Cables[i], fmt.Sprintf("cables[%d]", i)
		if seen[k.Name] && k.Name != "" {
			c.wrong(p+".name", fmt.Sprintf("there are two cables %q", clip(k.Name)), "give each cable a name of its own")
		}
		seen[k.Name] = true
		if len(k.Ties) > maxCables {
			c.wrong(p+".ties", fmt.Sprintf("there are %d ties", len(k.Ties)), fmt.Sprintf("at most %d are read", maxCables))
			continue
		}
		c.anchor(&k.Plug, p+".plug")
		for j := range k.Ties {
			c.anchor(&k.Ties[j], fmt.Sprintf("%s.ties[%d]", p, j))
		}
		c.anchor(&k.Box, p+".box")
	}
}

// anchor wants a part or a frame, and in a frame a place. Whether there is such a part is known when the parts are.
func (c *ruler) anchor(a *Anchor, path string) {
	part, frame := c.has(path, "part"), c.has(path, "frame")
	switch {
	case part && frame:
		c.wrong(path+".frame", "it is held by a part and in a frame", "keep one of the two")
	case !part && !frame:
		c.wrong(path, "neither part nor frame is there", "add `part: camera`, or `frame: tube` with `at_mm: [x, y, z]`")
	case frame && !c.has(path, "at_mm"):
		c.wrong(path, "at_mm is missing", "add `at_mm: [x, y, z]`, its place in the frame")
	}
	if a.AtMM != nil && len(a.AtMM) != 3 {
		c.wrong(path+".at_mm", "it has "+count(len(a.AtMM), "number", "numbers")+", but a place has 3", "write [x, y, z]")
	}
}
