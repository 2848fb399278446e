package indi

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseNumber reads a number as the protocol writes it: decimal, or sexagesimal as two or three fields between colons,
// semicolons or blanks, the most significant first, and negative if that has a minus, −0 among them. The last field may have a
// fraction. Minutes and seconds go up to 60, which writers that round print; a result that is not finite is refused. [mem]
func ParseNumber(text string) (float64, error) {
	text = strings.TrimSpace(text)
	var fields []string
	if strings.ContainsAny(text, ":;") {
		fields = strings.Split(strings.ReplaceAll(text, ";", ":"), ":")
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
	} else {
		fields = strings.Fields(text)
	}
	switch len(fields) {
	case 0:
		return 0, noNumber(text, "it is empty")
	case 1:
		return decimal(text, "0123456789+-.eE")
	case 2, 3:
	default:
		return 0, noNumber(text, "more than three fields")
	}

	first, minus := strings.CutPrefix(fields[0], "-")
	if !minus {
		first = strings.TrimPrefix(first, "+")
	}
	value, unit := 0.0, 1.0
	for i, field := range append([]string{first}, fields[1:]...) {
		digits := "0123456789"
		if i == len(fields)-1 {
			digits += "."
		}
		x, err := decimal(field, digits)
		if err != nil {
			return 0, noNumber(text, err.Error())
		}
		if i > 0 && x > 60 {
			return 0, noNumber(text, fmt.Sprintf("%s is more than 60", field))
		}
		value += x / unit
		unit *= 60
	}
	if minus {
		value = -value
	}
	return value, nil
}

// decimal reads a decimal number of these digits: strconv alone would take hexadecimal ones, "inf" and "nan" too.
func decimal(text, digits string) (float64, error) {
	if strings.Trim(text, digits) != "" {
		return 0, noNumber(text, "it has other signs than "+digits)
	}
	x, err := strconv.ParseFloat(text, 64)
	if errors.Is(err, strconv.ErrRange) || math.IsInf(x, 0) {
		return 0, noNumber(text, "it is out of range")
	}
	if err != nil {
		return 0, noNumber(text, "give it as 12.5 or 12:30:00")
	}
	return x, nil
}

func noNumber(text, why string) error {
	return fmt.Errorf("%q is no number: %s", clipped(text), why)
}

// clipped makes a text of the other end fit for a message: one line of bounded length.
func clipped(text string) string {
	const most = 200
	text = strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " ")
	if r := []rune(text); len(r) > most {
		text = string(r[:most]) + "…"
	}
	return text
}
