package sim

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"mime"
	"net"
	"net/http"
	"net/netip"
	"time"

	"legroom/axes"
)

// axisDoc are axis angles, or rates a second, in degrees.
type axisDoc struct {
	RA  float64 `json:"ra_axis_deg"`
	Dec float64 `json:"dec_axis_deg"`
}

func axisDocOf(g axes.Angles) axisDoc { return axisDoc{axes.Deg(g.RA), axes.Deg(g.Dec)} }

// StateDoc is the State as the control API writes it.
type StateDoc struct {
	Time     time.Time `json:"time"`
	True     axisDoc   `json:"true"`
	Believed axisDoc   `json:"believed"`
	RatePerS axisDoc   `json:"rate_per_s"`
	Tracking bool      `json:"tracking"`
	Slewing  bool      `json:"slewing"`
	ByHand   bool      `json:"by_hand"`
	Parked   bool      `json:"parked"`
	Power    bool      `json:"power"`
	Restarts int       `json:"restarts"`
	GapMM    float64   `json:"gap_mm"`
	A        string    `json:"a"`
	B        string    `json:"b"`
	Side     string    `json:"side"`
	HourH    float64   `json:"hour_angle_h"`
	DecDeg   float64   `json:"dec_deg"`
	Seed     uint64    `json:"seed"`
	Habits   string    `json:"habits"`
}

// ContactDoc is a Contact as the control API writes it.
type ContactDoc struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	DepthMM float64   `json:"depth_mm"`
	A       string    `json:"a"`
	B       string    `json:"b"`
	At      axisDoc   `json:"at"`
	Motion  string    `json:"motion"`
}

// ContactsDoc are the Contacts as the control API writes them.
type ContactsDoc struct {
	Count     int          `json:"count"`
	DeepestMM float64      `json:"deepest_mm"`
	LeastMM   *float64     `json:"least_gap_mm"`
	LeastA    string       `json:"least_a"`
	LeastB    string       `json:"least_b"`
	List      []ContactDoc `json:"list"`
}

func (m *Mount) stateDoc() StateDoc {
	s := m.State()
	parts := m.truth.Model.Parts
	points := m.model.Head.Pose(s.True)
	return StateDoc{Time: s.At.UTC(), True: axisDocOf(s.True), Believed: axisDocOf(s.Believed),
		RatePerS: axisDoc{axes.Deg(s.Rates[0]), axes.Deg(s.Rates[1])}, Tracking: s.Tracking, Slewing: s.Slewing, ByHand: s.ByHand,
		Parked: s.Parked, Power: s.Power, Restarts: s.Restarts, GapMM: s.Gap.Gap, A: parts[s.Gap.A].Name, B: parts[s.Gap.B].Name,
		Side: points.Side.String(), HourH: axes.Hours(axes.Wrap(points.HourAngle)), DecDeg: axes.Deg(points.Dec), Seed: m.seed, Habits: m.habits.String()}
}

func (m *Mount) contactsDoc() ContactsDoc {
	c := m.Contacts()
	d := ContactsDoc{Count: c.Count, DeepestMM: c.DeepestMM, LeastA: c.LeastA, LeastB: c.LeastB, List: []ContactDoc{}}
	if !math.IsInf(c.LeastMM, 0) {
		d.LeastMM = &c.LeastMM
	}
	for _, k := range c.List {
		d.List = append(d.List, ContactDoc{From: k.From.UTC(), To: k.To.UTC(), DepthMM: k.DepthMM, A: k.A, B: k.B,
			At: axisDocOf(k.At), Motion: k.Motion})
	}
	return d
}

// controlHelp is what / answers.
const controlHelp = `Control of the simulated mount. JSON in and out, Content-Type application/json.
GET    /state      where the mount really is, and its true gap
POST   /slew       {"hour_angle_h": -2, "dec_deg": 30, "side": "west"}: slew there and track, parked or not; without side it
                   takes the side that this mount would choose. As from a hand box: past any guard
POST   /park       {}: go to the park place
GET    /contacts   how often the true rig touched itself, how deep, between which parts
DELETE /contacts   begin counting anew
GET    /faults     those that are on
PUT    /faults     switch faults on: what is left out is off; {} is a good mount
POST   /slip       {"ra_axis_deg": 2, "dec_axis_deg": 0}: a clutch slips
POST   /restart    {"off_s": 5}: the power goes, and comes back with the place lost
POST   /cut        {}: the power goes for good
`

