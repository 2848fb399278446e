package report

// ServeDoc is the document of `legroom serve` and `legroom demo`, written once the page is there.
type ServeDoc struct {
	ListeningOn string `json:"listening_on" jsonschema_description:"address of the page"`
	OpenWith    string `json:"open_with,omitempty" jsonschema_description:"address with the one-time key in it; works once, for one browser"`
}
