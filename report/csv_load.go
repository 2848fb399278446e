package report

import (
	"encoding/csv"
	"io"
)

// WriteLoadCSV writes the load pose by pose as comma-separated values; a cell is empty where the JSON has null.
func WriteLoadCSV(w io.Writer, d LoadDoc) error {
	c := csv.NewWriter(w)
	head := []string{"side", "hour_angle_h", "dec_deg", "ra_axis_deg", "dec_axis_deg", "centre_x_mm", "centre_y_mm", "centre_z_mm", "distance_mm", "push_n", "wind_m_per_s"}
	for _, k := range d.Cables {
		head = append(head, cell("slack_mm "+k.Name))
	}
	c.Write(head)
	maybe := func(x *float64) string {
		if x == nil {
			return ""
		}
		return number(*x)
	}
	for _, p := range d.ByPose {
		row := []string{p.Side, number(p.HourAngleH), number(p.DecDeg), number(p.RAAxisDeg), number(p.DecAxisDeg)}
		if p.CentreMM == nil {
			row = append(row, "", "", "")
		} else {
			row = append(row, number(p.CentreMM[0]), number(p.CentreMM[1]), number(p.CentreMM[2]))
		}
		row = append(row, maybe(p.DistanceMM), maybe(p.PushN), maybe(p.WindMS))
		for _, s := range p.SlackMM {
			row = append(row, number(s))
		}
		c.Write(row)
	}
	c.Flush()
	return c.Error()
}
