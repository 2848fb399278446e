package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The keys that other programs read are literally there, and every document is what its schema says.
func TestJSON(t *testing.T) {
	t.Parallel()
	for _, rig := range exampleRigs(t) {
		pose := valid(t, "pose", must(t, done, "pose", rig, "--hour-angle-h", "-3", "--dec-deg", "0", "--side", "west", "--format", "json"))
		for _, k := range []string{"hour_angle_h", "dec_deg", "side", "ra_axis_deg", "dec_axis_deg", "gap_mm", "gap_lower_mm", "nearest.0.a", "nearest.0.b",
			"nearest.0.gap_mm", "nearest.0.point_a_mm", "nearest.0.point_b_mm", "parts.0.name", "parts.0.frame", "parts.0.shape", "parts.0.size_mm",
			"parts.0.place", "joined.0.0", "margin_mm", "tolerance_mm", "tolerance_mode"} {
			at(t, pose, k)
		}
		if pose["hour_angle_h"] != -3.0 || pose["side"] != "west" || len(at(t, pose, "parts.0.place").([]any)) != 12 {
			t.Errorf("%s: pose is %v", rig, pose)
		}

		limits := valid(t, "limits", must(t, done, "limits", rig, "--format", "json"))
		for _, k := range []string{"margin_mm", "tolerance_mm", "tolerance_mode", "fingerprint", "night", "confirmed", "unconfirmed", "by_declination.0.dec_from_deg",
			"by_declination.0.dec_to_deg", "by_declination.0.dec_deg", "by_declination.0.west_free_h", "by_declination.0.east_free_h",
			"by_declination.0.stop_h", "by_declination.0.resume_h", "by_declination.0.flip_h", "by_declination.0.idle_min", "two_number.west_deg",
			"two_number.east_deg", "two_number.west_past_meridian_min", "two_number.east_before_meridian_min", "two_number.room_cost_percent",
			"two_number.unprotected", "room_percent.west", "room_percent.east", "room_percent.either"} {
			at(t, limits, k)
		}
		if limits["confirmed"] != false {
			t.Errorf("%s: confirmed is %v", rig, limits["confirmed"])
		}
		valid(t, "check", must(t, done, "check", rig, "--format", "json"))
		valid(t, "map", must(t, done, "map", rig, "--step-deg", "5", "--format", "json"))
		valid(t, "slew", must(t, done, "slew", rig, "--from", "park", "--to", "axis:0,20", "--format", "json"))
	}
	valid(t, "templates", must(t, done, "new", "--list", "--format", "json"))
	valid(t, "lengths", must(t, done, "new", "--names", "--tube", "newtonian", "--format", "json"))
}

// The tolerance mode and the margin that were asked for reach the answer, a margin of 0 too.
func TestToleranceAndMargin(t *testing.T) {
	at0 := []string{"pose", terrace, "--hour-angle-h", "-1", "--dec-deg", "37", "--side", "west", "--format", "json"}
	lower := map[string]float64{}
	for _, mode := range []string{"rss", "worst", "none"} {
		p := valid(t, "pose", must(t, done, append(at0, "--tolerance", mode, "--margin", "0")...))
		if p["tolerance_mode"] != mode || p["margin_mm"] != 0.0 {
			t.Errorf("asked for %s and margin 0, got %v and %v", mode, p["tolerance_mode"], p["margin_mm"])
		}
		lower[mode] = p["gap_lower_mm"].(float64)
	}
	if !(lower["worst"] < lower["rss"] && lower["rss"] < lower["none"]) {
		t.Errorf("lower bounds %v: worst must be below rss, and rss below none", lower)
	}
	if p := valid(t, "pose", legroom(t, "", append(at0, "--margin", "900")...).out); p["free"] != false || p["margin_mm"] != 900.0 {
		t.Errorf("margin 900: free %v, margin %v", p["free"], p["margin_mm"])
	}
}

