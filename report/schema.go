package report

import (
	"fmt"
	"slices"
	"strings"

	"github.com/invopop/jsonschema"

	"legroom/rig"
	"legroom/watch/soak"
)

// documents are the machine-readable documents by the name of their command; templates and lengths are those of `legroom new
// --list` and `--names`, wrote that of every command that writes files, setup that of the file which `legroom confirm` writes,
// objects that of `legroom target --search`.
var documents = map[string]any{
	"pose": PoseDoc{}, "poses": PoseLine{}, "limits": LimitsDoc{}, "map": MapDoc{}, "slew": SlewDoc{}, "check": CheckDoc{}, "confirm": ConfirmDoc{},
	"night": NightDoc{}, "season": SeasonDoc{}, "load": LoadDoc{}, "target": TargetDoc{}, "objects": ObjectsDoc{},
	"change": VariantsDoc{}, "solve": SolveDoc{}, "tolerance": ToleranceDoc{}, "proof": ProofDoc{}, "fit": FitDoc{},
	"templates": TemplatesDoc{}, "lengths": LengthsDoc{}, "wrote": WroteDoc{}, "version": VersionDoc{}, "doctor": DoctorDoc{}, "serve": ServeDoc{}, "watch": WatchLine{}, "sim": SimDoc{}, "soak": soak.Report{}, "setup": rig.Confirmation{},
}

// SchemaNames lists the documents that have a schema, sorted.
func SchemaNames() []string {
	var out []string
	for n := range documents {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// Schema returns the JSON Schema (2020-12) of the document that a command writes; "poses" is that of one line.
func Schema(name string) (*jsonschema.Schema, error) {
	doc, ok := documents[name]
	if !ok {
		return nil, fmt.Errorf("no schema %q: there are %s", name, strings.Join(SchemaNames(), ", "))
	}
	r := jsonschema.Reflector{Anonymous: true, ExpandedStruct: true}
	s := r.Reflect(doc)
	s.Title = "legroom " + name
	return s, nil
}
