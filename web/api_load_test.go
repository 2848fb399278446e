package web

import (
	"encoding/json"
	"errors"
	"os/exec"
	"reflect"
	"strings"
	"testing"
)

// command runs legroom on a file of the site's folder and gives the JSON that it writes; that its answer is "no" is no failure.
func (s *site) command(args ...string) []byte {
	s.t.Helper()
	c := exec.Command("go", append([]string{"run", "legroom/cmd/legroom"}, args...)...)
	out, err := c.Output()
	var no *exec.ExitError
	if err != nil && !(errors.As(err, &no) && len(out) > 0) {
		s.t.Fatalf("legroom %s: %v: %s", strings.Join(args, " "), err, no.Stderr)
	}
	return out
}

// The load by the API is the load by the command, figure by figure.
func TestLoadIsTheCommands(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	var got, want any
	ask := map[string]any{"id": "terrace-riser", "stand_push_n": 120, "stand_wind_m_per_s": 12, "push_n": 0, "wind_m_per_s": 6, "dec_from_deg": 20, "dec_to_deg": 40, "tolerance": "worst"}
	if p := s.worked("/api/load", ask, &got); p != nil {
		t.Fatal(p)
	}
	out := s.command("load", s.dir+"/terrace-riser.yaml", "--stand-push-n", "120", "--stand-wind-m-per-s", "12", "--push-n", "0", "--wind-m-per-s", "6",
		"--declinations", "20..40", "--tolerance", "worst", "--format", "json")
	if err := json.Unmarshal(out, &want); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		a, _ := json.Marshal(got)
		b, _ := json.Marshal(want)
		t.Errorf("the page's:\n%s\nthe command's:\n%s", a, b)
	}
	if d := want.(map[string]any); d["stands_as_asked"] != false || len(d["methods"].([]any)) == 0 {
		t.Errorf("stands as asked: %v, methods: %v", d["stands_as_asked"], d["methods"])
	}
}

func TestLoadRefuses(t *testing.T) {
	s := newSite(t)
	for want, ask := range map[string]map[string]any{
		"the lower declination first": {"id": "terrace-riser", "dec_from_deg": 20, "dec_to_deg": 20},
		"no pose at these":            {"id": "terrace-riser", "dec_from_deg": -90, "dec_to_deg": -89},
		"nothing":                     {"id": "terrace-riser", "with": []string{"nothing"}},
	} {
		if p := s.worked("/api/load", ask, new(any)); p == nil || !strings.Contains(p.Detail, want) {
			t.Errorf("%v: %v, not %q", ask, p, want)
		}
	}
	if got := s.get(422, "POST", "/api/load", `{"id": "terrace-riser", "stand_push_n": -1}`); !strings.Contains(got, "stand_push_n") {
		t.Error(got)
	}
}
