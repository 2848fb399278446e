// Package alpaca speaks the Alpaca device API, an open standard for astronomical devices over HTTP with JSON answers: the
// client of a telescope as mount.Telescope, and the server that a simulated or a guarded telescope stands on.
//
// Both sides meet in Device: Remote is a device somewhere else, Server answers for devices here. So whatever stands between
// the two is a Device that calls a Device, and every member of the standard passes through.
package alpaca

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"
)

// Device answers the calls to one device, from several goroutines at once. The value has the Kind of the member's table:
// bool, int, float64, string, and for List anything that JSON writes as an array; nil for None. Errors: see errorNumber; an
// *HTTPError goes out as that status.
type Device interface {
	Call(ctx context.Context, c Call) (any, error)
}

// Call is one request to a device, its arguments checked against the member's table.
type Call struct {
	Put    bool
	Member string // lower case, such as "slewtocoordinatesasync"
	Args   Args

	// ClientID and Transaction are what the caller gave, 0 if nothing. Remote ignores them and uses its own.
	ClientID, Transaction uint32
}

// Args are the arguments of a call by their exact names, each a bool, int, float64 or string as the member's table says.
type Args map[string]any

// Get is the call that reads a member.
func Get(member string) Call { return Call{Member: member} }

// Put is the call that writes or runs a member.
func Put(member string, args Args) Call { return Call{Put: true, Member: member, Args: args} }

func (c Call) method() string {
	if c.Put {
		return "PUT"
	}
	return "GET"
}

// Bool, Int, Float and Text return an argument. An argument that the member's table does not have is a mistake in the program.
func (c Call) Bool(name string) bool     { return c.Args[name].(bool) }
func (c Call) Int(name string) int       { return c.Args[name].(int) }
func (c Call) Float(name string) float64 { return c.Args[name].(float64) }
func (c Call) Text(name string) string   { return c.Args[name].(string) }

// Kind is the type of a value or an argument.
type Kind int8

const (
	None Kind = iota
	Bool
	Int   // 32 bits
	Float // finite
	Text
	List // values only: a JSON array, handed on as it is
)

func (k Kind) String() string {
	return [...]string{"nothing", "true or false", "a whole number", "a number with a decimal point", "a text", "a list"}[k]
}

// read parses an argument as the standard writes it: truth values in any case, numbers with a decimal point and nothing else.
func (k Kind) read(text string) (any, error) {
	bad := fmt.Errorf("%q: give %s", clipped(text), k)
	switch k {
	case Bool:
		switch strings.ToLower(text) {
		case "true":
			return true, nil
		case "false":
			return false, nil
		}
		return nil, bad
	case Int:
		n, err := strconv.ParseInt(text, 10, 32)
		if err != nil {
			return nil, bad
		}
		return int(n), nil
	case Float:
		// ParseFloat alone would take hexadecimal numbers, Inf and NaN.
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || strings.Trim(text, "+-.0123456789eE") != "" {
			return nil, bad
		}
		return x, nil
	}
	return text, nil
}

// encode writes the arguments as a form.
func (a Args) encode() (url.Values, error) {
	form := url.Values{}
	for name, v := range a {
		switch v := v.(type) {
		case bool:
			form.Set(name, map[bool]string{true: "True", false: "False"}[v])
		case int:
			form.Set(name, strconv.Itoa(v))
		case float64:
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("%s: %g is not a number that can be sent", name, v)
			}
			form.Set(name, strconv.FormatFloat(v, 'f', -1, 64))
		case string:
			form.Set(name, v)
		default:
			return nil, fmt.Errorf("%s: %T has no form in the standard", name, v)
		}
	}
	return form, nil
}

// clipped makes foreign text fit for a message: one line, short.
func clipped(s string) string {
	const most = 200
	if len(s) > most {
		s = s[:most] + "…"
	}
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?")))
}
