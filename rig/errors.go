package rig

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Error is one defect of a document.
type Error struct {
	Pos     Position
	Path    string // in the document, such as support.legs.width_mm; "" for the document as a whole
	Problem string // what is wrong
	Remedy  string // what would be right
}

// Error gives `file:line:col: path: what is wrong; what would be right` on one line.
func (e *Error) Error() string {
	var b strings.Builder
	if s := e.Pos.String(); s != "" {
		b.WriteString(s + ": ")
	}
	if e.Path != "" {
		b.WriteString(e.Path + ": ")
	}
	b.WriteString(e.Problem)
	if e.Remedy != "" {
		b.WriteString("; " + e.Remedy)
	}
	return printable(b.String())
}

// printable writes control characters as escapes: a document's text must not command the terminal that shows it.
func printable(s string) string {
	if !strings.ContainsFunc(s, unicode.IsControl) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if unicode.IsControl(r) {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// String gives file:line:col, without the parts that are not known.
func (p Position) String() string {
	switch {
	case p.Line == 0:
		return p.File
	case p.File == "":
		return fmt.Sprintf("%d:%d", p.Line, p.Col)
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}

// maxErrors bounds how many defects one document reports.
const maxErrors = 20

// Errors is every defect of a document, in order of position, at most 20 of them.
type Errors []*Error

// Error gives one line a defect.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find an *Error.
func (es Errors) Unwrap() []error {
	out := make([]error, len(es))
	for i, e := range es {
		out[i] = e
	}
	return out
}

// inOrder sorts defects by position, the root document's file first, and cuts them at maxErrors; nil when there are none.
func inOrder(es Errors, rootFile string) error {
	if len(es) == 0 {
		return nil
	}
	slices.SortStableFunc(es, func(a, b *Error) int {
		if (a.Pos.File == rootFile) != (b.Pos.File == rootFile) {
			if a.Pos.File == rootFile {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.Pos.File, b.Pos.File), cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Col, b.Pos.Col))
	})
	return es[:min(len(es), maxErrors)]
}
