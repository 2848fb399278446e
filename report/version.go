package report

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"legroom/rig"
	"legroom/watch/journal"
)

// VersionDoc says which program this is, and which files it reads.
type VersionDoc struct {
	Version  string `json:"version" jsonschema_description:"of a release; of a build from a checkout what the Go command gives it, or devel"`
	Commit   string `json:"commit,omitempty"`
	Made     string `json:"made,omitempty" jsonschema_description:"time of the commit, RFC 3339"`
	Modified bool   `json:"modified" jsonschema_description:"built from a checkout with changes that were not committed"`
	Go       string `json:"go"`
	System   string `json:"system" jsonschema_description:"operating system and processor"`
	Document int    `json:"document" jsonschema_description:"version of the rig document that it reads and writes"`
	Journal  int    `json:"journal" jsonschema_description:"version of the journal that it writes; older ones are brought up to date and a copy kept"`
}

// Version reads what the Go command has written into this program.
func Version() VersionDoc {
	d := VersionDoc{Version: "devel", Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH, Document: rig.FormatVersion, Journal: journal.Version()}
	b, ok := debug.ReadBuildInfo()
	if !ok {
		return d
	}
	if b.Main.Version != "" {
		d.Version = b.Main.Version
	}
	for _, s := range b.Settings {
		switch s.Key {
		case "vcs.revision":
			d.Commit = s.Value
		case "vcs.time":
			d.Made = s.Value
		case "vcs.modified":
			d.Modified = s.Value == "true"
		}
	}
	return d
}

// Text is the document in words.
func (d *VersionDoc) Text() string {
	s := "legroom " + d.Version
	if d.Commit != "" {
		s += fmt.Sprintf("\ncommit %s of %s", d.Commit, d.Made)
		if d.Modified {
			s += ", with changes that were not committed"
		}
	}
	return s + fmt.Sprintf("\n%s, %s\nreads rig documents of version %d and journals up to version %d\n", d.Go, d.System, d.Document, d.Journal)
}
