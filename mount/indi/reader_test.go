package indi

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

func readAll(r *Reader) (all []Element, err error) {
	for {
		e, err := r.Next()
		if err != nil {
			return all, err
		}
		all = append(all, e)
	}
}

// Elements as the protocol has them, from REFERENCES and memory, whole and byte by byte.
func TestElements(t *testing.T) {
	const stream = `<?xml version="1.0"?>
<getProperties version="1.7"/><getProperties version='1.7' device="A mount" name="X"></getProperties>
<!-- a word -->
<enableBLOB device="A mount">Never</enableBLOB>
<defNumberVector device="A mount" name="EQUATORIAL_EOD_COORD" label="Place" group="Main &amp; more" state="Idle" perm="rw" timeout="60" timestamp="2026-03-01T21:00:00">
  <defNumber name="RA" label="hh:mm:ss" format="%010.6m" min="0" max="24" step="0">
    5:30:00
  </defNumber>
  <defNumber name="DEC" label="dd:mm:ss" format="%010.6m" min="-90" max="90" step="0"> -0:30:00 </defNumber>
</defNumberVector>
<unknown><deep a="b">text</deep></unknown>
<setNumberVector device="A mount" name="EQUATORIAL_EOD_COORD" state="Busy" message="on my&#32;way"><oneNumber name="RA">6.25</oneNumber></setNumberVector>
<setSwitchVector device="A mount" name="S"><oneSwitch name="A">On</oneSwitch><oneSwitch name="B"> Off </oneSwitch></setSwitchVector>
<defLightVector device="A mount" name="L" state="Ok"><defLight name="x" label="y">Alert</defLight></defLightVector>
<newTextVector device="A mount" name="T"><oneText name="t"><![CDATA[a <b> c]]></oneText></newTextVector>
<setBLOBVector device="A mount" name="B"><oneBLOB name="b" size="3" format=".x">AAAA</oneBLOB></setBLOBVector>
<delProperty device="A mount" name="L"/><delProperty device="A mount"/><message message="hello"/>`
	coords := Vector{Device: "A mount", Name: "EQUATORIAL_EOD_COORD"}
	want := []Element{
		{Op: Get},
		{Op: Get, Vector: Vector{Device: "A mount", Name: "X"}},
		{Op: Blobs, Vector: Vector{Device: "A mount"}},
		{Op: Def, Vector: Vector{Device: coords.Device, Name: coords.Name, Kind: Number, Label: "Place", Group: "Main & more", State: Idle, Perm: "rw",
			Stamp: time.Date(2026, 3, 1, 21, 0, 0, 0, time.UTC), Members: []Member{
				{Name: "RA", Label: "hh:mm:ss", Text: "5:30:00", Number: 5.5, Format: "%010.6m", Max: 24},
				{Name: "DEC", Label: "dd:mm:ss", Text: "-0:30:00", Number: -.5, Format: "%010.6m", Min: -90, Max: 90}}}},
		{Op: Set, Vector: Vector{Device: coords.Device, Name: coords.Name, Kind: Number, State: Busy, Message: "on my way",
			Members: []Member{{Name: "RA", Text: "6.25", Number: 6.25}}}},
		{Op: Set, Vector: Vector{Device: coords.Device, Name: "S", Kind: Switch,
			Members: []Member{{Name: "A", Text: "On", On: true}, {Name: "B", Text: "Off"}}}},
		{Op: Def, Vector: Vector{Device: coords.Device, Name: "L", Kind: Light, State: Ok,
			Members: []Member{{Name: "x", Label: "y", Text: "Alert", Light: Alert}}}},
		{Op: New, Vector: Vector{Device: coords.Device, Name: "T", Kind: Text, Members: []Member{{Name: "t", Text: "a <b> c"}}}},
		{Op: Delete, Vector: Vector{Device: coords.Device, Name: "L"}},
		{Op: Delete, Vector: Vector{Device: coords.Device}},
		{Op: Message, Vector: Vector{Message: "hello"}},
	}
	for name, r := range map[string]io.Reader{"whole": strings.NewReader(stream), "by byte": iotest.OneByteReader(strings.NewReader(stream))} {
		got, err := readAll(NewReader(r))
		if err != io.EOF {
			t.Fatalf("%s: %v", name, err)
		}
		if len(got) != len(want) {
			t.Fatalf("%s: %d elements, want %d", name, len(got), len(want))
		}
		for i := range want {
			if !reflect.DeepEqual(got[i], want[i]) {
				t.Errorf("%s: element %d is\n%+v, want\n%+v", name, i, got[i], want[i])
			}
		}
	}
}