// Exit code 1 says that the answer is no, after the answer itself has been written.
func TestAnswerNo(t *testing.T) {
	t.Parallel()
	blocked := filepath.Join(t.TempDir(), "near.yaml") // the wall stands where the mount does
	text := strings.Replace(content(t, karoo), "at_mm: [790 ± 3, 200 ± 10, 875 ± 3]", "at_mm: [0 ± 3, 200 ± 10, 875 ± 3]", 1)
	if err := os.WriteFile(blocked, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"pose", terrace, "--hour-angle-h", "0.2", "--dec-deg", "40", "--side", "west"},
		{"limits", terrace, "--mine", "west=120,east=120"},
		{"slew", terrace, "--from", "axis:0,0", "--to", "axis:140,50"},
		{"check", blocked},
	} {
		for _, format := range []string{"text", "json"} {
			if must(t, answerNo, append(args, "--format", format)...) == "" {
				t.Errorf("%v: no answer written", args)
			}
		}
	}
	limits := valid(t, "limits", must(t, answerNo, "limits", terrace, "--mine", "west=120,east=120", "--format", "json"))
	if at(t, limits, "mine.safe") != false {
		t.Error("120° on both sides is called safe")
	}
	must(t, done, "limits", terrace, "--mine", "west=60,east=60")
	// Safe for some declinations alone, and the document says for which.
	some := valid(t, "limits", must(t, done, "limits", terrace, "--mine", "west=100,east=100", "--declinations", "-10..10", "--format", "json"))
	for key, want := range map[string]any{"mine.safe": true, "mine.dec_from_deg": -10.0, "mine.dec_to_deg": 10.0,
		"two_number.dec_from_deg": -10.0, "two_number.dec_to_deg": 10.0} {
		if got := at(t, some, key); got != want {
			t.Errorf("limits for −10° to +10°: %s is %v, want %v", key, got, want)
		}
	}
}

// One line of `poses` says what `pose` says, for random poses of every example, from a file and from standard input.
func TestPosesAgreesWithPose(t *testing.T) {
	t.Parallel()
	const seed = 20261125
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	for _, rig := range exampleRigs(t) {
		var in strings.Builder
		in.WriteString("side,hour_angle_h,dec_deg\n")
		var poses [][]string
		for range 20 {
			p := []string{[]string{"west", "east"}[r.IntN(2)], fmt.Sprintf("%.5f", r.Float64()*24-12), fmt.Sprintf("%.5f", r.Float64()*180-90)}
			poses = append(poses, p)
			fmt.Fprintln(&in, strings.Join(p, ", "))
		}
		file := filepath.Join(t.TempDir(), "poses.csv")
		if err := os.WriteFile(file, []byte("\ufeff"+strings.ReplaceAll(in.String(), "\n", "\r\n")), 0o644); err != nil {
			t.Fatal(err)
		}
		out := must(t, done, "poses", rig, "--input", file)
		if piped := legroom(t, in.String(), "poses", rig, "--input", "-"); piped.out != out {
			t.Errorf("%s: standard input gives another answer than a file: %s", rig, piped.errors)
		}
		lines := strings.Split(strings.TrimSpace(out), "\n")
		if len(lines) != len(poses) {
			t.Fatalf("%s: %d lines for %d poses", rig, len(lines), len(poses))
		}
		for i, p := range poses {
			line := valid(t, "poses", lines[i])
			one := legroom(t, "", "pose", rig, "--side", p[0], "--hour-angle-h", p[1], "--dec-deg", p[2], "--format", "json")
			pose := valid(t, "pose", one.out)
			for _, k := range []string{"side", "hour_angle_h", "dec_deg", "tube_is", "gap_mm", "gap_lower_mm", "free", "margin_mm", "tolerance_mode"} {
				if line[k] != pose[k] {
					t.Errorf("%s %v: %s is %v in poses, %v in pose", rig, p, k, line[k], pose[k])
				}
			}
			if line["a"] != at(t, pose, "nearest.0.a") || line["b"] != at(t, pose, "nearest.0.b") {
				t.Errorf("%s %v: nearest pair %v, %v in poses, %v in pose", rig, p, line["a"], line["b"], at(t, pose, "nearest.0"))
			}
			if want := map[bool]int{true: done, false: answerNo}[pose["free"].(bool)]; one.code != want {
				t.Errorf("%s %v: exit code %d, but free is %v", rig, p, one.code, pose["free"])
			}
		}
	}
}

