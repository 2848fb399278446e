package alpaca

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"legroom/mount"
)

// answerTime is how long a client may take to accept an answer.
const answerTime = 5 * time.Second

// Served is a device with what the list says of it.
type Served struct {
	Listed
	Device Device
}

// Server answers the device API, the management API and the set-up pages for some devices. It is an http.Handler; Serve
// runs it.
type Server struct {
	info        Info
	list        []Listed
	devices     map[deviceKey]Device
	mux         *http.ServeMux
	transaction atomic.Uint32
}

type deviceKey struct {
	deviceType string
	number     int
}

// NewServer makes a server. Each device needs a type that the tables have, a number of its own, a name and a UniqueID.
func NewServer(info Info, devices ...Served) (*Server, error) {
	s := &Server{info: info, devices: map[deviceKey]Device{}, list: []Listed{}, mux: http.NewServeMux()}
	ids := map[string]bool{}
	for _, d := range devices {
		key := deviceKey{strings.ToLower(d.DeviceType), d.DeviceNumber}
		switch {
		case members[key.deviceType] == nil:
			return nil, fmt.Errorf("device %q: no table for type %q", d.DeviceName, d.DeviceType)
		case d.DeviceNumber < 0 || d.DeviceNumber > math.MaxInt32 || s.devices[key] != nil:
			return nil, fmt.Errorf("device %q: %s number %d is taken or out of range", d.DeviceName, key.deviceType, d.DeviceNumber)
		case d.Device == nil || d.DeviceName == "" || d.UniqueID == "" || ids[d.UniqueID]:
			return nil, fmt.Errorf("device %q: give a device, a name, and a UniqueID of its own", d.DeviceName)
		}
		ids[d.UniqueID] = true
		s.devices[key] = d.Device
		s.list = append(s.list, d.Listed)
	}
	s.mux.HandleFunc("/api/v1/{type}/{number}/{member}", s.member)
	s.mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		plain(w, http.StatusBadRequest, "give /api/v1/{device type}/{device number}/{member}, all in lower case")
	})
	s.mux.HandleFunc("GET /management/apiversions", s.manage([]int{1}))
	s.mux.HandleFunc("GET /management/v1/description", s.manage(s.info))
	s.mux.HandleFunc("GET /management/v1/configureddevices", s.manage(s.list))
	s.mux.HandleFunc("GET /setup", s.setup)
	s.mux.HandleFunc("GET /setup/v1/{type}/{number}/setup", s.setupDevice)
	return s, nil
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if !called(r.Host) {
		plain(w, http.StatusForbidden, fmt.Sprintf("%s is not a name of this computer: give its address", clipped(r.Host)))
		return
	}
	s.mux.ServeHTTP(w, r)
}

// member answers one call to a device.
func (s *Server) member(w http.ResponseWriter, r *http.Request) {
	device, c, err := s.request(r)
	if err != nil {
		s.fail(w, err)
		return
	}
	// The time for the request is over; let it not end the call's context while the device works.
	_ = http.NewResponseController(w).SetReadDeadline(time.Time{})
	value, err := call(r.Context(), device, c)
	var status *HTTPError
	if errors.As(err, &status) {
		s.fail(w, err)
		return
	}
	a := answer{Value: value, ClientTransactionID: c.Transaction, ServerTransactionID: s.nextTransaction()}
	if err != nil {
		a.Value = nil
		a.ErrorNumber, a.ErrorMessage = errorNumber(err)
	}
	s.write(w, a)
}

// request finds what is asked for. Errors are of HTTP.
func (s *Server) request(r *http.Request) (Device, Call, error) {
	if r.Method != http.MethodGet && r.Method != http.MethodPut {
		return nil, Call{}, &HTTPError{http.StatusMethodNotAllowed, "give GET or PUT"}
	}
	deviceType, name := r.PathValue("type"), r.PathValue("member")
	n, err := strconv.ParseUint(r.PathValue("number"), 10, 31)
	device := s.devices[deviceKey{deviceType, int(n)}]
	if err != nil || device == nil {
		return nil, Call{}, badRequest("no device %s number %s here: see /management/v1/configureddevices",
			clipped(deviceType), clipped(r.PathValue("number")))
	}
	m, ok := MemberOf(deviceType, name, r.Method == http.MethodPut)
	if !ok {
		return nil, Call{}, badRequest("a %s has no %s %s", deviceType, r.Method, clipped(name))
	}
	f, err := readForm(r)
	if err != nil {
		return nil, Call{}, err
	}
	client, transaction, err := f.ids()
	if err != nil {
		return nil, Call{}, err
	}
	c, err := f.call(m)
	c.ClientID, c.Transaction = client, transaction
	return device, c, err
}

// call runs a call. A panic in a device is a fault of this one call.
func call(ctx context.Context, d Device, c Call) (value any, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &HTTPError{http.StatusInternalServerError, fmt.Sprintf("%s: %v", c.Member, p)}
		}
	}()
	value, err = d.Call(ctx, c)
	if x, ok := value.(float64); ok && err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
		err = fmt.Errorf("%w: %s is %g", mount.ErrAnswer, c.Member, x)
	}
	return value, err
}

func (s *Server) manage(value any) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		f, err := readForm(r)
		if err != nil {
			s.fail(w, err)
			return
		}
		_, transaction, err := f.ids()
		if err != nil {
			s.fail(w, err)
			return
		}
		s.write(w, answer{Value: value, ClientTransactionID: transaction, ServerTransactionID: s.nextTransaction()})
	}
}

func (s *Server) nextTransaction() uint32 {
	for {
		if n := s.transaction.Add(1); n != 0 {
			return n
		}
	}
}

func (s *Server) write(w http.ResponseWriter, a answer) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil {
		plain(w, http.StatusInternalServerError, err.Error())
		return
	}
	limitWrite(w)
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Length", strconv.Itoa(b.Len()))
	_, _ = w.Write(b.Bytes())
}

func (s *Server) fail(w http.ResponseWriter, err error) {
	var status *HTTPError
	if !errors.As(err, &status) {
		status = &HTTPError{http.StatusInternalServerError, err.Error()}
	}
	plain(w, status.Status, status.Text)
}

func plain(w http.ResponseWriter, status int, text string) {
	limitWrite(w)
	http.Error(w, text, status)
}

// limitWrite starts the time in which a client must take the answer. It cannot start with the request: a device may work on it
// for minutes. A writer without deadlines, as in tests, needs none.
func limitWrite(w http.ResponseWriter) {
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(answerTime))
}
