package rig

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// Of the document's joints, those pass each other of whose gap a turn of an axis makes another: not those of parts that stand or turn
// together, nor of a part that turns about its own axis beside the other, nor what is joined anyway.
func TestPassingJoints(t *testing.T) {
	r := plain(40)
	r.Joints = []Joint{{"saddle", "declination housing"}, {"polar housing", "counterweight bar"}, {"tube", "dew shield"}, {"leg 1", "dew shield"}, {"tube", "leg 2"}}
	r.Mount.Joints = []Joint{{"polar housing", "saddle"}, {"leg 1", "dew shield"}}
	a := mustAssemble(t, r, nil)
	var got []string
	for _, j := range a.Passing {
		if !slices.Contains(a.Joined, j.Pair) {
			t.Errorf("%s is not joined", j.Path)
		}
		got = append(got, j.Path+" "+a.Parts[j.Pair[0]].Name+"–"+a.Parts[j.Pair[1]].Name)
	}
	want := []string{"mount.joints[0] polar housing–saddle", "mount.joints[1] leg 1–dew shield", "joints[4] leg 2–tube"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// A name in a joint that is no part's is told with its place in the file.
func TestJointPlace(t *testing.T) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(good), "- [dew shield, main tube]", "- [dew shield, main tub]", 1)
	r, err := Parse([]byte(text), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Assemble(nil); err == nil || err.Error() != `82:18: joints[0][1]: there is no part "main tub"; did you mean "main tube"?` {
		t.Error(err)
	}
}
