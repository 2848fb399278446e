package alpaca

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"legroom/mount"
)

// badServer answers as a handler likes, and counts the requests.
func badServer(t *testing.T, answer http.HandlerFunc) (*Remote, *atomic.Int32) {
	t.Helper()
	var asked atomic.Int32
	ctx, stop := context.WithCancel(t.Context())
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		answer(w, r.WithContext(ctx))
	}))
	t.Cleanup(s.Close)
	t.Cleanup(stop)
	h := hostOf(t, s)
	return h.Device("telescope", 0), &asked
}

// transactionOf is what a good server echoes.
func transactionOf(r *http.Request) string { return r.FormValue("ClientTransactionID") }

func good(r *http.Request, value string) string {
	const form = `{"Value":%s,"ClientTransactionID":%s,"ServerTransactionID":1,"ErrorNumber":0,"ErrorMessage":""}`
	return fmt.Sprintf(form, value, transactionOf(r))
}

// What a bad server may send, what kind of error that is, and how often a read is tried.
func TestBadServers(t *testing.T) {
	write := func(text string) http.HandlerFunc {
		return func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, text) }
	}
	status := func(code int, text string) http.HandlerFunc {
		return func(w http.ResponseWriter, _ *http.Request) { http.Error(w, text, code) }
	}
	for _, tt := range []struct {
		name   string
		answer http.HandlerFunc
		kind   error
		tries  int32
	}{
		{"garbage", write("\x00\xff\x17garbage"), mount.ErrAnswer, readTries},
		{"nothing", write(""), mount.ErrAnswer, readTries},
		{"a page", write("<html>hello</html>"), mount.ErrAnswer, readTries},
		{"wrong type", func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.WriteString(w, good(r, `"5.5"`))
		}, mount.ErrAnswer, readTries},
		{"wrong case", func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.WriteString(w, strings.Replace(good(r, "5.5"), "Value", "value", 1))
		}, mount.ErrAnswer, readTries},
		{"wrong transaction", func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.WriteString(w, strings.Replace(good(r, "5.5"), `"ClientTransactionID":`, `"ClientTransactionID":1`, 1))
		}, mount.ErrAnswer, readTries},
		{"too long", write(`{"Value":"` + strings.Repeat("x", maxBody) + `"}`), mount.ErrAnswer, readTries},
		{"400", status(400, "what?"), mount.ErrLacks, 1},
		{"404", status(404, "what?"), mount.ErrLacks, 1},
		{"500", status(500, "burnt"), mount.ErrAnswer, readTries},
		{"a good answer with status 201", func(w http.ResponseWriter, r *http.Request) {
			w.WriteHeader(201)
			_, _ = io.WriteString(w, good(r, "5.5"))
		}, mount.ErrAnswer, readTries},
		{"a redirect", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "/elsewhere", http.StatusFound)
		}, mount.ErrAnswer, readTries},
		{"long headers", func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("X", strings.Repeat("x", 64<<10))
		}, mount.ErrLink, readTries},
		{"hangs up", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }, mount.ErrLink, readTries},
		{"hangs up in the middle", func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Length", "500")
			_, _ = io.WriteString(w, good(r, "5.5"))
		}, mount.ErrLink, readTries},
		{"never answers", func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() }, mount.ErrLink, 1},
		{"a byte now and then", func(w http.ResponseWriter, r *http.Request) {
			for r.Context().Err() == nil {
				_, _ = io.WriteString(w, " ")
				_ = http.NewResponseController(w).Flush()
				time.Sleep(10 * time.Millisecond)
			}
		}, mount.ErrLink, 1},
		{"endless", func(w http.ResponseWriter, r *http.Request) {
			junk := strings.Repeat(" ", 64<<10)
			for r.Context().Err() == nil {
				if _, err := io.WriteString(w, junk); err != nil {
					return
				}
			}
		}, mount.ErrAnswer, readTries},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, asked := badServer(t, tt.answer)
			if r.host.Deadline = time.Minute; tt.tries == 1 && tt.kind == mount.ErrLink {
				r.host.Deadline = 200 * time.Millisecond // which the call will use up
			}
			v, err := r.Call(t.Context(), Get("rightascension"))
			if v != nil || !errors.Is(err, tt.kind) {
				t.Errorf("%v, %v; want %v", v, err, tt.kind)
			}
			if n := asked.Load(); n != tt.tries {
				t.Errorf("a read was tried %d times, want %d", n, tt.tries)
			}
			asked.Store(0)
			_, err = r.Call(t.Context(), Put("commandstring", Args{"Command": "x", "Raw": true}))
			if !errors.Is(err, tt.kind) && tt.name != "wrong type" {
				t.Errorf("PUT: %v, want %v", err, tt.kind)
			}
			if n := asked.Load(); n != 1 {
				t.Errorf("a command was sent %d times", n)
			}
		})
	}
}

