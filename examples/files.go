// Package examples holds rigs of an invented scenario.
package examples

import "embed"

// Files are the example rigs with the files that they take sections from.
//
//go:embed *.yaml */*.yaml
var Files embed.FS
