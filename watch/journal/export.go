package journal

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"reflect"
	"strconv"
	"strings"
	"time"

	"legroom/watch"
)

// WriteJSON writes sessions and rows as one document: {"version":1,"sessions":[…],"records":[…]}, a row a line. When reading
// breaks off, the document is closed all the same, and the error returned.
func WriteJSON(w io.Writer, sessions []Session, rows iter.Seq2[Row, error]) error {
	b := bufio.NewWriter(w)
	if sessions == nil {
		sessions = []Session{}
	}
	head, err := json.Marshal(sessions)
	if err != nil {
		return err
	}
	fmt.Fprintf(b, "{\"version\":%d,\"sessions\":%s,\"records\":[", len(steps), head)
	var broken error
	first := true
	for r, err := range rows {
		if err != nil {
			broken = err
			break
		}
		line, err := json.Marshal(r)
		if err != nil {
			return err
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		b.WriteByte('\n')
		if _, err := b.Write(line); err != nil {
			return err
		}
	}
	b.WriteString("\n]}\n")
	if err := b.Flush(); err != nil {
		return err
	}
	return broken
}

// WriteCSV writes rows as a table (RFC 4180) with a column for every field of every kind of record, named as in JSON with the
// kind before it. Lists are joined by spaces, times are in UTC, what a record does not have is empty.
func WriteCSV(w io.Writer, rows iter.Seq2[Row, error]) error {
	c := csv.NewWriter(w)
	record := reflect.TypeFor[watch.Record]()
	head := []string{"seq", "session"}
	for i := range record.NumField() {
		f := record.Field(i)
		if f.Type.Kind() != reflect.Pointer {
			head = append(head, key(f))
			continue
		}
		for j := range f.Type.Elem().NumField() {
			head = append(head, key(f)+"_"+key(f.Type.Elem().Field(j)))
		}
	}
	if err := c.Write(head); err != nil {
		return err
	}
	var broken error
	for r, err := range rows {
		if err != nil {
			broken = err
			break
		}
		line := []string{strconv.FormatInt(r.Seq, 10), strconv.FormatInt(r.Session, 10)}
		v := reflect.ValueOf(r.Record)
		for i := range v.NumField() {
			f := v.Field(i)
			if f.Kind() != reflect.Pointer {
				line = append(line, text(f))
				continue
			}
			for j := range f.Type().Elem().NumField() {
				if f.IsNil() {
					line = append(line, "")
				} else {
					line = append(line, text(f.Elem().Field(j)))
				}
			}
		}
		if err := c.Write(line); err != nil {
			return err
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	return broken
}

func key(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name
}

func text(v reflect.Value) string {
	if t, ok := v.Interface().(time.Time); ok {
		return t.UTC().Format(time.RFC3339Nano)
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return text(v.Elem())
	case reflect.Slice:
		var parts []string
		for i := range v.Len() {
			parts = append(parts, text(v.Index(i)))
		}
		return strings.Join(parts, " ")
	case reflect.Float64:
		return strconv.FormatFloat(v.Float(), 'g', -1, 64)
	case reflect.String:
		s := v.String()
		if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
			return "'" + s // or a spreadsheet takes words for a formula
		}
		return s
	}
	return fmt.Sprint(v.Interface())
}
