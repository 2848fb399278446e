package load

// Method is how a figure is found: what a reader needs to judge it.
type Method struct{ Figure, Formula, Source, LeavesOut string }

// Methods lists how the figures of a load are found.
func Methods() []Method {
	return []Method{
		{"balance", "moment = m · g · distance of the centre of mass from the axis, g = 9.80665 m/s²; the RA axis times the cosine of its altitude",
			"statics of a rigid body", "friction of the axes; what a cable pulls; tolerances of lengths and masses; where inside of a part its mass is (its centre is taken)"},
		{"tipping", "over an edge of the feet's polygon: m · g · distance of the centre of mass inside of it ≥ force · height",
			"statics of a rigid body; the polygon is the convex hull of the feet (Andrew 1979)",
			"ground, feet and legs that give; jerks; tolerances of lengths and masses; the mass of what has none in the document; poses below the horizon that a slew passes"},
		{"wind", "force = ½ · 1.25 kg/m³ · v² · Σ drag coefficient · projected area, each at its part's centre, from every direction",
			"coefficients by length over diameter: White, Fluid Mechanics, table 7.3; density: EN 1991-1-4 [both from memory]",
			"gusts and the swing that they start; sheltering of one part by another, parts inside of others (both make it stand more)"},
		{"bending", "hollow cantilever: tilt = F·L²/2EI + M·L/EI, deflection = F·L³/3EI + M·L²/2EI, I = π(D⁴ − d⁴)/64",
			"Roark's Formulas for Stress and Strain, table 8.1; E: aluminium 69 GPa, steel 210 GPa",
			"joints, flanges, bolts, legs, feet and the mount, which give as well and mostly more; torsion"},
		{"first frequency", "ω⁻² = greatest eigenvalue of flexibility × mass of the rigid burden on the cantilever's top, 33/140 of its own mass with it",
			"Roark, table 16.1; the burden's height and inertia by Rayleigh's quotient of two degrees of freedom",
			"as bending: the real one is lower"},
		{"cables", "Σ straight lines from tie to tie, the greatest over all used poses",
			"geometry; the greatest is proven by a bound over each cell of both axis angles",
			"the way round a housing, stiffness, the twist at a tie; axes that turn more than once around; cables take no part in gaps"},
		{"hanging loops", "hanging still: upright below the straight line from tie to tie, and |XA| + |XB| ≤ length; however it lies: |XA| + |XB| ≤ length alone. The cable counts as up to 10 mm thick",
			"statics of a string; geometry of the ellipse; the least gap is proven by a bound over each cell of both axis angles",
			"hanging still: wind, a loop that swings in a slew, stiffness, the way that a plug points, and where else a loop goes that lies on something; both: tolerances of other lengths than the cable's"},
	}
}