// What is written reads back as it was.
func TestWire(t *testing.T) {
	odd := "a <b> & \"c\" 'd' é ]]> \t"
	for _, e := range []Element{
		{Op: Get, Vector: Vector{Device: odd, Name: "N"}},
		{Op: Message, Vector: Vector{Device: "D", Message: "it's <that>"}},
		{Op: Delete, Vector: Vector{Device: "D"}},
		{Op: Def, Vector: Vector{Device: "D", Name: "N", Kind: Number, Label: odd, Group: "G", State: Alert, Perm: "rw", Message: "m",
			Members: []Member{{Name: odd, Label: odd, Number: math.Pi, Text: "3.141592653589793", Format: "%g", Min: -1e300, Max: 5e-324, Step: 1}}}},
		{Op: Set, Vector: Vector{Device: "D", Name: "N", Kind: Switch, State: Ok, Members: []Member{{Name: "A", On: true, Text: "On"}, {Name: "B", Text: "Off"}}}},
		{Op: New, Vector: Vector{Device: "D", Name: "N", Kind: Text, Members: []Member{{Name: "A", Text: strings.TrimSpace(odd)}, {Name: "B"}}}},
		{Op: Def, Vector: Vector{Device: "D", Name: "N", Kind: Light, State: Idle, Members: []Member{{Name: "A", Light: Busy, Text: "Busy"}}}},
	} {
		got, err := NewReader(bytes.NewReader(e.wire())).Next()
		if err != nil || got.Bad != nil {
			t.Errorf("%s: %v, %v", e.wire(), err, got.Bad)
		} else if !reflect.DeepEqual(got, e) {
			t.Errorf("%s reads back as\n%+v, want\n%+v", e.wire(), got, e)
		}
	}
	if got, want := string(Element{Op: Get, Vector: Vector{Device: "A mount"}}.wire()),
		"<getProperties version=\"1.7\" device=\"A mount\"></getProperties>\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := string(Element{Op: New, Vector: Vector{Device: "M", Name: "TELESCOPE_ABORT_MOTION", Kind: Switch,
		Members: []Member{{Name: "ABORT", On: true}}}}.wire()),
		"<newSwitchVector device=\"M\" name=\"TELESCOPE_ABORT_MOTION\">\n<oneSwitch name=\"ABORT\">On</oneSwitch>\n</newSwitchVector>\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Values that cannot be read leave the stream whole, and are never taken for values.
func TestBadValues(t *testing.T) {
	const vector = `<set%sVector device="D" name="N"%s>%s</set%[1]sVector>`
	for _, tt := range [][3]string{
		{"Number", "", `<oneNumber name="A">five</oneNumber>`},
		{"Number", "", `<oneNumber name="A">nan</oneNumber>`},
		{"Number", "", `<oneNumber name="A"/>`},
		{"Number", ` state="Fine"`, `<oneNumber name="A">5</oneNumber>`},
		{"Number", "", `<oneNumber name="A">5</oneNumber><oneNumber name="A">6</oneNumber>`},
		{"Number", "", `<oneNumber>5</oneNumber>`},
		{"Switch", "", `<oneSwitch name="A">on</oneSwitch>`},
		{"Light", "", `<oneLight name="A">green</oneLight>`},
		{"Light", "", `<oneLight name="A"></oneLight>`},
	} {
		text := fmt.Sprintf(vector, tt[0], tt[1], tt[2])
		all, err := readAll(NewReader(strings.NewReader(text + `<message message="next"/>`)))
		if err != io.EOF || len(all) != 2 || all[0].Bad == nil || all[1].Message != "next" {
			t.Errorf("%s: %+v, %v", text, all, err)
		}
	}
}

// endless repeats a text for ever, and counts what was taken.
type endless struct {
	start, more string
	taken       int
}

func (e *endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) && e.taken+n < len(e.start) {
		p[n] = e.start[e.taken+n]
		n++
	}
	for n < len(p) {
		p[n] = e.more[(e.taken+n-len(e.start))%len(e.more)]
		n++
	}
	e.taken += n
	return n, nil
}

