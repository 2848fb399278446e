package web

import (
	"strings"
	"testing"

	"legroom/report"
)

// A night is planned for the rig's own targets or for those that come with the question, and its files are of their kind.
func TestNight(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	const ask = `{"id": "karoo-newtonian", "date": "2026-06-14", "sub_s": 600`
	if got := s.get(422, "POST", "/api/night", ask+`}`); !strings.Contains(got, "no targets yet") {
		t.Errorf("without targets: %s", got)
	}
	s.post(200, "PUT", "/api/rigs/karoo-newtonian/targets", Saving{"", "- M 8\n"}, nil)
	var own, other report.NightDoc
	s.post(200, "POST", "/api/night", map[string]any{"id": "karoo-newtonian", "date": "2026-06-14", "sub_s": 600}, &own)
	s.post(200, "POST", "/api/night", map[string]any{"id": "karoo-newtonian", "date": "2026-06-14", "targets": "- {name: mine, ra_deg: 270.9, dec_deg: -24.4, sub_s: 60}\n", "limits": "two-number"}, &other)
	if own.Night != "2026-06-14" || len(own.Targets) != 1 || own.Targets[0].SubS != 600 || own.Targets[0].SubCount == 0 || own.Limits.Mode != report.ByDeclination {
		t.Errorf("%+v", own)
	}
	if len(other.Targets) != 1 || other.Targets[0].Name != "mine" || other.Targets[0].SubCount < 5*own.Targets[0].SubCount || other.Limits.Mode != report.ByTwoNumber {
		t.Errorf("%+v", other)
	}
	for _, c := range []struct{ change, want string }{
		{`, "targets": "- Nowhere 17\n"`, "Nowhere 17"}, {`, "targets": "["`, "not YAML"}, {`, "sun_below_deg": 3`, "body.sun_below_deg"}, {`, "limits": "none"`, "body.limits"}, {`, "date": "tomorrow"`, "body.date"},
	} {
		ask := strings.Replace(ask, `, "date": "2026-06-14"`, "", strings.Count(c.change, "date")) + c.change + `}`
		if got := s.get(422, "POST", "/api/night", ask); !strings.Contains(got, c.want) {
			t.Errorf("%s: %s", c.change, got)
		}
	}
	for kind, start := range map[string]string{"plan.pdf": "%PDF-", "plan.svg": "<svg", "plan.png": "\x89PNG", "calendar.ics": "BEGIN:VCALENDAR", "schedule.csv": "target,side", "targets.csv": "target,ra_deg"} {
		if got := s.get(200, "POST", "/api/night/"+kind, ask+`}`); !strings.HasPrefix(got, start) {
			t.Errorf("%s starts %q", kind, got[:min(len(got), 40)])
		}
	}
}
