package report

import "legroom/watch"

// WatchLine is one line of `legroom watch --format json`: where it has begun, the state after a step of its loop, or an event;
// the other two are null.
type WatchLine struct {
	Begun  *WatchBegun   `json:"begun" jsonschema:"nullable" jsonschema_description:"the first line"`
	Status *watch.Status `json:"status" jsonschema:"nullable" jsonschema_description:"after one step of the loop"`
	Event  *watch.Event  `json:"event" jsonschema:"nullable"`
}

// WatchBegun says what a watch watches, and where it is reached.
type WatchBegun struct {
	Mount   string `json:"mount" jsonschema_description:"address of the mount, in the form that its lock goes by"`
	Guard   string `json:"guard" jsonschema_description:"address of the guarded telescope for other programs"`
	Page    string `json:"page" jsonschema_description:"address of the page"`
	Found   bool   `json:"discovered" jsonschema_description:"the guard answers Alpaca discovery"`
	Journal string `json:"journal"`
}
