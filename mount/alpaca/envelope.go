package alpaca

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"legroom/mount"
)

// answer is the envelope as it goes out.
type answer struct {
	Value               any `json:",omitempty"`
	ClientTransactionID uint32
	ServerTransactionID uint32
	ErrorNumber         int
	ErrorMessage        string
}

// parseAnswer reads an envelope strictly and returns its value, of the kind that was asked for. The standard's names are
// exact, so those of another case do not count. Errors: mount.ErrAnswer, or the driver's refusal.
func parseAnswer(body []byte, want Kind, transaction uint32) (any, error) {
	value, err := openEnvelope(body, want, transaction)
	if err != nil && !errors.Is(err, mount.ErrRefused) {
		return nil, fmt.Errorf("%w: %w", mount.ErrAnswer, err)
	}
	return value, err
}

func openEnvelope(body []byte, want Kind, transaction uint32) (any, error) {
	in, err := answering(body, transaction)
	if err != nil {
		return nil, err
	}
	number, err := in.value("ErrorNumber", Int)
	if err != nil {
		return nil, err
	}
	message, err := in.value("ErrorMessage", Text)
	if err != nil {
		return nil, err
	}
	if number != 0 {
		return nil, refused(number.(int), message.(string))
	}
	if want == None {
		return nil, nil
	}
	return in.value("Value", want)
}

// answering reads the part of an envelope that every answer has, and makes sure that it belongs to the request.
func answering(body []byte, transaction uint32) (jsonObject, error) {
	in, err := object(body)
	if err != nil {
		return nil, err
	}
	client, err := in.uint32("ClientTransactionID")
	if err != nil {
		return nil, err
	}
	if client != transaction {
		return nil, fmt.Errorf("ClientTransactionID %d: it answers another request than %d", client, transaction)
	}
	if _, err := in.uint32("ServerTransactionID"); err != nil {
		return nil, err
	}
	return in, nil
}

// jsonObject holds the fields of an object by their exact names. encoding/json alone would take names in any case, and the
// last of two.
type jsonObject map[string]json.RawMessage

func object(text []byte) (jsonObject, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, fmt.Errorf("not a JSON object: %q", clipped(string(text)))
	}
	o := jsonObject{}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		name, _ := key.(string)
		if _, twice := o[name]; twice {
			return nil, fmt.Errorf("%s stands there twice", clipped(name))
		}
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, err
		}
		o[name] = raw
	}
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("more text after the JSON object")
	}
	return o, nil
}

func (o jsonObject) field(name string) (json.RawMessage, error) {
	if raw, ok := o[name]; ok {
		return raw, nil
	}
	for other := range o {
		if strings.EqualFold(other, name) {
			return nil, fmt.Errorf("no %s, only %s: names are exact", name, other)
		}
	}
	return nil, fmt.Errorf("no %s", name)
}

func (o jsonObject) value(name string, want Kind) (any, error) {
	raw, err := o.field(name)
	if err != nil {
		return nil, err
	}
	v, err := want.parse(raw)
	if err != nil {
		return nil, fmt.Errorf("%s %w", name, err)
	}
	return v, nil
}

func (o jsonObject) uint32(name string) (uint32, error) {
	raw, err := o.field(name)
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseUint(string(raw), 10, 32)
	if err != nil {
		return 0, fmt.Errorf("%s %q is not a number from 0 to %d", name, clipped(string(raw)), uint32(math.MaxUint32))
	}
	return uint32(n), nil
}

// parse reads a JSON value of exactly this kind. A text may be null, which reads as empty.
func (k Kind) parse(raw json.RawMessage) (any, error) {
	bad := fmt.Errorf("%q is not %s", clipped(string(raw)), k)
	if len(raw) == 0 {
		return nil, bad
	}
	switch first := raw[0]; {
	case k == Bool && string(raw) == "true":
		return true, nil
	case k == Bool && string(raw) == "false":
		return false, nil
	case k == Int && (first == '-' || first >= '0' && first <= '9'):
		if n, err := strconv.ParseInt(string(raw), 10, 32); err == nil {
			return int(n), nil
		}
	case k == Float && (first == '-' || first >= '0' && first <= '9'):
		if x, err := strconv.ParseFloat(string(raw), 64); err == nil { // an error when it is too large
			return x, nil
		}
	case k == Text && string(raw) == "null":
		return "", nil
	case k == Text && first == '"':
		var s string
		if json.Unmarshal(raw, &s) == nil {
			return s, nil
		}
	case k == List && first == '[':
		return raw, nil
	}
	return nil, bad
}

// list splits a JSON array.
func list(raw json.RawMessage) ([]json.RawMessage, error) {
	if _, err := List.parse(raw); err != nil {
		return nil, err
	}
	var items []json.RawMessage
	err := json.Unmarshal(raw, &items)
	return items, err
}
