package solid

// Depth returns the signed gap.
func Depth(a, b *Placed) Gap {
	g := Distance(a, b)
	return g
}