// Whatever comes, an element takes no more than its bound, and what is not of the protocol ends the stream.
func TestHostileStreams(t *testing.T) {
	for name, text := range map[string][2]string{
		"attributes":  {`<setNumberVector `, `a="b" `},
		"a name":      {`<`, `a`},
		"a value":     {`<message message="`, `a`},
		"text":        {`<newTextVector device="D" name="N"><oneText name="a">`, `a`},
		"members":     {`<newTextVector device="D" name="N">`, `<oneText name="a"/>`},
		"blanks":      {``, " \n"},
		"comments":    {``, `<!-- x -->`},
		"one comment": {`<!--`, ` x`},
		"CDATA":       {`<newTextVector device="D" name="N"><oneText name="a"><![CDATA[`, `a`},
		"levels":      {``, `<a>`},
		"prolog":      {`<?xml version="1.0"`, ` `},
		"a type":      {`<!DOCTYPE `, `<!ENTITY a "aa">`},
		"a blob":      {`<setBLOBVector device="D" name="N"><oneBLOB name="a">`, `AAAA`},
		"namespaces":  {`<a `, `xmlns:a="b" `},
		"zeros":       {``, "\x00"},
		"garbage":     {``, "garbage "},
	} {
		in := &endless{start: text[0], more: text[1]}
		all, err := readAll(NewReader(in))
		if err == nil || err == io.EOF || len(all) > 0 || in.taken > maxElement+8192 {
			t.Errorf("endless %s: %d elements, %d bytes, %v", name, len(all), in.taken, err)
		}
	}
	attributes := strings.Repeat(` a="b"`, maxAttributes+1)
	for _, text := range []string{
		`<!DOCTYPE x [<!ENTITY a "b">]><message message="&a;"/>`,
		`<message message="&a;"/>`,
		`<message message="&#0;"/>`,
		"<message message=\"\xff\"/>",
		`<message` + attributes + `/>`,
		`<a` + attributes + `/>`,
		`<message message="a" <`,
		`<message message=a/>`,
		`<message></getProperties>`,
		`</message>`,
		`<message message="x"/`,
		`<setNumberVector device="D" name="N"><oneNumber name="RA">1`,
		`<setNumberVector device="D" name="N"><oneSwitch name="RA">On</oneSwitch></setNumberVector>`,
		`<setNumberVector device="D" name="N"><oneNumber name="RA"><b/>1</oneNumber></setNumberVector>`,
		`<setNumberVector device="D" name="N"><defNumber name="RA">1</defNumber></setNumberVector>`,
		`<?xml version="1.0" encoding="latin1"?><message message="x"/>`,
		`junk<message message="x"/>`,
		`<setNumberVector device="D" name="N">` + strings.Repeat(`<oneNumber name="RA">1</oneNumber>`, maxMembers+1) + `</setNumberVector>`,
	} {
		if all, err := readAll(NewReader(strings.NewReader(text))); err == nil || err == io.EOF || len(all) > 0 {
			t.Errorf("%.80q: %+v, %v", text, all, err)
		}
	}
}

// Elements one after the other are each bounded for themselves.
func TestLongStream(t *testing.T) {
	in := &endless{more: `<message message="x"/> <a><b/></a>`}
	r := NewReader(in)
	for in.taken < 8*maxElement {
		if e, err := r.Next(); err != nil || e.Op != Message {
			t.Fatalf("after %d bytes: %+v, %v", in.taken, e, err)
		}
	}
}

// FuzzReader: no stream makes the reader panic, hang or hold more than an element; what it takes for good reads back the same.
func FuzzReader(f *testing.F) {
	f.Add([]byte(`<getProperties version="1.7"/><message message="a"/>`))
	f.Add([]byte(`<defNumberVector device="D" name="N" state="Ok" perm="rw"><defNumber name="A" format="%g" min="0" max="1" step="0">-0:30</defNumber></defNumberVector>`))
	f.Add([]byte(`<setSwitchVector device="D" name="N"><oneSwitch name="A">On</oneSwitch></setSwitchVector><setBLOBVector><oneBLOB>AA</oneBLOB></setBLOBVector>`))
	f.Add([]byte(`<!DOCTYPE a><a>&lt;</a>`))
	f.Fuzz(func(t *testing.T, stream []byte) {
		all, err := readAll(NewReader(bytes.NewReader(stream)))
		if err == nil {
			t.Fatal("no end")
		}
		for _, e := range all {
			if e.Bad != nil {
				continue
			}
			for _, m := range e.Members {
				if x := m.Number + m.Min + m.Max + m.Step; math.IsNaN(m.Number) || math.IsInf(m.Number, 0) || math.IsNaN(x) {
					t.Fatalf("%v is no number", m)
				}
			}
			again, err := NewReader(bytes.NewReader(e.wire())).Next()
			if err != nil || again.Op != e.Op || again.Device != e.Device || again.Name != e.Name || len(again.Members) != len(e.Members) {
				t.Fatalf("%+v was written as %s and reads back as %+v, %v", e, e.wire(), again, err)
			}
		}
	})
}
