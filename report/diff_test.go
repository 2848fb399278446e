package report

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Every hunk stands in both texts where its head says, with as many lines: what the unified format is (GNU diffutils manual). Among the
// random texts are hunks with several changes and equal lines between them.
func TestUnifiedHunksStandWhereTheySay(t *testing.T) {
	const seed = 11
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	several := 0
	for n := range 200 {
		var before, after []string
		for i := range 60 {
			line := fmt.Sprintf("line %d\n", i)
			before = append(before, line)
			switch rnd.IntN(12) {
			case 0:
				after = append(after, fmt.Sprintf("other %d\n", i))
			case 1:
				after = append(after, line, fmt.Sprintf("more %d\n", i), fmt.Sprintf("and more %d\n", i))
			case 2:
			default:
				after = append(after, line)
			}
		}
		text := unified("old", "new", strings.Join(before, ""), strings.Join(after, ""))
		_, hunks, _ := strings.Cut(text, "\n@@ ")
		for i, h := range strings.Split(hunks, "\n@@ ") {
			head, rest, _ := strings.Cut(h, " @@\n")
			var was, is []string
			for _, l := range strings.SplitAfter(strings.TrimSuffix(rest, "\n")+"\n", "\n") {
				if l == "" {
					continue
				}
				if l[0] != '+' {
					was = append(was, l[1:])
				}
				if l[0] != '-' {
					is = append(is, l[1:])
				}
			}
			old, now, _ := strings.Cut(head, " ")
			if !stands(t, old[1:], was, before) || !stands(t, now[1:], is, after) {
				t.Fatalf("text %d, hunk %d is not where %q says:\n%s", n, i, head, text)
			}
			if i > 0 {
				several++
			}
		}
	}
	if several < 200 {
		t.Errorf("only %d hunks behind another", several)
	}
	if got := unified("old", "new", "a\n", "a\n"); got != "" {
		t.Errorf("%q of two texts that are the same", got)
	}
}

// stands tells whether lines stand in a text where a hunk's head, such as 135,7, says.
func stands(t *testing.T, head string, lines, text []string) bool {
	t.Helper()
	at, count, many := strings.Cut(head, ",")
	from, err := strconv.Atoi(at)
	if err != nil {
		t.Fatal(err)
	}
	if many && count != strconv.Itoa(len(lines)) || !many && len(lines) != 1 {
		return false
	}
	return len(lines) == 0 || from >= 1 && from-1+len(lines) <= len(text) && slices.Equal(text[from-1:from-1+len(lines)], lines)
}
