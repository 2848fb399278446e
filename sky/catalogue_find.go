package sky

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// UnknownObject says that a name is not in the built-in list, or stands for more than one of its objects.
type UnknownObject struct {
	Name string
	Near []string // up to three objects that may be meant, the likeliest first
	Many bool     // the name stands for every one of Near
}

// Error says what is wrong and what may be meant.
func (e *UnknownObject) Error() string {
	near := strings.Join(e.Near, ", ")
	if i := strings.LastIndex(near, ", "); i >= 0 {
		near = near[:i] + " or " + near[i+2:]
	}
	switch {
	case e.Many:
		return fmt.Sprintf("%q may be %s; write the designation", targetClip(e.Name), near)
	case near == "":
		return fmt.Sprintf("%q is not one of the %d built-in objects; write its ra and dec", targetClip(e.Name), len(catalogue().objects))
	}
	return fmt.Sprintf("%q is not one of the %d built-in objects; did you mean %s? Otherwise write its ra and dec", targetClip(e.Name), len(catalogue().objects), near)
}

// Find gives the object that a name stands for: a designation (M or Messier, NGC, IC, Sh2 or Sharpless, B or Barnard, and
// a number) or a common name, in any case and with any spaces, dashes and apostrophes; "nebula", "galaxy" and "cluster"
// behind a name may be left out. The error is an *UnknownObject.
func Find(name string) (Object, error) {
	key := catalogueKey(name)
	found := catalogue().byKey[key]
	if len(found) == 1 {
		return catalogue().objects[found[0]], nil
	}
	e := &UnknownObject{Name: name, Many: len(found) > 1}
	if !e.Many {
		found = catalogueNear(key)
	}
	for _, i := range found {
		e.Near = append(e.Near, catalogue().objects[i].String())
	}
	return Object{}, e
}

var (
	// Sharpless' second list is Sh2, so that "sh 2 40" is number 40, and "sh 240" is number 240.
	sharplessForms = []*regexp.Regexp{
		regexp.MustCompile(`^(?:sh|sharpless)[ -]*2[ -]+0*([1-9]\d{0,3})$`),
		regexp.MustCompile(`^(?:sh|sharpless)2[ -]*0*([1-9]\d{0,3})$`),
		regexp.MustCompile(`^(?:sh|sharpless)[ -]+0*([1-9]\d{0,3})$`),
	}
	designationForm = regexp.MustCompile(`^(m|messier|ngc|ic|b|barnard)[ -]*0*([1-9]\d{0,4})$`)
	shortPrefix     = map[string]string{"messier": "m", "barnard": "b"}
)

// catalogueKey folds the ways to write a designation or a name into one.
func catalogueKey(name string) string {
	if len(name) > 200 {
		name = name[:200]
	}
	s := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r) || r == '_':
			return ' '
		case unicode.Is(unicode.Pd, r) || r == '\u2212':
			return '-'
		}
		return unicode.ToLower(r)
	}, name)
	s = strings.Join(strings.Fields(s), " ")
	for _, form := range sharplessForms {
		if m := form.FindStringSubmatch(s); m != nil {
			return "sh2-" + m[1]
		}
	}
	if m := designationForm.FindStringSubmatch(s); m != nil {
		return cmp.Or(shortPrefix[m[1]], m[1]) + m[2]
	}
	s = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.TrimPrefix(s, "the "))
	return s
}

// catalogueStem cuts the word for the kind of object off a name's key; the key itself when nothing else would be left.
func catalogueStem(key string) string {
	for _, kind := range []string{"nebula", "galaxy", "galaxies", "cluster"} {
		if s, ok := strings.CutSuffix(key, kind); ok && s != "" {
			return s
		}
	}
	return key
}

// catalogueNear gives up to three objects whose keys are few letters away from key.
func catalogueNear(key string) []int {
	type near struct{ i, dist int }
	var all []near
	most := 1 + min(2, len(key)/4)
	for k, found := range catalogue().byKey {
		if dist := letterDistance(key, k); dist <= most {
			for _, i := range found {
				all = append(all, near{i, dist})
			}
		}
	}
	slices.SortFunc(all, func(a, b near) int { return cmp.Or(a.dist-b.dist, a.i-b.i) })
	var out []int
	for _, n := range all {
		if len(out) < 3 && !slices.Contains(out, n.i) {
			out = append(out, n.i)
		}
	}
	return out
}

// letterDistance is the number of letters to put in, take out, change or swap with their neighbour to make a into b
// (optimal string alignment).
func letterDistance(a, b string) int {
	s, t := []rune(a), []rune(b)
	if d := len(s) - len(t); d > 8 || d < -8 {
		return max(d, -d) // at least so many, which is all that matters here
	}
	before, last, row := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range last {
		last[j] = j
	}
	for i := range s {
		row[0] = i + 1
		for j := range t {
			cost := 1
			if s[i] == t[j] {
				cost = 0
			}
			row[j+1] = min(last[j]+cost, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && s[i] == t[j-1] && s[i-1] == t[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(t)]
}
