package main

import (
	"encoding/csv"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Text fits 100 columns for every example rig and for one that nobody has measured.
func TestTextFits(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: the widths of text have nothing to do with races")
	}
	t.Parallel()
	rigs := exampleRigs(t)
	for _, tube := range []string{"long-refractor", "newtonian"} {
		rigs = append(rigs, newRig(t, "--tube", tube))
	}
	for _, rig := range rigs {
		for _, args := range [][]string{
			{"check", rig},
			{"limits", rig, "--mine", "west=120,east=120", "--row-deg", "2.5"},
			{"limits", rig, "--tolerance", "none", "--margin", "0"},
			{"map", rig, "--step-deg", "10"},
			{"pose", rig, "--hour-angle-h", "0.5", "--dec-deg", "40", "--side", "west"},
			{"slew", rig, "--from", "west,-2,37", "--to", "axis:10,-50"},
			{"slew", rig, "--from", "axis:0,0", "--to", "axis:140,50"},
			{"night", rig, "--date", "2026-10-24", "--targets", "../../examples/terrace/targets.yaml", "--limits", "two-number"},
			{"target", rig, "M 81", "--date", "2026-10-24", "--nights", "2"},
		} {
			if args[0] == "slew" && rig == karoo {
				args = append(args, "--route")
			}
			r := legroom(t, "", args...)
			if r.code == wrongUse {
				t.Errorf("legroom %s: %s", strings.Join(args, " "), r.errors)
			}
			narrow(t, strings.Join(args, " "), r.out)
		}
		poses := legroom(t, "west,-11.999999,-89.99999\neast,0.1234567,-7.6543219\n", "poses", rig, "--input", "-", "--format", "text")
		narrow(t, "poses "+rig, poses.out)
	}
	narrow(t, "list", must(t, done, "new", "--list"))
	narrow(t, "names", must(t, done, "new", "--names"))
}

// Tables come as comma-separated values too, a row a band or a pose.
func TestCSV(t *testing.T) {
	limits, err := csv.NewReader(strings.NewReader(must(t, done, "limits", karoo, "--row-deg", "10", "--format", "csv"))).ReadAll()
	if err != nil || len(limits) < 10 || limits[0][0] != "dec_from_deg" {
		t.Errorf("limits: %v, %v", limits, err)
	}
	r := legroom(t, "west,1,2\neast,-1,-30\n", "poses", karoo, "--input", "-", "--format", "csv")
	poses, err := csv.NewReader(strings.NewReader(r.out)).ReadAll()
	if err != nil || len(poses) != 3 || strings.Join(poses[0][:3], ",") != "side,hour_angle_h,dec_deg" || poses[2][2] != "-30" {
		t.Errorf("poses: %v, %v", poses, err)
	}
}

// The help of every command stands in its own words: what it does, and an example that names a rig that is there.
func TestHelp(t *testing.T) {
	for _, c := range newRoot().Commands() {
		if c.Name() == "help" || c.Name() == "completion" {
			continue
		}
		help := must(t, done, c.Name(), "--help")
		if !strings.Contains(help, "Examples:") || c.Flags().Lookup("format") == nil {
			t.Errorf("%s: no example, or no --format", c.Name())
		}
		for _, w := range strings.Fields(help) {
			if strings.HasPrefix(w, "examples/") {
				content(t, filepath.Join("../..", w))
			}
		}
	}
	if out := must(t, done); !strings.Contains(out, "Available Commands") {
		t.Errorf("no command: %s", out)
	}
}

// The help of every command, and of what is below it, fits 100 columns, and narrower ones where that can be: a word that is longer
// stays whole. Nothing of it gets lost.
func TestHelpFits(t *testing.T) {
	root := newRoot()
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd("")
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		path := strings.Fields(c.CommandPath())[1:]
		help := must(t, done, append(path, "--help")...)
		narrow(t, c.CommandPath()+" --help", help)
		if strings.Contains(help, "(default )") {
			t.Errorf("%s: a default of nothing:\n%s", c.CommandPath(), help)
		}
		for _, width := range []int{helpColumns, 60} {
			bare := strings.NewReplacer(" \\\n", " ", "\n", " ")
			same := func(s string) string { return strings.Join(strings.Fields(bare.Replace(s)), " ") }
			text := reflow(c.Long, width) + " " + usage(c, width)
			for _, want := range []string{c.Long, c.Example} {
				if !strings.Contains(same(text), same(want)) {
					t.Errorf("%s, %d columns: %q is not in\n%s", c.CommandPath(), width, want, text)
				}
			}
		}
		for _, sub := range c.Commands() {
			visit(sub)
		}
	}
	visit(root)
	for _, c := range []struct{ from, to string }{
		{"one two three\nfour five six", "one two three four\nfive six"},
		{"one\n\n  a   two three four five\n  b   six", "one\n\n  a   two three\n      four five\n  b   six"},
	} {
		if got := reflow(c.from, 18); got != c.to {
			t.Errorf("got\n%s\nwant\n%s", got, c.to)
		}
	}
	if got, want := continued(`  do it --set "a --b" --two three`, 24), "  do it --set \"a --b\" \\\n    --two three"; got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// A slew that was asked to find a way round says whether it did, and if not whether an end of it is the reason.
func TestRoute(t *testing.T) {
	if testing.Short() {
		t.Skip("SKIPPED in short mode: searches for a way take long under the race detector")
	}
	t.Parallel()
	for _, c := range []struct {
		from, to string
		code     int
		want     string
	}{
		{"axis:0,0", "axis:-80,50", done, "Safe in every order"},
		{"east,-4.2,-10", "west,1,70", done, "A route that is proven in any order"},
		{"west,-2,37", "axis:175,0", answerNo, "the pose that the slew ends at is not free itself"},
		{"west,0.2,40", "park", answerNo, "the pose that the slew starts from is not free itself"},
	} {
		out := must(t, c.code, "slew", terrace, "--from", c.from, "--to", c.to, "--route")
		if !strings.Contains(out, c.want) {
			t.Errorf("from %s to %s: %q is not in:\n%s", c.from, c.to, c.want, out)
		}
	}
}

// Help names what a flag takes in words of the trade, never by a type of the language.
func TestHelpNamesNoTypes(t *testing.T) {
	var look func(c *cobra.Command)
	look = func(c *cobra.Command) {
		help := usage(c, helpColumns)
		for _, word := range []string{"stringArray", "stringSlice", "float64", "(default [])", " float ", " int ", " string ", " strings "} {
			if _, flags, _ := strings.Cut(help, "\nFlags:\n"); strings.Contains(flags, word) {
				t.Errorf("%s: %q in\n%s", c.CommandPath(), word, flags)
			}
		}
		for _, sub := range c.Commands() {
			look(sub)
		}
	}
	look(newRoot())
	for command, want := range map[string]string{"change": "--set PATH=VALUE ", "limits": "--cell-deg DEG ", "new": "--set NAME=LENGTH "} {
		c, _, err := newRoot().Find([]string{command})
		if err != nil {
			t.Fatal(err)
		}
		if help := usage(c, helpColumns); !strings.Contains(help, want) {
			t.Errorf("%s: no %q in\n%s", command, want, help)
		}
	}
}
