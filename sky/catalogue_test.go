package sky

import (
	"bufio"
	"cmp"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/soniakeys/meeus/v3/base"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
)

func (o Object) direction() Equatorial { return Equatorial{o.Place.RA, o.Place.Dec} }

func TestCatalogueHoldsWhatItPromises(t *testing.T) {
	messier, further := map[string]bool{}, 0
	kinds := map[string]bool{"galaxy": true, "globular cluster": true, "open cluster": true, "emission nebula": true, "reflection nebula": true,
		"planetary nebula": true, "supernova remnant": true, "dark nebula": true, "star cloud": true, "double star": true, "asterism": true}
	for _, o := range Catalogue() {
		if strings.HasPrefix(o.Designation, "M ") {
			messier[o.Designation] = true
		} else {
			further++
		}
		if !kinds[o.Kind] || !o.FromMemory || o.SizeArcmin[0] < o.SizeArcmin[1] || o.SizeArcmin[1] <= 0 || o.SizeArcmin[0] > 700 {
			t.Errorf("%+v", o)
		}
	}
	for n := 1; n <= 110; n++ {
		if d := fmt.Sprintf("M %d", n); !messier[d] {
			t.Errorf("%s is missing", d)
		}
	}
	if len(messier) != 110 || further < 150 {
		t.Errorf("%d Messier objects and %d further ones", len(messier), further)
	}
}

// border is a row of the table of constellation boundaries: hours and degrees of B1875.
type border struct {
	from, to, lower float64
	name            string
}

func borders(t *testing.T) (out []border) {
	f, err := os.Open("testdata/targets/boundaries.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		var b border
		if _, err := fmt.Sscan(s.Text(), &b.from, &b.to, &b.lower, &b.name); err != nil {
			t.Fatalf("%q: %v", s.Text(), err)
		}
		out = append(out, b)
	}
	return out
}

// constellationOf gives the constellation of a J2000 place.
func constellationOf(table []border, e Equatorial) string {
	// B1875.0 is JDE 2405889.25855 (Meeus, Astronomical Algorithms, 2nd ed., p. 133).
	old := direction(precessed(vector(e), 2405889.25855))
	h, d := axes.Deg(old.RA)/15, axes.Deg(old.Dec)
	for _, b := range table {
		if d >= b.lower && h >= b.from && h < b.to {
			return b.name
		}
	}
	return ""
}

func TestCatalogueConstellations(t *testing.T) {
	table := borders(t)
	names := map[string]bool{}
	for _, b := range table {
		names[b.name] = true
	}
	if len(table) != 357 || len(names) != 88 {
		t.Fatalf("the table has %d rows and %d constellations, not 357 and 88", len(table), len(names))
	}
	moved := 0
	for _, o := range Catalogue() {
		if c := constellationOf(table, o.direction()); c != o.Constellation {
			t.Errorf("%s is in %s, but the list says %s", o, c, o.Constellation)
		}
		// A slip of one hour is what this check is there to find; in a wide constellation it cannot.
		e := o.direction()
		e.RA = turn(e.RA + axes.FromHours(1))
		if constellationOf(table, e) != o.Constellation {
			moved++
		}
	}
	if part := float64(moved) / float64(len(Catalogue())); part < 0.5 {
		t.Errorf("only %.0f%% of the places leave their constellation when they slip by an hour", 100*part)
	}
}

// TestCatalogueOrder uses that each of the old lists runs in one direction: the NGC and both parts of the IC by right
// ascension of 1860, Sharpless' by galactic longitude [mem]. A swapped number, or a slip in RA, breaks the order.
func TestCatalogueOrder(t *testing.T) {
	type numbered struct {
		n    int
		at   float64
		name string
	}
	lists := map[string][]numbered{}
	b1860 := base.J2000 - 140*base.JulianYear
	pole := degreesVector(192.85948, 27.12825) // north galactic pole, and longitude 32.93192° at the node (IAU 1958, J2000)
	node := degreesVector(192.85948+90, 0)
	for _, o := range Catalogue() {
		u := vector(o.direction())
		ra := axes.Deg(direction(precessed(u, b1860)).RA) * 4 // minutes of time
		l := math.Mod(axes.Deg(math.Atan2(r3.Dot(u, r3.Cross(pole, node)), r3.Dot(u, node)))+32.93192+360+20, 360)
		for _, d := range append([]string{o.Designation}, o.Also...) {
			for prefix, at := range map[string]float64{"NGC ": ra, "IC ": ra, "Sh2-": l} {
				if s, ok := strings.CutPrefix(d, prefix); ok {
					n, err := strconv.Atoi(s)
					if err != nil {
						t.Fatal(d)
					}
					if prefix == "IC " && n >= 1530 {
						prefix = "IC II "
					}
					lists[prefix] = append(lists[prefix], numbered{n, at, d})
				}
			}
		}
	}
	// How far back a number may lie, minutes of time or degrees: what the lists' own places and our centres of wide nebulae differ by.
	slack := map[string]float64{"NGC ": 1.5, "IC ": 1.5, "IC II ": 1.5, "Sh2-": 1.5}
	for prefix, list := range lists {
		slices.SortFunc(list, func(a, b numbered) int { return cmp.Compare(a.n, b.n) })
		far := list[0]
		for _, x := range list[1:] {
			if x.at < far.at-slack[prefix] {
				t.Errorf("%s at %.1f comes behind %s at %.1f", x.name, x.at, far.name, far.at)
				continue
			}
			if x.at > far.at {
				far = x
			}
		}
	}
	if len(lists) != 4 || len(lists["NGC "]) < 300 || len(lists["IC "]) < 10 || len(lists["IC II "]) < 15 || len(lists["Sh2-"]) < 40 {
		t.Error("the lists are shorter than they were")
	}
}

