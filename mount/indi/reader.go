package indi

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// What one element may hold. A mount's largest ones are lists of a few dozen switches.
const (
	maxElement    = 128 << 10 // bytes, with the blanks and comments before it
	maxAttributes = 32
	maxMembers    = 512
	maxDepth      = 8 // of elements that are passed over; a vector has two levels
)

// Reader takes a stream apart into elements, one after the other, and holds no more than one.
type Reader struct {
	d   *xml.Decoder
	src *source
}

// NewReader reads from r.
func NewReader(r io.Reader) *Reader {
	src := &source{in: bufio.NewReader(r)}
	return &Reader{d: xml.NewDecoder(src), src: src}
}

// Next gives the next element that the protocol has; others are passed over. It is io.EOF where the stream ends between two
// elements. After any other error the stream cannot be read on: it was not well formed, or went beyond a bound.
func (r *Reader) Next() (Element, error) {
	for {
		r.src.start()
		start, err := r.startTag()
		if err != nil {
			return Element{}, err
		}
		e, known, err := r.element(start)
		r.src.end()
		if err != nil {
			return Element{}, fmt.Errorf("<%s>: %w", clipped(start.Name.Local), err)
		}
		if known {
			return e, nil
		}
	}
}

// startTag finds where the next element starts.
func (r *Reader) startTag() (xml.StartElement, error) {
	for {
		token, err := r.token()
		if err != nil {
			return xml.StartElement{}, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			return t, nil
		case xml.CharData:
			if text := strings.TrimSpace(string(t)); text != "" {
				return xml.StartElement{}, fmt.Errorf("%q stands between elements", clipped(text))
			}
		}
	}
}

func (r *Reader) token() (xml.Token, error) {
	token, err := r.d.Token()
	if err != nil {
		return nil, err
	}
	switch t := token.(type) {
	case xml.Directive:
		return nil, errors.New("a document type or entity declaration: the protocol has none")
	case xml.StartElement:
		if len(t.Attr) > maxAttributes {
			return nil, fmt.Errorf("more than %d attributes", maxAttributes)
		}
	}
	return token, nil
}

// element reads an element whose start tag was read.
func (r *Reader) element(start xml.StartElement) (e Element, known bool, err error) {
	if op, ok := plainElements[start.Name.Local]; ok && start.Name.Space == "" {
		e.Op = op
		e.attributes(start)
		return e, true, r.skip(1)
	}
	e, known = vectorElements[start.Name.Local]
	if !known || start.Name.Space != "" || e.Kind == BLOB {
		return Element{}, false, r.skip(1)
	}
	e.attributes(start)
	return e, true, r.members(&e)
}

// skip passes over what is left of the element that is depth deep.
func (r *Reader) skip(depth int) error {
	for depth > 0 {
		token, err := r.token()
		if err != nil {
			return err
		}
		switch token.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		}
		if depth > maxDepth {
			return fmt.Errorf("more than %d levels", maxDepth)
		}
	}
	return nil
}

// members reads the members of a vector up to its end tag.
func (r *Reader) members(e *Element) error {
	want := "one" + e.Kind.String()
	if e.Op == Def {
		want = "def" + e.Kind.String()
	}
	names := map[string]bool{}
	for {
		token, err := r.token()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if t.Name.Local != want || t.Name.Space != "" {
				return fmt.Errorf("<%s> stands where <%s> should", clipped(t.Name.Local), want)
			}
			if len(e.Members) == maxMembers {
				return fmt.Errorf("more than %d members", maxMembers)
			}
			m, err := r.member(e, t)
			if err != nil {
				return err
			}
			if names[m.Name] || m.Name == "" {
				e.bad(fmt.Errorf("a member's name %q is empty or stands there twice", clipped(m.Name)))
			}
			names[m.Name] = true
			e.Members = append(e.Members, m)
		}
	}
}

