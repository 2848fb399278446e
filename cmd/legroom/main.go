// Command legroom keeps a telescope rig from hitting itself.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"

	"github.com/spf13/cobra"
)

// Exit codes.
const (
	done     = 0
	answerNo = 1 // the answer is "no": check found errors, a pose is not free
	wrongUse = 2 // wrong use or unreadable input
)

// errNo ends a command whose answer is no, after it has printed it.
var errNo = errors.New("no")

func main() { os.Exit(run(os.Args[1:])) }

func run(args []string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	root := newRoot()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return done
	case errors.Is(err, errNo):
		return answerNo
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(os.Stderr, "legroom: stopped before it was done; nothing was written")
		return wrongUse
	}
	fmt.Fprintf(os.Stderr, "legroom: %v\n", err)
	return wrongUse
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "legroom",
		Short: "Keep a telescope rig from hitting itself",
		Long: `Legroom models a telescope rig, computes how much room is left between what moves and what does not, for every
pointing, and says which limits to enter. It is a planning aid, not a safety function: keep the mount's own limits
set, and a hand on the power switch for every first run.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.AddCommand(newNew(), newCheck(), newPose(), newPoses(), newLimits(), newMap(), newSlew(), newCard(), newScene(),
		newSchema(), newDemo())
	return root
}