func TestReadIsTriedAgain(t *testing.T) {
	var n atomic.Int32
	r, _ := badServer(t, func(w http.ResponseWriter, r *http.Request) {
		if n.Add(1) < readTries {
			panic(http.ErrAbortHandler)
		}
		_, _ = io.WriteString(w, good(r, "5.5"))
	})
	if v, err := r.Call(t.Context(), Get("rightascension")); v != 5.5 || err != nil {
		t.Errorf("%v, %v", v, err)
	}
}

func TestNobodyThere(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	l.Close()
	if _, err := NewHost(address).Device("telescope", 0).Call(t.Context(), Get("slewing")); !errors.Is(err, mount.ErrLink) {
		t.Errorf("got %v", err)
	}
}

// Connections that stay open while nobody is at their other end cost one deadline in all; the next call has a new one.
func TestHalfOpenConnections(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	const dead = 3 // connections that answer once, when all of them have been asked
	var connections atomic.Int32
	var asked sync.WaitGroup
	asked.Add(dead)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			dies := connections.Add(1) <= dead
			go func() {
				defer c.Close()
				in := bufio.NewReader(c)
				for n := 0; ; n++ {
					req, err := http.ReadRequest(in)
					if err != nil {
						return
					}
					if dies && n > 0 {
						_, _ = io.Copy(io.Discard, in) // half open: takes everything, says nothing
						return
					}
					if dies {
						asked.Done()
						asked.Wait()
					}
					text := good(req, "5.5")
					fmt.Fprintf(c, "HTTP/1.1 200 OK\r\nContent-Length: %d\r\n\r\n%s", len(text), text)
				}
			}()
		}
	}()
	h := NewHost(l.Addr().String())
	defer h.Close()
	r := h.Device("telescope", 0)
	var first sync.WaitGroup
	for range dead {
		first.Go(func() {
			if _, err := r.Call(short(t, time.Minute), Get("rightascension")); err != nil {
				t.Error(err)
			}
		})
	}
	first.Wait()
	if _, err := r.Call(short(t, 200*time.Millisecond), Get("rightascension")); !errors.Is(err, mount.ErrLink) {
		t.Errorf("on a half-open connection: %v", err)
	}
	if _, err := r.Call(short(t, time.Minute), Get("rightascension")); err != nil {
		t.Errorf("afterwards: %v", err)
	}
	if n := connections.Load(); n != dead+1 {
		t.Errorf("%d connections, want %d", n, dead+1)
	}
}

func TestCallsOutsideOfTheStandard(t *testing.T) {
	r := NewHost("127.0.0.1:1").Device("telescope", 0)
	if _, err := r.Call(t.Context(), Get("warpfactor")); !errors.Is(err, mount.ErrLacks) {
		t.Errorf("got %v", err)
	}
	nan := 0.0
	nan /= nan
	if _, err := r.Call(t.Context(), Put("moveaxis", Args{"Axis": 0, "Rate": nan})); !errors.Is(err, mount.ErrValue) {
		t.Errorf("got %v", err)
	}
}

func TestBadManagement(t *testing.T) {
	for _, text := range []string{"", "{}", `{"Value":7,"ClientTransactionID":%s,"ServerTransactionID":1}`,
		`{"Value":[7,"x",{"DeviceName":"a"}],"ClientTransactionID":%s,"ServerTransactionID":1}`,
		`{"Value":[1],"ClientTransactionID":999,"ServerTransactionID":1}`} {
		r, _ := badServer(t, func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.WriteString(w, strings.Replace(text, "%s", transactionOf(r), 1))
		})
		_, err1 := r.host.Versions(t.Context())
		_, err2 := r.host.Info(t.Context())
		_, err3 := r.host.Devices(t.Context())
		for _, err := range []error{err1, err2, err3} {
			if !errors.Is(err, mount.ErrAnswer) {
				t.Errorf("%s: %v", text, err)
			}
		}
	}
}

// The server ends with its context while a device still works, and a device that works for long keeps its context.
func TestServe(t *testing.T) {
	working := make(chan context.Context, 1)
	s, err := NewServer(Info{}, Served{Listed{"a", "Telescope", 0, "x"}, deviceFunc(func(ctx context.Context, c Call) (any, error) {
		if c.Member == "slewing" {
			return true, nil
		}
		working <- ctx
		<-ctx.Done()
		return nil, ctx.Err()
	})})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- Serve(ctx, l, s) }()
	h := NewHost(l.Addr().String())
	defer h.Close()
	r := h.Device("telescope", 0)
	if v, err := r.Call(t.Context(), Get("slewing")); v != true || err != nil {
		t.Fatalf("%v, %v", v, err)
	}
	failed := make(chan error, 1)
	go func() {
		_, err := r.Call(short(t, time.Minute), Put("findhome", nil))
		failed <- err
	}()
	if c := <-working; c.Err() != nil {
		t.Error(c.Err())
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if err := <-failed; !errors.Is(err, mount.ErrLink) {
		t.Errorf("got %v", err)
	}
}