func degreesVector(ra, dec float64) r3.Vec { return vector(Equatorial{axes.Rad(ra), axes.Rad(dec)}) }

// TestCataloguePairs holds pairs of neighbours to the distances that handbooks give [mem].
func TestCataloguePairs(t *testing.T) {
	for _, p := range []struct {
		a, b        string
		arcmin, tol float64
	}{
		{"M 31", "M 32", 24, 1}, {"M 31", "M 110", 36, 2}, {"M 81", "M 82", 37, 1}, {"M 42", "M 43", 8, 2}, {"M 8", "M 20", 84, 6},
		{"M 8", "M 21", 114, 10}, {"M 20", "M 21", 40, 5}, {"M 65", "M 66", 20, 1.5}, {"M 66", "NGC 3628", 36, 2}, {"M 95", "M 96", 42, 2}, {"M 105", "NGC 3384", 7, 1},
		{"M 105", "M 96", 48, 2}, {"M 84", "M 86", 17, 1}, {"M 86", "NGC 4438", 23, 2}, {"NGC 4435", "NGC 4438", 4.5, 0.5}, {"M 59", "M 60", 25, 1},
		{"M 51", "NGC 5195", 4.5, 0.3}, {"NGC 869", "NGC 884", 27, 3}, {"M 97", "M 108", 48, 2}, {"M 46", "M 47", 80, 6}, {"M 46", "NGC 2438", 5, 1},
		{"M 13", "NGC 6207", 28, 1}, {"M 35", "NGC 2158", 27, 4}, {"M 38", "NGC 1907", 32, 3}, {"NGC 147", "NGC 185", 58, 1}, {"M 53", "NGC 5053", 57, 4},
		{"B 33", "NGC 2024", 37, 4}, {"NGC 4631", "NGC 4656", 31, 2}, {"NGC 5982", "NGC 5985", 7.5, 0.5}, {"NGC 7331", "NGC 7320", 31, 2},
		{"M 81", "NGC 3077", 46, 2}, {"M 33", "NGC 604", 12, 1}, {"M 17", "M 18", 56, 4}, {"IC 1805", "IC 1848", 150, 10}, {"NGC 7000", "IC 5070", 92, 12},
		{"NGC 6960", "NGC 6992", 150, 12}, {"M 52", "NGC 7635", 37, 3}, {"NGC 6939", "NGC 6946", 39, 2}, {"NGC 2237", "NGC 2264", 326, 15},
	} {
		a, err := Find(p.a)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Find(p.b)
		if err != nil {
			t.Fatal(err)
		}
		if got := axes.Deg(Separation(a.direction(), b.direction())) * 60; math.Abs(got-p.arcmin) > p.tol {
			t.Errorf("%s to %s: %.1f′, want %g′ ± %g′", p.a, p.b, got, p.arcmin, p.tol)
		}
	}
}

func TestCatalogueHasNoTwins(t *testing.T) {
	all := Catalogue()
	for i, a := range all {
		for _, b := range all[:i] {
			if sep := axes.Deg(Separation(a.direction(), b.direction())) * 60; sep < 2 {
				t.Errorf("%s and %s are %.1f′ apart", a, b, sep)
			}
		}
	}
	var many []string
	for k, found := range catalogue().byKey {
		if len(found) > 1 {
			many = append(many, k)
		}
	}
	slices.Sort(many)
	if got := strings.Join(many, " "); got != "cocoon owl" { // galaxy and nebula, cluster and nebula
		t.Errorf("names for more than one object: %s", got)
	}
}

func TestCatalogueMessierAndNGC(t *testing.T) {
	// [mem], by the new general catalogue's number
	for m, ngc := range map[int]int{1: 1952, 8: 6523, 13: 6205, 16: 6611, 17: 6618, 20: 6514, 27: 6853, 31: 224, 32: 221, 33: 598, 42: 1976, 51: 5194,
		57: 6720, 63: 5055, 64: 4826, 65: 3623, 66: 3627, 74: 628, 77: 1068, 81: 3031, 82: 3034, 83: 5236, 87: 4486, 97: 3587, 101: 5457, 104: 4594, 106: 4258, 110: 205} {
		o, err := Find(fmt.Sprintf("ngc%d", ngc))
		if err != nil || o.Designation != fmt.Sprintf("M %d", m) {
			t.Errorf("NGC %d: %s, %v; want M %d", ngc, o, err, m)
		}
	}
	without := 0 // M 24, 25, 40 and 45 have no NGC number
	for _, o := range Catalogue()[:110] {
		if !slices.ContainsFunc(o.Also, func(s string) bool { return strings.HasPrefix(s, "NGC ") }) {
			without++
		}
	}
	if without != 4 {
		t.Errorf("%d Messier objects have no NGC number, not 4", without)
	}
}