// member reads one member. Values that cannot be read make the element bad; only its form is an error.
func (r *Reader) member(e *Element, start xml.StartElement) (Member, error) {
	var m Member
	for _, a := range start.Attr {
		switch a.Name.Local {
		case "name":
			m.Name = a.Value
		case "label":
			m.Label = a.Value
		case "format":
			m.Format = a.Value
		case "min":
			m.Min = e.number(a.Value)
		case "max":
			m.Max = e.number(a.Value)
		case "step":
			m.Step = e.number(a.Value)
		}
	}
	var text strings.Builder
	for {
		token, err := r.token()
		if err != nil {
			return m, err
		}
		switch t := token.(type) {
		case xml.CharData:
			text.Write(t)
		case xml.StartElement:
			return m, fmt.Errorf("<%s> stands inside of <%s>", clipped(t.Name.Local), start.Name.Local)
		case xml.EndElement:
			m.Text = strings.TrimSpace(text.String())
			e.value(&m)
			return m, nil
		}
	}
}

func (e *Element) value(m *Member) {
	var ok bool
	switch e.Kind {
	case Number:
		m.Number = e.number(m.Text)
	case Switch:
		m.On = m.Text == "On"
		if !m.On && m.Text != "Off" {
			e.bad(fmt.Errorf("%s: %q is neither On nor Off", clipped(m.Name), clipped(m.Text)))
		}
	case Light:
		if m.Light, ok = stateOf(m.Text); !ok {
			e.bad(fmt.Errorf("%s: %q is no state", clipped(m.Name), clipped(m.Text)))
		}
	}
}

func (e *Element) number(text string) float64 {
	x, err := ParseNumber(text)
	if err != nil {
		e.bad(err)
	}
	return x
}

func (e *Element) bad(err error) {
	if e.Bad == nil {
		e.Bad = err
	}
}

// attributes reads the attributes of a top element. Those that nothing here needs are passed over, and a timestamp that is none.
func (e *Element) attributes(start xml.StartElement) {
	for _, a := range start.Attr {
		switch a.Name.Local {
		case "device":
			e.Device = a.Value
		case "name":
			e.Name = a.Value
		case "label":
			e.Label = a.Value
		case "group":
			e.Group = a.Value
		case "perm":
			e.Perm = a.Value
		case "rule":
			e.Rule = a.Value
		case "message":
			e.Message = clipped(a.Value)
		case "timestamp":
			e.Stamp, _ = parseUTC(a.Value)
		case "state":
			var ok bool
			if e.State, ok = stateOf(a.Value); !ok {
				e.bad(fmt.Errorf("%q is no state", clipped(a.Value)))
			}
		}
	}
	if e.Op == Def && e.State == Unstated {
		e.bad(errors.New("a definition without a state"))
	}
	if slices.Contains([]Op{New, Def, Set}, e.Op) && (e.Device == "" || e.Name == "") {
		e.bad(errors.New("no device or no name"))
	}
}

func stateOf(text string) (State, bool) {
	for s, name := range states {
		if name == text {
			return s, true
		}
	}
	return Unstated, false
}

// source counts the bytes of an element, so that the decoder can gather no more than those, and tells when one is under way.
type source struct {
	in     *bufio.Reader
	left   int
	inside bool
	// under is told that an element has begun, and that it has ended. It may be nil.
	under func(way bool)
}

var errTooLong = fmt.Errorf("an element of more than %d bytes", maxElement)

func (s *source) start() { s.left = maxElement }

func (s *source) end() {
	if s.inside && s.under != nil {
		s.under(false)
	}
	s.inside = false
}

// ReadByte is what the decoder reads by.
func (s *source) ReadByte() (byte, error) {
	if s.left == 0 {
		return 0, errTooLong
	}
	b, err := s.in.ReadByte()
	if err != nil {
		return 0, err
	}
	s.left--
	if !s.inside && !strings.ContainsRune(" \t\r\n", rune(b)) {
		if b != '<' { // said here, since the decoder would first wait for the next tag
			return 0, fmt.Errorf("%q stands between elements", string(rune(b)))
		}
		s.inside = true
		if s.under != nil {
			s.under(true)
		}
	}
	return b, nil
}

// Read is there for the decoder to take a source; it reads by ReadByte.
func (s *source) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	b, err := s.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = b
	return 1, nil
}
