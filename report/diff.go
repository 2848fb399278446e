package report

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	udiff "github.com/aymanbagabas/go-udiff"
)

// hunkHead is the first line of a hunk: where its lines are in the old text and how many, and the same in the new one.
var hunkHead = regexp.MustCompile(`^@@ -(\d+)(,\d+)? \+(\d+)(,\d+)? @@$`)

// unified gives what changes from one text to another as unified lines (GNU diffutils manual, "Detailed Description of Unified
// Format"), three lines about each change; "" when nothing does.
//
// The library leaves lines between two changes of one hunk out of its count, so that every later hunk would start too early in the new
// text: a hunk starts there where it does in the old one, and as much later as the hunks before it add lines.
func unified(oldName, newName, before, after string) string {
	lines := strings.SplitAfter(udiff.Unified(oldName, newName, before, after), "\n")
	added, inHunks := 0, false
	for i, l := range lines {
		switch m := hunkHead.FindStringSubmatch(strings.TrimSuffix(l, "\n")); {
		case m != nil:
			inHunks = true
			if from, err := strconv.Atoi(m[1]); err == nil && from > 0 && m[3] != "0" {
				lines[i] = fmt.Sprintf("@@ -%s%s +%d%s @@\n", m[1], m[2], from+added, m[4])
			}
		case inHunks && strings.HasPrefix(l, "+"):
			added++
		case inHunks && strings.HasPrefix(l, "-"):
			added--
		}
	}
	return strings.Join(lines, "")
}
