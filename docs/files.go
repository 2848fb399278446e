// Package docs holds the documents, so that the page has them offline.
package docs

import "embed"

// Files are the documents in Markdown and their pictures, by their paths in this folder.
//
//go:embed *.md *.png drawings/*.svg
var Files embed.FS