func TestFind(t *testing.T) {
	for want, names := range map[string][]string{
		"NGC 7000": {"ngc7000", "NGC 7000", "ngc-7000", " Ngc  7000 ", "NGC07000", "sh2-117", "North America Nebula", "north america", "north-america nebula", "ngc_7000"},
		"M 31":     {"M 31", "m31", "M31", "messier31", "Messier 31", "messier-031", "NGC 224", "andromeda", "Andromeda Galaxy", "the andromeda galaxy"},
		"Sh2-101":  {"sh2-101", "Sh 2 101", "SH2 101", "sh2101", "Sharpless 2-101", "sharpless 101", "Sh2–101", "Sh 2−101", "sharpless2 101", "tulip nebula"},
		"Sh2-240":  {"sh 240", "sh2 240", "sh-240", "spaghetti"},
		"B 33":     {"b33", "barnard 33", "B 33", "Barnard33", "horsehead", "Horsehead Nebula"},
		"IC 1396":  {"ic1396", "IC 1396", "ic-1396", "sh2 131", "elephants trunk", "Elephant’s Trunk Nebula", "elephant's trunk"},
		"M 42":     {"orion nebula", "Orion", "ORION  NEBULA", "great orion nebula"},
		"NGC 6543": {"cat's eye", "cats eye nebula"},
		"M 45":     {"pleiades"},
		"NGC 5128": {"centaurus a", "CentaurusA"},
		"NGC 2237": {"ngc 2244", "rosette"},
	} {
		for _, n := range names {
			if o, err := Find(n); err != nil || o.Designation != want {
				t.Errorf("%q: %s, %v; want %s", n, o, err, want)
			}
		}
	}
	for _, o := range Catalogue() {
		for _, n := range slices.Concat([]string{o.Designation}, o.Also, o.Names) {
			for _, form := range []string{n, strings.ToLower(n), strings.ToUpper(n), strings.ReplaceAll(n, " ", ""), strings.ReplaceAll(n, " ", "-")} {
				if got, err := Find(form); err != nil || got.Designation != o.Designation {
					t.Errorf("%q: %s, %v; want %s", form, got, err, o)
				}
			}
		}
	}
}

func TestFindSuggests(t *testing.T) {
	n := len(Catalogue())
	for name, want := range map[string]string{
		"cocoon":         `"cocoon" may be NGC 4490 (Cocoon Galaxy) or IC 5146 (Cocoon Nebula); write the designation`,
		"andromdea":      fmt.Sprintf(`"andromdea" is not one of the %d built-in objects; did you mean M 31 (Andromeda Galaxy)? Otherwise write its ra and dec`, n),
		"rosete nebula":  fmt.Sprintf(`"rosete nebula" is not one of the %d built-in objects; did you mean NGC 2237 (Rosette Nebula)? Otherwise write its ra and dec`, n),
		"M 111":          fmt.Sprintf(`"M 111" is not one of the %d built-in objects; did you mean M 11 (Wild Duck Cluster), M 101 (Pinwheel Galaxy) or M 110? Otherwise write its ra and dec`, n),
		"xyzzyxyzzy":     fmt.Sprintf(`"xyzzyxyzzy" is not one of the %d built-in objects; write its ra and dec`, n),
		"":               fmt.Sprintf(`"" is not one of the %d built-in objects; write its ra and dec`, n),
		"sh2-1\nsh2-101": "",
	} {
		_, err := Find(name)
		if err == nil || want != "" && err.Error() != want {
			t.Errorf("%q: %v\nwant %s", name, err, want)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: more than one line", err)
		}
	}
}

func TestCatalogueIsACopy(t *testing.T) {
	Catalogue()[0].Designation = "changed"
	if got := Catalogue()[0].Designation; got != "M 1" {
		t.Error(got)
	}
}

func TestLetterDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"ab", "ba", 1}, {"kitten", "sitting", 3}, {"andromdea", "andromeda", 1}, {"néb", "neb", 1}, {"abcdefghijk", "", 11}} {
		if got, back := letterDistance(c.a, c.b), letterDistance(c.b, c.a); got != c.want || back != c.want {
			t.Errorf("%q %q: %d and %d, want %d", c.a, c.b, got, back, c.want)
		}
	}
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"ngc7000", "Sh 2 101", "M\u00a031", "\xff", "barnard 33", "the", "nebula"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		o, err := Find(name)
		if err == nil {
			if again, err := Find(o.Designation); err != nil || again.Designation != o.Designation {
				t.Errorf("%q finds %s, which finds %s, %v", name, o, again, err)
			}
		} else if strings.ContainsAny(err.Error(), "\n\r") {
			t.Errorf("%q: more than one line", err)
		}
	})
}
