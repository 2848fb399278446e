package rig

import (
	"errors"
	"fmt"
	"io"
	"os"
	"unicode/utf8"
)

// errTooLarge is in the error of a file that holds more than was to be read of it.
var errTooLarge = errors.New("larger than")

// ReadFile reads a plain file of at most limit bytes. A pipe or a device in its place could keep a reader waiting, or fill its
// memory, for ever. Its error does not name the path.
func ReadFile(path string, limit int) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, reason(err)
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is not a plain file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, reason(err)
	}
	defer f.Close()
	return readBounded(f, limit)
}

// readBounded reads all there is, up to limit bytes.
func readBounded(r io.Reader, limit int) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, int64(limit)+1))
	if err == nil && len(data) > limit {
		return nil, fmt.Errorf("it is %w %s", errTooLarge, size(limit))
	}
	if err != nil {
		return nil, reason(err)
	}
	return data, nil
}

func size(bytes int) string {
	if bytes%(1<<20) == 0 {
		return fmt.Sprintf("%d MiB", bytes>>20)
	}
	return fmt.Sprintf("%d KiB", bytes>>10)
}

// BoundYAML refuses YAML on which a parser could spend more time or memory than a document of ours needs: what is too large, too
// deep or too long, and anchors and aliases. The file names it in the error.
func BoundYAML(data []byte, file string) error {
	if len(data) > maxBytes {
		return &Error{Pos: Position{File: file}, Problem: "the file is larger than " + size(maxBytes), Remedy: "a document of this kind is a few kilobytes of text"}
	}
	if !utf8.Valid(data) {
		return &Error{Pos: Position{File: file, Line: 1, Col: 1}, Problem: "the file is not UTF-8 text", Remedy: "save it as UTF-8"}
	}
	return shallow(string(data), file)
}
