package room

// Raster returns the torus in the map's smallest cells: n × n states from −180° of either axis, the RA axis the faster index. A
// cell is free only when every pose in it is proven free, and blocked only when no pose in it is free.
func (m *Map) Raster() (n int, states []State) {
	n = m.n << m.depth
	states = make([]State, n*n)
	for i := range m.roots {
		m.roots[i].paint(0, states, n, i%m.n<<m.depth, i/m.n<<m.depth, 1<<m.depth)
	}
	ra := m.ra.cells(n)
	var columns []int // where the RA axis alone decides
	for i := range ra {
		if ra[i] != Free {
			columns = append(columns, i)
		}
	}
	for j, s := range m.dec.cells(n) {
		row := states[j*n : (j+1)*n]
		for _, i := range columns {
			row[i] = worse(row[i], ra[i])
		}
		if s != Free {
			for i := range row {
				row[i] = worse(row[i], s)
			}
		}
	}
	return n, states
}

// paint fills the square of width cells at (ra, dec) with what node k says of it.
func (q *quad) paint(k int32, states []State, n, ra, dec, width int) {
	node := q.nodes[k]
	if node.first == 0 {
		for j := dec; j < dec+width; j++ {
			row := states[j*n+ra : j*n+ra+width]
			for i := range row {
				row[i] = node.state
			}
		}
		return
	}
	half := width / 2
	for c := range int32(4) {
		q.paint(node.first+c, states, n, ra+int(c&1)*half, dec+int(c>>1)*half, half)
	}
}

// cells cuts the axis into n equal cells; one with more than one state in it is edge, State's zero.
func (l *line) cells(n int) []State {
	out := make([]State, n)
	for i := range out {
		from, to := turn*float64(i)/float64(n)-turn/2, turn*float64(i+1)/float64(n)-turn/2
		if k := l.at(from + joinSlop); k == l.at(to-joinSlop) {
			out[i] = l.states[k]
		}
	}
	return out
}
