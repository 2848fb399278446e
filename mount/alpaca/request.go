package alpaca

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

const (
	formType = "application/x-www-form-urlencoded"
	// maxForm bounds a request's parameters. The longest that the standard has is the text of an action.
	maxForm = 64 << 10
)

// form holds the parameters of a request, by names as the standard compares them: exact in a PUT, in any case in a GET.
type form struct {
	exact  bool
	values map[string]string
}

// readForm reads the parameters. A PUT has them in its body, a GET in its query. Errors are 400s.
func readForm(r *http.Request) (form, error) {
	f := form{exact: r.Method == http.MethodPut, values: map[string]string{}}
	text := r.URL.RawQuery
	if f.exact {
		body, err := io.ReadAll(io.LimitReader(r.Body, maxForm+1))
		if err != nil {
			return f, badRequest("the body cannot be read: %v", err)
		}
		if media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); len(body) > 0 && (err != nil || media != formType) {
			return f, badRequest("Content-Type %q: give %s", clipped(r.Header.Get("Content-Type")), formType)
		}
		text = string(body)
	}
	if len(text) > maxForm {
		return f, badRequest("more than %d bytes of parameters", maxForm)
	}
	values, err := url.ParseQuery(text)
	if err != nil {
		return f, badRequest("the parameters cannot be read: %s", clipped(err.Error()))
	}
	for name, list := range values {
		if !f.exact {
			name = strings.ToLower(name)
		}
		if _, twice := f.values[name]; twice || len(list) > 1 {
			return f, badRequest("parameter %s is given more than once", clipped(name))
		}
		f.values[name] = list[0]
	}
	return f, nil
}

func (f form) get(name string) (string, bool) {
	if !f.exact {
		name = strings.ToLower(name)
	}
	v, ok := f.values[name]
	return v, ok
}

// id reads ClientID or ClientTransactionID, 0 where it is not given.
func (f form) id(name string) (uint32, error) {
	text, ok := f.get(name)
	if !ok {
		return 0, nil
	}
	n, err := strconv.ParseUint(text, 10, 32)
	if err != nil {
		return 0, badRequest("%s %q: give a whole number from 1 to 4294967295", name, clipped(text))
	}
	return uint32(n), nil
}

// ids reads both numbers that every request may carry.
func (f form) ids() (client, transaction uint32, err error) {
	client, err1 := f.id("ClientID")
	transaction, err2 := f.id("ClientTransactionID")
	return client, transaction, errors.Join(err1, err2)
}

// call checks the parameters against a member's table. Errors are 400s.
func (f form) call(m Member) (Call, error) {
	c := Call{Put: m.Put, Member: m.Name, Args: Args{}}
	for _, p := range m.Params {
		text, ok := f.get(p.Name)
		if !ok {
			return c, badRequest("%s: parameter %s is missing%s", m.Name, p.Name, f.near(p.Name))
		}
		v, err := p.Kind.read(text)
		if err != nil {
			return c, badRequest("%s: parameter %s %v", m.Name, p.Name, err)
		}
		c.Args[p.Name] = v
	}
	return c, nil
}

// near names the parameter that was probably meant.
func (f form) near(name string) string {
	for other := range f.values {
		if strings.EqualFold(other, name) {
			return fmt.Sprintf(" (there is %s, but a PUT's names are exact)", clipped(other))
		}
	}
	return ""
}