// Control answers the control API, to this computer alone: a name that leads here from elsewhere is refused.
func Control(m *Mount) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		_, _ = io.WriteString(w, controlHelp)
	})
	mux.HandleFunc("GET /state", func(w http.ResponseWriter, _ *http.Request) { give(w, m.stateDoc()) })
	mux.HandleFunc("POST /slew", func(w http.ResponseWriter, r *http.Request) {
		var to slewDoc
		do(w, r, &to, func() (any, error) { return to.start(m) })
	})
	mux.HandleFunc("POST /park", func(w http.ResponseWriter, r *http.Request) {
		do(w, r, &struct{}{}, func() (any, error) {
			err := m.Park()
			return m.stateDoc(), err
		})
	})
	mux.HandleFunc("GET /contacts", func(w http.ResponseWriter, _ *http.Request) { give(w, m.contactsDoc()) })
	mux.HandleFunc("DELETE /contacts", func(w http.ResponseWriter, _ *http.Request) {
		m.ResetContacts()
		give(w, m.contactsDoc())
	})
	mux.HandleFunc("GET /faults", func(w http.ResponseWriter, _ *http.Request) { give(w, m.Faults()) })
	mux.HandleFunc("PUT /faults", func(w http.ResponseWriter, r *http.Request) {
		var f Faults
		do(w, r, &f, func() (any, error) {
			err := m.SetFaults(f)
			return f, err
		})
	})
	mux.HandleFunc("POST /slip", func(w http.ResponseWriter, r *http.Request) {
		var by axisDoc
		do(w, r, &by, func() (any, error) {
			err := m.Slip(axes.Angles{RA: axes.Rad(by.RA), Dec: axes.Rad(by.Dec)})
			return m.stateDoc(), err
		})
	})
	mux.HandleFunc("POST /restart", func(w http.ResponseWriter, r *http.Request) {
		off := struct {
			S float64 `json:"off_s"`
		}{5}
		do(w, r, &off, func() (any, error) {
			if !(off.S >= 0 && off.S <= 3600) {
				return nil, fmt.Errorf("off_s %g: give a number from 0 to 3600", off.S)
			}
			m.Restart(time.Duration(off.S * 1e9))
			return m.stateDoc(), nil
		})
	})
	mux.HandleFunc("POST /cut", func(w http.ResponseWriter, r *http.Request) {
		do(w, r, &struct{}{}, func() (any, error) {
			m.CutPower()
			return m.stateDoc(), nil
		})
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host, _, err := net.SplitHostPort(r.Host)
		if a, bad := netip.ParseAddr(host); err != nil || host != "localhost" && (bad != nil || !a.IsLoopback()) {
			http.Error(w, "ask by a loopback address, such as 127.0.0.1", http.StatusForbidden)
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// slewDoc is where to slew to.
type slewDoc struct {
	HourH  *float64 `json:"hour_angle_h"`
	DecDeg *float64 `json:"dec_deg"`
	Side   string   `json:"side"`
}

// start starts the slew, and answers with the state at its beginning.
func (d *slewDoc) start(m *Mount) (any, error) {
	if d.HourH == nil || d.DecDeg == nil || math.Abs(*d.HourH) > 12 || math.Abs(*d.DecDeg) > 90 {
		return nil, fmt.Errorf("give hour_angle_h from -12 to 12 and dec_deg from -90 to 90")
	}
	var side *axes.Side
	if d.Side != "" {
		s, err := axes.ParseSide(d.Side)
		if err != nil {
			return nil, err
		}
		side = &s
	}
	if err := m.SlewByHand(axes.FromHours(*d.HourH), axes.Rad(*d.DecDeg), side); err != nil {
		return nil, err
	}
	return m.stateDoc(), nil
}

// do reads the JSON of a request, carries it out and answers. The type of the content keeps other pages of a browser out: they
// cannot send it without being asked.
func do(w http.ResponseWriter, r *http.Request, into any, f func() (any, error)) {
	if media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || media != "application/json" {
		http.Error(w, "give Content-Type application/json", http.StatusUnsupportedMediaType)
		return
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, 64<<10))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = fmt.Errorf("something follows the JSON object")
		}
	}
	if err != nil {
		http.Error(w, fmt.Sprintf("%s %s: %v; GET / says what there is", r.Method, r.URL.Path, err), http.StatusBadRequest)
		return
	}
	answer, err := f()
	if err != nil {
		http.Error(w, fmt.Sprintf("%s %s: %v", r.Method, r.URL.Path, err), http.StatusBadRequest)
		return
	}
	give(w, answer)
}

func give(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(v)
}
