package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legroom/report"
)

// format is how a command writes its result.
type format struct {
	name  string
	known []string
}

// flag adds --format to a command; known lists the formats that it has, the default first.
func (f *format) flag(c *cobra.Command, known ...string) {
	f.known = known
	c.Flags().StringVar(&f.name, "format", known[0], "output: "+strings.Join(known, ", "))
}

func (f *format) check() error {
	if !slices.Contains(f.known, f.name) {
		return fmt.Errorf("--format %q: give %s", f.name, strings.Join(f.known, " or "))
	}
	return nil
}

// wrote says which files a command has written.
func (f *format) wrote(w io.Writer, files ...string) error {
	if f.name == "json" {
		return report.Write(w, report.WroteDoc{Wrote: files})
	}
	for _, file := range files {
		if _, err := fmt.Fprintf(w, "wrote %s\n", file); err != nil {
			return err
		}
	}
	return nil
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// checkOutput says before the work whether a file can stand where it is to go, and that its name ends as one of endings;
// it returns the ending.
func checkOutput(path string, endings ...string) (string, error) {
	kind := strings.ToLower(filepath.Ext(path))
	if !slices.Contains(endings, kind) {
		return "", fmt.Errorf("--output %q: give a file that ends in %s", path, strings.Join(endings, " or "))
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return "", fmt.Errorf("--output %q: this is a folder; give a file", path)
	}
	dir := filepath.Dir(path)
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return "", fmt.Errorf("--output %q: there is no folder %q; make it first, or give another", path, dir)
	case err != nil:
		return "", unwritable(path, err)
	case !info.IsDir():
		return "", fmt.Errorf("--output %q: %q is no folder; give another", path, dir)
	}
	return kind, nil
}

// writeFile writes a result whole or not at all.
func writeFile(path string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".legroom-*")
	if err != nil {
		return unwritable(path, err)
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(data)
	if err == nil {
		err = tmp.Chmod(0o644)
	}
	if err = errors.Join(err, tmp.Close()); err != nil {
		return unwritable(path, err)
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return unwritable(path, err)
	}
	return nil
}

// unwritable names the file that was asked for, not the temporary one beside it.
func unwritable(path string, err error) error {
	var at *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &at):
		err = at.Err
	case errors.As(err, &link):
		err = link.Err
	}
	return fmt.Errorf("%s cannot be written: %w; give a file in a folder that you may write to", path, err)
}
