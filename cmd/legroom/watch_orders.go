package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"legroom/axes"
)

const orderHelp = "stop (or s), release, confirm west|east, ack [KEY], snooze [MINUTES], park, end."

// confirmHelp says what the order confirms, beside the command of the same name.
const confirmHelp = "confirm says how the rig stands now, on side west or east, as you see it at the rig: so the watch need not believe the mount. " +
	"confirm alone tells how either would look. The set-up list is another thing: legroom confirm RIG, before the watch."

// listen carries out what is typed, until ctx ends. The end of the input, as of a service, is no order.
func (p *patrol) listen(ctx context.Context, end func(), v *viewer) {
	in := newLines(ctx, p.c.InOrStdin())
	for {
		text, err := in.next()
		if err != nil {
			return
		}
		if strings.TrimSpace(text) == "" {
			continue
		}
		answer, err := p.order(ctx, strings.Fields(text), end)
		switch {
		case v.json: // events tell
			if err != nil {
				fmt.Fprintf(p.c.ErrOrStderr(), "legroom: %v\n", err)
			}
		case err != nil:
			v.write("not done: " + err.Error() + "\n")
		case answer != "":
			v.write(answer + "\n")
		}
	}
}

// order carries out one order.
func (p *patrol) order(ctx context.Context, words []string, end func()) (string, error) {
	arg := ""
	if len(words) > 1 {
		arg = strings.Join(words[1:], " ")
	}
	switch word := strings.ToLower(words[0]); word {
	case "stop", "s":
		p.w.Stop()
		return "", nil
	case "release":
		return "", p.w.Release()
	case "confirm":
		if arg == "" {
			return p.askReference(), nil
		}
		side, err := axes.ParseSide(arg)
		if err != nil {
			return "", fmt.Errorf("confirm %s: there is no such side.\n%s", arg, p.askReference())
		}
		return "", p.w.ConfirmReference(side)
	case "ack":
		return p.acknowledge(arg)
	case "snooze":
		minutes := 10.0
		if arg != "" {
			var err error
			if minutes, err = strconv.ParseFloat(arg, 64); err != nil || !(minutes > 0 && minutes <= 30) {
				return "", fmt.Errorf("snooze %s: give minutes, 30 at most", arg)
			}
		}
		return "", p.w.Snooze(time.Duration(minutes * float64(time.Minute)))
	case "park":
		return "", p.w.Park(ctx)
	case "end", "quit":
		end()
		return "", nil
	case "help", "?":
		return orderHelp + "\n" + wrapped("", confirmHelp, helpColumns), nil
	default:
		return "", fmt.Errorf("there is no order %q: %s", word, orderHelp)
	}
}

// acknowledge takes one alarm by its key, or all of them.
func (p *patrol) acknowledge(key string) (string, error) {
	if key != "" {
		return "", p.w.Acknowledge(key)
	}
	n := 0
	for _, a := range p.w.Status().Alarms {
		if !a.Known {
			if err := p.w.Acknowledge(a.Key); err == nil {
				n++
			}
		}
	}
	if n == 0 {
		return "there is nothing to acknowledge", nil
	}
	return "", nil
}
