package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// oneRig asks for exactly one rig document.
func oneRig(c *cobra.Command, args []string) error {
	switch len(args) {
	case 0:
		return fmt.Errorf("%s: no rig document given; name one, such as `%s`", c.Name(), example(c))
	case 1:
		return nil
	}
	return fmt.Errorf("%s: one rig document at a time, but there are %d: %s", c.Name(), len(args), strings.Join(args, ", "))
}

// nothing asks for no argument.
func nothing(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return fmt.Errorf("%s: takes nothing but flags, but got %q; `legroom %[1]s --help` lists them", c.Name(), args[0])
	}
	return nil
}

// required says which of the flags that a command cannot do without were not given.
func required(c *cobra.Command, flags ...string) error {
	var missing []string
	for _, f := range flags {
		if !c.Flags().Changed(f) {
			missing = append(missing, "--"+f)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	return fmt.Errorf("%s: %s missing; give it as in `%s`", c.Name(), strings.Join(missing, ", "), example(c))
}

// example is the first example of a command, on one line.
func example(c *cobra.Command) string {
	s := strings.ReplaceAll(c.Example, "\\\n", "")
	first, _, _ := strings.Cut(strings.TrimSpace(s), "\n")
	return strings.Join(strings.Fields(first), " ")
}

// between checks the value of a flag that has a range.
func between(c *cobra.Command, flag string, x, from, to float64) error {
	if x >= from && x <= to {
		return nil
	}
	return fmt.Errorf("%s: --%s %g: give a number from %g to %g", c.Name(), flag, x, from, to)
}

// checkDate checks a --date that was given.
func checkDate(date string) error {
	if _, err := time.Parse(time.DateOnly, date); date != "" && err != nil {
		return fmt.Errorf("--date %q: give year-month-day, such as 2026-11-25", date)
	}
	return nil
}

// flagError says in plain words what is wrong with a flag.
func flagError(c *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	if errors.As(err, &value) {
		right := map[string]string{"float64": "a number such as 12.5", "int": "a whole number", "bool": "true or false, or nothing"}[value.GetFlag().Value.Type()]
		if right == "" {
			right = "another value"
		}
		return fmt.Errorf("%s: --%s %q: give %s", c.Name(), value.GetFlag().Name, value.GetValue(), right)
	}
	return fmt.Errorf("%s: %w; `%s --help` lists the flags", c.Name(), err, c.CommandPath())
}
