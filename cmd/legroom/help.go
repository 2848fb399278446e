package main

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"legroom/report"
)

// Help is written in lines of at most helpColumns letters; on a narrower terminal, down to leastColumns, in as many as it has.
const (
	helpColumns  = report.Columns
	leastColumns = 40
)

// narrowHelp has a command and those below it write their help so that its lines fit.
func narrowHelp(root *cobra.Command) {
	root.SetHelpFunc(func(c *cobra.Command, _ []string) {
		about := c.Long
		if about == "" {
			about = c.Short
		}
		width := columnsOf(c.OutOrStdout())
		fmt.Fprintf(c.OutOrStdout(), "%s\n\n%s", reflow(about, width), usage(c, width))
	})
	root.SetUsageFunc(func(c *cobra.Command) error {
		_, err := io.WriteString(c.OutOrStderr(), usage(c, columnsOf(c.OutOrStderr())))
		return err
	})
}

// columnsOf is how wide help may be there.
func columnsOf(out io.Writer) int {
	if f, ok := out.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width >= leastColumns {
			return min(width, helpColumns)
		}
	}
	return helpColumns
}

// argument is a flag's value under a word for what it takes.
type argument struct {
	pflag.Value
	word string
}

func (a argument) Type() string { return a.word }

// pairForm is how a flag's description writes what it takes when that is a name and a value.
var pairForm = regexp.MustCompile(`^[a-zA-Z]+=[a-zA-Z.]+|[A-Z]+=[A-Z]+`)

// inWords gives flags for their help: one that takes a number names its unit, one that takes a pair says of what, where the library
// would name a type of the language.
func inWords(flags *pflag.FlagSet) *pflag.FlagSet {
	out := pflag.NewFlagSet("", pflag.ContinueOnError)
	out.SortFlags = flags.SortFlags
	flags.VisitAll(func(f *pflag.Flag) {
		shown := *f
		switch f.Value.Type() {
		case "float", "float64", "float64Slice", "int":
			word := "NUMBER"
			for _, unit := range []string{"deg", "mm", "min", "m-per-s", "m", "kg", "s", "h", "n"} {
				if strings.HasSuffix(f.Name, "-"+unit) {
					word = strings.ToUpper(strings.ReplaceAll(unit, "-per-", "/"))
					break
				}
			}
			shown.Value = argument{f.Value, word}
		case "string":
			shown.Value = argument{f.Value, "TEXT"}
			if f.DefValue != "" {
				shown.DefValue = strconv.Quote(f.DefValue)
			}
		case "stringArray", "stringSlice":
			word := strings.ToUpper(pairForm.FindString(f.Usage))
			if word == "" {
				word = "TEXT"
			}
			shown.Value = argument{f.Value, word}
		}
		if f.DefValue == "[]" { // an empty list, which the library no longer sees
			shown.DefValue = ""
		}
		out.AddFlag(&shown)
	})
	return out
}

// usage is how a command is used, in the order and words of the library's own template.
func usage(c *cobra.Command, width int) string {
	var b strings.Builder
	b.WriteString("Usage:\n")
	if c.Runnable() {
		b.WriteString("  " + c.UseLine() + "\n")
	}
	if c.HasAvailableSubCommands() {
		b.WriteString("  " + c.CommandPath() + " [command]\n")
	}
	if c.HasExample() {
		b.WriteString("\nExamples:\n")
		for line := range strings.Lines(c.Example) {
			b.WriteString(continued(strings.TrimRight(line, "\n"), width) + "\n")
		}
	}
	if c.HasAvailableSubCommands() {
		b.WriteString("\nAvailable Commands:\n")
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() || sub.Name() == "help" {
				b.WriteString(wrapped(fmt.Sprintf("  %-*s ", sub.NamePadding(), sub.Name()), sub.Short, width) + "\n")
			}
		}
	}
	if c.HasAvailableLocalFlags() {
		// A flag that has to be given has no default to show.
		flags := strings.ReplaceAll(inWords(c.LocalFlags()).FlagUsagesWrapped(width), " (default )", "")
		b.WriteString("\nFlags:\n" + strings.TrimRight(flags, " \n") + "\n")
	}
	if c.HasAvailableSubCommands() {
		b.WriteString("\n" + wrapped("", fmt.Sprintf("`%s [command] --help` says more about a command.", c.CommandPath()), width) + "\n")
	}
	return b.String()
}

// reflow fills the paragraphs of a text up to a width. Lines that begin with blanks stay lines of their own.
func reflow(text string, width int) string {
	var out []string
	open := false // the last line is of a paragraph that may go on
	for line := range strings.Lines(strings.TrimSpace(text)) {
		line = strings.TrimRight(line, " \n")
		own := line == "" || strings.ContainsRune(" \t", rune(line[0]))
		if open && !own {
			out[len(out)-1] += " " + line
		} else {
			out = append(out, line)
		}
		open = !own
	}
	for i, line := range out {
		words := strings.TrimLeft(line, " \t")
		indent := line[:len(line)-len(words)]
		if utf8.RuneCountInString(line) <= width {
			continue
		}
		// A list's second column goes on below itself.
		if at := strings.LastIndex(words, "   "); at >= 0 {
			at += len("   ")
			indent, words = indent+words[:at], words[at:]
		}
		out[i] = wrapped(indent, words, width)
	}
	return strings.Join(out, "\n")
}

// wrapped writes words in lines of at most width letters, the first after first, the others below its end.
func wrapped(first, words string, width int) string {
	return report.Fill(first, strings.Repeat(" ", utf8.RuneCountInString(first)), words, width)
}

// continued breaks a line for the shell before flags, so that it can still be copied.
func continued(line string, width int) string {
	const goesOn = " \\"
	var out []string
	for utf8.RuneCountInString(line) > width {
		at := -1
		for i := range line {
			if strings.HasPrefix(line[i:], " --") && strings.Count(line[:i], `"`)%2 == 0 && strings.TrimSpace(line[:i]) != "" &&
				(at < 0 || utf8.RuneCountInString(line[:i]+goesOn) <= width) {
				at = i
			}
		}
		if at < 0 {
			break
		}
		out = append(out, line[:at]+goesOn)
		line = "    " + line[at+1:]
	}
	return strings.Join(append(out, line), "\n")
}
