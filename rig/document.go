package rig

import "regexp"

var version = regexp.MustCompile(`(?m)^["']?legroom["']?[ \t]*:`)

// IsDocument tells a rig document, right or wrong, from the files that rigs take sections from: it says its version.
func IsDocument(text []byte) bool { return version.Match(text) }
