// Command legroom keeps a telescope rig from hitting itself.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
)

// Exit codes.
const (
	done     = 0
	answerNo = 1 // the answer is "no": check found errors, a pose is not free, a night has nothing to expose
	wrongUse = 2 // wrong use or unreadable input
)

// errNo ends a command whose answer is no, after it has printed it.
var errNo = errors.New("no")

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run runs one command and returns its exit code; results go to out, errors and questions to errs.
func run(args []string, in io.Reader, out, errs io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return done
	case errors.Is(err, errNo):
		return answerNo
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errs, "legroom: stopped before it was done; no file was left half-written")
		return wrongUse
	}
	fmt.Fprintf(errs, "legroom: %v\n", err)
	return wrongUse
}

// endAtSecond ends the process when it is told to end a second time, whatever is still being seen to, with a last line. The first time is
// the command's own affair.
func endAtSecond(errs io.Writer, last string) (release func()) {
	told := make(chan os.Signal, 2)
	signal.Notify(told, os.Interrupt, syscall.SIGTERM)
	over := make(chan struct{})
	go func() {
		for range 2 {
			select {
			case <-told:
			case <-over:
				return
			}
		}
		written := make(chan struct{})
		go func() { defer close(written); fmt.Fprintln(errs, last) }()
		select {
		case <-written:
		case <-time.After(time.Second): // nobody reads it
		}
		os.Exit(answerNo)
	}()
	return func() { signal.Stop(told); close(over) }
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "legroom",
		Short: "Keep a telescope rig from hitting itself",
		Long: `Legroom models a telescope rig, computes how much room is left between what moves and what does not,
for every pointing, and says which limits to enter. It is a planning aid, not a safety function:
keep the mount's own limits set, and a hand on the power switch for every first run.`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			hint := ""
			if near := c.SuggestionsFor(args[0]); len(near) > 0 {
				hint = fmt.Sprintf("did you mean %s? ", strings.Join(near, " or "))
			}
			return fmt.Errorf("there is no command %q: %s`legroom --help` lists them", args[0], hint)
		},
		RunE:                       func(c *cobra.Command, args []string) error { return c.Help() },
		SuggestionsMinimumDistance: 2,
		SilenceUsage:               true,
		SilenceErrors:              true,
	}
	narrowHelp(root)
	root.SetFlagErrorFunc(flagError)
	root.AddCommand(newNew(), newCheck(), newPose(), newPoses(), newLimits(), newMap(), newSlew(), newCard(), newConfirm(), newNight(), newSeason(), newTarget(), newLoad(), newScene(),
		newSchema(), newServe(), newDemo(), newSim(), newSoak(), newWatch(), newReplay(), newDoctor(), newMan(), newVersion())
	root.AddCommand(newChange(), newSolve(), newTolerance(), newProof())
	return root
}
