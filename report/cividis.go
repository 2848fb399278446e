package report

import (
	"image/color"
	"math"
)

// cividis is the scale of gaps, t from 0 (little room, dark) to 1 (much room, light). Its lightness rises evenly, so that it
// reads alike with any colour vision and in black and white.
//
// Nuñez, Anderton, Renslow, "Optimizing colormaps with consideration for color vision deficiency", PLoS ONE 13(7), 2018,
// e0199239; here as fifth-degree polynomials fitted to their table [mem], whose ends are (0, 34, 78) and (254, 232, 56).
func cividis(t float64) color.NRGBA {
	t = math.Max(0, math.Min(1, t))
	poly := func(a, b, c, d, e, f float64) uint8 {
		return uint8(math.Round(math.Max(0, math.Min(255, a+t*(b+t*(c+t*(d+t*(e+t*f))))))))
	}
	return color.NRGBA{
		R: poly(-4.54, -35.34, 2381.73, -6402.7, 7024.72, -2710.57),
		G: poly(32.49, 170.73, 52.82, -131.46, 176.58, -67.37),
		B: poly(81.24, 442.36, -2482.43, 6167.24, -6614.94, 2475.67),
		A: 255,
	}
}

// The other colours. Vermilion, blue, orange and sky blue are of the set by Okabe and Ito, "Color universal design", 2008 [mem].
var (
	ink       = color.NRGBA{0x11, 0x11, 0x11, 255}
	quiet     = color.NRGBA{0x55, 0x55, 0x55, 255} // second text: 7.5:1 on paper
	rule      = color.NRGBA{0x99, 0x99, 0x99, 255}
	ground    = color.NRGBA{0xdd, 0xdd, 0xdd, 255} // below the horizon
	paper     = color.NRGBA{0xff, 0xff, 0xff, 255}
	vermilion = color.NRGBA{0xd5, 0x5e, 0x00, 255}
	blue      = color.NRGBA{0x00, 0x72, 0xb2, 255}
	orange    = color.NRGBA{0xe6, 0x9f, 0x00, 255}
	skyBlue   = color.NRGBA{0x56, 0xb4, 0xe9, 255}
	grey      = color.NRGBA{0x7a, 0x7a, 0x7a, 255}
	stripe    = color.NRGBA{0xf0, 0xf0, 0xf0, 255} // every second row
)
