package rig

import (
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// Horizon text [REFERENCES, Formats]: `azimuth altitude` in degrees a line, from north through east, # comments.
func TestHorizonText(t *testing.T) {
	h, errs := parseHorizon("\ufeff# my garden\r\n\r\n0 5 # north\r\n 90\t12.5\r\n270 -1\r\n180 3\r\n360 5\r\n", "h.txt")
	if want := (Horizon{{0, 5}, {90, 12.5}, {180, 3}, {270, -1}}); errs != nil || !reflect.DeepEqual(h, want) {
		t.Errorf("%v %v", h, errs)
	}
	for text, want := range map[string]string{
		"0 5\n90":                           `h.txt:2:1: "90" is not a pair of numbers; write azimuth and altitude`,
		"0 5 3":                             `h.txt:1:1: "0 5 3" is not a pair of numbers`,
		"0,5":                               `h.txt:1:1: "0,5" is not a pair of numbers`,
		"#\n\n0 north":                      `h.txt:3:1: "0 north" is not a pair of numbers`,
		"0 nan":                             `h.txt:1:1: "0 nan" is not a pair of numbers`,
		"0 5\n-1 5":                         `h.txt:2:1: the azimuth -1 is not on the compass`,
		"0 5\n361 5":                        `h.txt:2:1: the azimuth 361 is not on the compass; write 0 to 360, clockwise from true north`,
		"0 91":                              `h.txt:1:1: the altitude 91 is not possible; write -90 to 90`,
		"0 5\n1 3\n360 6":                   `azimuth 0 has two altitudes, 5 and 6 (360 is 0)`,
		"# nothing\n":                       `h.txt:1:1: there is no point in it`,
		"":                                  `h.txt:1:1: there is no point in it`,
		strings.Repeat("1 2\n", maxItems+1): "there are more than 4000 points",
	} {
		if _, errs := parseHorizon(text, "h.txt"); errs == nil || !strings.Contains(errs.Error(), want) {
			t.Errorf("%.20q: got %v, want %s", text, errs, want)
		}
	}
}

func TestHorizonFile(t *testing.T) {
	dir := t.TempDir()
	text := strings.Replace(goodText(t), "[[0, 5], [90, 12.5], [180, -3]]", "sky/horizon.txt", 1)
	path := write(t, filepath.Join(dir, "rig.yaml"), text)
	write(t, filepath.Join(dir, "sky", "horizon.txt"), "0 5\n90 12.5\n180 -3\n")
	r := load(t, path)
	if r.Fingerprint() != load(t, "testdata/good.yaml").Fingerprint() {
		t.Error("the same horizon from a file gives another fingerprint")
	}
	file := write(t, filepath.Join(dir, "sky", "horizon.txt"), "0 5\n\n90 high\n")
	if _, err := Load(path); err == nil || !strings.HasPrefix(err.Error(), file+`:3:1: site.horizon: "90 high" is not a pair of numbers; `) {
		t.Errorf("%v", err)
	}
}
