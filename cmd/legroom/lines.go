package main

import (
	"bufio"
	"context"
	"io"
)

// lines reads answers, one a line, until the context ends: a terminal that nobody types at must not hold up an interrupt.
type lines struct {
	ctx   context.Context
	texts chan string
	err   error // to be read when texts is closed
}

func newLines(ctx context.Context, in io.Reader) *lines {
	l := &lines{ctx: ctx, texts: make(chan string)}
	go func() {
		defer close(l.texts)
		s := bufio.NewScanner(in)
		for s.Scan() {
			select {
			case l.texts <- s.Text():
			case <-ctx.Done():
				return
			}
		}
		l.err = s.Err()
	}()
	return l
}

// next gives the next line, and io.EOF when there is none.
func (l *lines) next() (string, error) {
	select {
	case s, ok := <-l.texts:
		switch {
		case ok:
			return s, nil
		case l.ctx.Err() != nil:
			return "", l.ctx.Err()
		case l.err != nil:
			return "", l.err
		}
		return "", io.EOF
	case <-l.ctx.Done():
		return "", l.ctx.Err()
	}
}
