package main

import (
	"bytes"
	"debug/buildinfo"
	"time"

	cyclonedx "github.com/CycloneDX/cyclonedx-go"
)

// billOf is the bill of materials of a program, CycloneDX: every module that the Go command says is in it.
func billOf(program, version string, made time.Time) ([]byte, error) {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return nil, err
	}
	bom := cyclonedx.NewBOM()
	bom.Metadata = &cyclonedx.Metadata{
		Timestamp: made.UTC().Format(time.RFC3339),
		Component: &cyclonedx.Component{Type: cyclonedx.ComponentTypeApplication, BOMRef: "legroom", Name: "legroom", Version: version,
			Licenses: &cyclonedx.Licenses{{License: &cyclonedx.License{ID: "Apache-2.0"}}}},
	}
	parts := []cyclonedx.Component{{Type: cyclonedx.ComponentTypeLibrary, BOMRef: "std", Name: "std", Version: info.GoVersion}}
	uses := []string{"std"}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		url := "pkg:golang/" + m.Path + "@" + m.Version
		parts = append(parts, cyclonedx.Component{Type: cyclonedx.ComponentTypeLibrary, BOMRef: url, Name: m.Path, Version: m.Version, PackageURL: url})
		uses = append(uses, url)
	}
	bom.Components = &parts
	bom.Dependencies = &[]cyclonedx.Dependency{{Ref: "legroom", Dependencies: &uses}}
	var b bytes.Buffer
	e := cyclonedx.NewBOMEncoder(&b, cyclonedx.BOMFileFormatJSON)
	e.SetPretty(true)
	err = e.Encode(bom)
	return b.Bytes(), err
}
