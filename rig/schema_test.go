package rig

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// compiled is the schema as an editor would use it.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("rig.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("rig.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// schemaError is what the schema says of a document; text that is not YAML or cannot be JSON counts as an error too.
func schemaError(s *jsonschema.Schema, document []byte) error {
	var v any
	if err := yaml.Unmarshal(document, &v); err != nil {
		return err
	}
	j, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if v, err = jsonschema.UnmarshalJSON(bytes.NewReader(j)); err != nil {
		return err
	}
	return s.Validate(v)
}

func TestSchemaTakesGoodDocuments(t *testing.T) {
	s := compiled(t)
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	documents := map[string][]byte{"good.yaml": good,
		"from a file": bytes.Replace(good, []byte("\nmount:\n"), []byte("\nmount:\n  from: mount.yaml\n"), 1)}
	for _, o := range everyTemplate() {
		text, err := NewDocument(o)
		if err != nil {
			t.Fatal(err)
		}
		documents[o.Support+" "+o.Extension+" "+o.Mount+" "+o.Tube] = text
	}
	for name, text := range documents {
		if err := schemaError(s, text); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A section that takes its keys from a file may leave any out, at any depth, and may still have none that are unknown.
func TestSchemaOfOverrides(t *testing.T) {
	s := compiled(t)
	const head = "legroom: 1\nname: n\nsite: {latitude_deg: 1, longitude_deg: 2, time_zone: UTC}\nsupport: {from: s.yaml}\ntube: {from: t.yaml}\n"
	if err := schemaError(s, []byte(head+"mount: {from: m.yaml, crossing: {offset_mm: 3 ± 1}}")); err != nil {
		t.Error(err)
	}
	for _, bad := range []string{"mount: {from: m.yaml, crossing: {offset: 3}}", "mount: {from: m.yaml, saddle_distance_mm: -3}", "mount: {crossing: {offset_mm: 3}}"} {
		if schemaError(s, []byte(head+bad)) == nil {
			t.Errorf("%s: the schema takes it", bad)
		}
	}
}

func TestSchemaShowsTheComments(t *testing.T) {
	for _, want := range []string{"ground to the face that the mount, or an extension, stands on", "Legs are equally spaced straight legs"} {
		if !bytes.Contains(Schema(), []byte(want)) {
			t.Errorf("no description %q", want)
		}
	}
}
