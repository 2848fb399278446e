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
	for _, p := range d.ByPose {
		row := []string{p.Side, csvNear(p.HourAngleH, csvHour), csvNear(p.DecDeg, csvDeg), csvNear(p.RAAxisDeg, csvDeg), csvNear(p.DecAxisDeg, csvDeg)}
		if p.CentreMM == nil {
			row = append(row, "", "", "")
		} else {
			row = append(row, csvNear(p.CentreMM[0], csvMM), csvNear(p.CentreMM[1], csvMM), csvNear(p.CentreMM[2], csvMM))
		}
		row = append(row, csvMaybe(p.DistanceMM, csvDown, csvMM), csvMaybe(p.PushN, csvDown, csvOther), csvMaybe(p.WindMS, csvDown, csvOther))
		for _, s := range p.SlackMM {
			row = append(row, csvDown(s, csvMM))
		}
		c.Write(row)
	}
	c.Flush()
	return c.Error()
}
