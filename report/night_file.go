package report

import (
	"io"
	"time"

	"legroom/night"
)

// nightDPI is how fine a night's picture is as PNG, dots an inch.
const nightDPI = 150

// WriteNightAs writes a night in one of the forms that it comes in: pdf (one page), svg and png (its picture), ics, json, and csv of the
// table "targets" or else of the schedule; text for any other. The doc is of the plan.
func WriteNightAs(w io.Writer, form, table string, p *night.Plan, doc NightDoc, now time.Time) error {
	chart := PlanChart{Plan: p, Doc: doc}
	switch form {
	case "json":
		return Write(w, doc)
	case "ics":
		return WriteCalendar(w, doc, now)
	case "csv":
		if table == "targets" {
			return WriteTargetsCSV(w, doc)
		}
		return WriteScheduleCSV(w, doc)
	case "pdf":
		return WritePlan(w, chart)
	case "svg":
		return chart.WriteSVG(w)
	case "png":
		return chart.WritePNG(w, nightDPI)
	}
	return WriteNight(w, doc)
}
