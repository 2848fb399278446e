package web

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"legroom/rig"
)

var update = flag.Bool("update", false, "write the files that the page's tests read")

// figuresFile holds every value of the examples, of rigs from each template and of a document with nearly every key: the page's
// tests draw each of them.
const figuresFile = "page/src/places/rig/drawing/testdata/figures.json"

func TestFigures(t *testing.T) {
	rigs := map[string]*rig.Rig{}
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("there are no examples: ", err)
	}
	for _, f := range append(files, "../rig/testdata/good.yaml") {
		r, err := rig.Load(f)
		if err != nil {
			t.Fatal(err)
		}
		rigs[strings.TrimSuffix(filepath.Base(f), ".yaml")] = r
	}
	of := map[string][]string{}
	for _, x := range rig.Templates() {
		of[x.Kind] = append(of[x.Kind], x.Name)
	}
	for i, tube := range of["tube"] {
		o := rig.NewOptions{Name: "new", LatitudeDeg: 40, TimeZone: "UTC", Tube: tube,
			Support: of["support"][i%len(of["support"])], Mount: of["mount"][i%len(of["mount"])], Extension: of["extension"][i%len(of["extension"])]}
		data, err := rig.NewDocument(o)
		if err != nil {
			t.Fatal(err)
		}
		r, err := rig.Parse(data, "")
		if err != nil {
			t.Fatal(err)
		}
		rigs["template "+tube] = r
	}
	all := map[string]map[string]any{}
	for name, r := range rigs {
		values := map[string]any{"site.latitude_deg": r.Site.LatitudeDeg}
		for _, s := range settings(r) {
			values[s.Path] = s.Value
			if v, err := strconv.ParseFloat(s.Value, 64); err == nil && s.Kind == "number" {
				values[s.Path] = v
			}
		}
		quantities := []string{}
		for _, q := range r.Quantities {
			values[q.Path] = q.Value
			quantities = append(quantities, q.Path)
		}
		values["quantities"] = quantities
		all[name] = values
	}
	var want bytes.Buffer
	e := json.NewEncoder(&want)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(all); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(figuresFile, want.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(figuresFile)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want.Bytes()) {
		t.Error(figuresFile + " is not of these documents: go test ./web -run TestFigures -update, then npm test in web/page")
	}
}
