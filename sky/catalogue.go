package sky

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"legroom/axes"
)

// Object is one row of the built-in list: the 110 Messier objects and further NGC, IC, Sharpless (Sh2) and Barnard (B)
// objects that are often photographed.
//
// The rows were written from memory, not copied from a catalogue: see FromMemory. Positions are written to 1″ or 0.1 s,
// and meant to be good to 0.1′ for small objects and to about 1′ otherwise. The centre of a nebula or cluster wider than
// half a degree is a matter of convention, and catalogues differ by several arc minutes; where it has one, the place is
// that of the star or cluster that lights it.
type Object struct {
	Designation   string     // such as "NGC 7000"; the Messier number where there is one
	Also          []string   // further designations
	Names         []string   // names in common use
	Kind          string     // such as "galaxy" or "open cluster"
	Constellation string     // IAU abbreviation
	Place         J2000      // without proper motion
	SizeArcmin    [2]float64 // longest and shortest apparent diameter
	FromMemory    bool       // position and size were not copied from a catalogue
}

//go:embed catalogue.csv
var catalogueCSV string

// builtin is the list and the ways to find a row of it.
type builtin struct {
	objects []Object
	byKey   map[string][]int // by catalogueKey of designations and names; more than one: ambiguous
}

// catalogue reads the list when it is first needed.
var catalogue = sync.OnceValue(func() builtin {
	c := builtin{byKey: map[string][]int{}}
	lines := strings.Split(strings.TrimSuffix(catalogueCSV, "\n"), "\n")
	for _, line := range lines[1:] {
		o, err := catalogueRow(line)
		if err != nil {
			panic("sky: catalogue.csv: " + err.Error())
		}
		i := len(c.objects)
		c.objects = append(c.objects, o)
		keys := []string{catalogueKey(o.Designation)}
		for _, s := range o.Also {
			keys = append(keys, catalogueKey(s))
		}
		for _, s := range o.Names {
			keys = append(keys, catalogueKey(s), catalogueStem(catalogueKey(s)))
		}
		slices.Sort(keys)
		for _, k := range slices.Compact(keys) {
			c.byKey[k] = append(c.byKey[k], i)
		}
	}
	return c
})

// catalogueRow reads `designation,also,type,constellation,ra,dec,size_arcmin,source,names`; lists are split by semicolons.
func catalogueRow(line string) (o Object, err error) {
	f := strings.Split(line, ",")
	if len(f) != 9 {
		return o, fmt.Errorf("%q has %d fields, not 9", line, len(f))
	}
	o = Object{Designation: f[0], Kind: f[2], Constellation: f[3], FromMemory: f[7] == "memory"}
	if f[1] != "" {
		o.Also = strings.Split(f[1], ";")
	}
	if f[8] != "" {
		o.Names = strings.Split(f[8], ";")
	}
	ra, problem, _ := parseRA(f[4], "ra")
	dec, problem2, _ := parseDec(f[5], "dec")
	if problem+problem2 != "" {
		return o, fmt.Errorf("%s: %s%s", f[0], problem, problem2)
	}
	o.Place = J2000{RA: axes.Rad(ra), Dec: axes.Rad(dec)}
	long, short, two := strings.Cut(f[6], "x")
	if !two {
		short = long
	}
	for i, s := range []string{long, short} {
		if o.SizeArcmin[i], err = strconv.ParseFloat(s, 64); err != nil {
			return o, fmt.Errorf("%s: size: %w", f[0], err)
		}
	}
	return o, nil
}

// Catalogue gives a copy of the built-in list, Messier objects first.
func Catalogue() []Object { return slices.Clone(catalogue().objects) }

// String gives the designation with the first common name behind it.
func (o Object) String() string {
	if len(o.Names) == 0 {
		return o.Designation
	}
	return o.Designation + " (" + o.Names[0] + ")"
}
