package report

// SimDoc is the document of `legroom sim`, written once the simulated mount is there.
type SimDoc struct {
	Alpaca     string  `json:"alpaca,omitempty" jsonschema_description:"address for a client of the Alpaca device API"`
	INDI       string  `json:"indi,omitempty" jsonschema_description:"address for a client of the INDI protocol"`
	Control    string  `json:"control,omitempty" jsonschema_description:"address of the control API: state, contacts, faults"`
	Discovered bool    `json:"discovered" jsonschema_description:"answers Alpaca discovery on this computer"`
	Seed       uint64  `json:"seed" jsonschema_description:"what the true rig, the habits that the document leaves open, slews and losses are drawn with"`
	Clock      float64 `json:"clock" jsonschema_description:"how many times as fast as the computer's its clock runs"`
	Habits     string  `json:"habits" jsonschema_description:"what the mount does by itself, in the document's words"`
}
