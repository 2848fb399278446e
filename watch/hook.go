package watch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Hook is what the owner wants done: when the mount does not obey, or as long as all is well (Options.Feed). Do ends by its
// context's deadline.
type Hook struct {
	Name      string // what is told of it: of a program without its arguments, of an address without its path, where a secret may stand
	CutsPower bool
	Do        func(ctx context.Context, c Call) error
}

// hookDeadline is how long a hook may take.
const hookDeadline = 10 * time.Second

// Call is what a hook is told.
type Call struct {
	At    time.Time `json:"at"`
	Rung  Rung      `json:"rung"`
	Cause Cause     `json:"cause"`
	Why   string    `json:"why"`
	Mount string    `json:"mount"`
	Rig   string    `json:"rig"`
	GapMM *float64  `json:"gap_lower_mm"`
	LeftS *float64  `json:"time_left_s"`
}

// CommandHook runs a program with its arguments, no shell between. The call is on its standard input as JSON and in the
// variables LEGROOM_RUNG, LEGROOM_CAUSE, LEGROOM_WHY and LEGROOM_GAP_MM.
func CommandHook(argv []string, cutsPower bool) (Hook, error) {
	if len(argv) == 0 || argv[0] == "" {
		return Hook{}, errors.New("give a program")
	}
	path, err := exec.LookPath(argv[0])
	if err != nil {
		return Hook{}, err
	}
	do := func(ctx context.Context, c Call) error {
		data, err := json.Marshal(c)
		if err != nil {
			return err
		}
		cmd := exec.CommandContext(ctx, path, argv[1:]...)
		cmd.WaitDelay = time.Second // a child that keeps the pipe open does not keep the hook waiting
		cmd.Stdin = bytes.NewReader(data)
		cmd.Env = append(os.Environ(), "LEGROOM_RUNG="+string(c.Rung), "LEGROOM_CAUSE="+string(c.Cause), "LEGROOM_WHY="+c.Why)
		if c.GapMM != nil {
			cmd.Env = append(cmd.Env, "LEGROOM_GAP_MM="+strconv.FormatFloat(*c.GapMM, 'f', 1, 64))
		}
		out := &head{left: 500}
		cmd.Stdout, cmd.Stderr = out, out
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("%w: %s", err, strings.TrimSpace(out.String()))
		}
		return nil
	}
	return Hook{Name: filepath.Base(argv[0]), CutsPower: cutsPower, Do: do}, nil
}

// head keeps the first bytes of an output.
type head struct {
	bytes.Buffer
	left int
}

func (h *head) Write(p []byte) (int, error) {
	n := min(len(p), h.left)
	h.left -= n
	h.Buffer.Write(p[:n])
	return len(p), nil
}

// WebHook sends the call as JSON by HTTP POST to an address; any answer of 2xx is a yes, a redirect is not followed.
func WebHook(address string, cutsPower bool) (Hook, error) {
	u, err := url.Parse(address)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return Hook{}, errors.New("it is no address: give http://HOST/… or https://HOST/…")
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	do := func(ctx context.Context, c Call) error {
		data, err := json.Marshal(c)
		if err != nil {
			return err
		}
		req, err := http.NewRequestWithContext(ctx, http.MethodPost, u.String(), bytes.NewReader(data))
		if err != nil {
			return err
		}
		req.Header.Set("Content-Type", "application/json")
		resp, err := client.Do(req)
		if of := (*url.Error)(nil); errors.As(err, &of) { // its text has the whole address
			return of.Err
		}
		if err != nil {
			return err
		}
		defer resp.Body.Close()
		_, _ = io.CopyN(io.Discard, resp.Body, 64<<10) // so that the connection can be used again
		if resp.StatusCode/100 != 2 {
			return fmt.Errorf("answer %s", resp.Status)
		}
		return nil
	}
	return Hook{Name: u.Scheme + "://" + u.Host, CutsPower: cutsPower, Do: do}, nil
}