// Every command that writes a file says so in both formats, and the file is of its kind.
func TestWrote(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for file, c := range map[string]struct {
		args  []string
		start string
	}{
		"m.svg":  {[]string{"map", terrace, "--step-deg", "5"}, "<svg "},
		"m.png":  {[]string{"map", terrace, "--view", "dome", "--step-deg", "5", "--dpi", "40"}, "\x89PNG"},
		"c.pdf":  {[]string{"card", terrace, "--date", "2026-11-25"}, "%PDF"},
		"s.glb":  {[]string{"scene", terrace, "--hour-angle-h", "0", "--dec-deg", "37", "--side", "west"}, "glTF"},
		"s.stl":  {[]string{"scene", terrace, "--hour-angle-h", "0", "--dec-deg", "37", "--side", "west"}, ""},
		"r.yaml": {[]string{"new", "--latitude-deg", "-32", "--longitude-deg", "22"}, "# "},
	} {
		path := filepath.Join(dir, file)
		args := append(c.args, "--output", path)
		doc := valid(t, "wrote", must(t, done, append(args, "--format", "json")...))
		if at(t, doc, "wrote.0") != path {
			t.Errorf("%s: wrote %v", file, doc)
		}
		if s := content(t, path); len(s) < 500 || !strings.HasPrefix(s, c.start) {
			t.Errorf("%s: %d bytes that start with %.20q", file, len(s), s)
		}
		if c.args[0] == "map" || c.args[0] == "card" {
			continue // the quick start writes them in the other format
		}
		os.Remove(path)
		if out := must(t, done, args...); !strings.HasPrefix(out, "wrote "+path+"\n") {
			t.Errorf("%s: %q", file, out)
		}
		content(t, path)
	}
}

// The schema of the rig document is the one that editors are given, and an unknown name of a schema is refused elsewhere.
func TestSchemas(t *testing.T) {
	for _, name := range []string{"", "rig", "check", "confirm", "lengths", "limits", "map", "night", "objects", "pose", "poses", "season", "setup", "slew", "target", "templates", "wrote"} {
		args := []string{"schema"}
		if name != "" {
			args = append(args, name)
		}
		var v map[string]any
		if err := json.Unmarshal([]byte(must(t, done, args...)), &v); err != nil || v["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
			t.Errorf("schema %s: %v, %v", name, err, v["$schema"])
		}
	}
}

// A result that leaves a condition out says so, in JSON and in words: it has the rig's own fingerprint and is not for when the
// condition holds.
func TestConditionLeftOutIsSaid(t *testing.T) {
	const file = "../../examples/terrace-long-refractor.yaml"
	for _, command := range []string{"limits --cell-deg 2", "pose --hour-angle-h 0 --dec-deg 0 --side west", "slew --from park --to home", "check"} {
		words := strings.Fields(command)
		for format, want := range map[string]string{"json": `"without"`, "text": "ONLY WITHOUT focuser travel"} {
			for _, left := range []bool{true, false} {
				args := append([]string{words[0], file, "--format", format}, words[1:]...)
				if left {
					args = append(args, "--without", "focuser travel")
				}
				var out, errs strings.Builder
				if code := run(args, strings.NewReader(""), &out, &errs); code != done {
					t.Fatalf("%v: code %d: %s", args, code, errs.String())
				}
				if strings.Contains(strings.Join(strings.Fields(out.String()), " "), want) != left {
					t.Errorf("%v: %q said: %v", args, want, !left)
				}
			}
		}
	}
}
