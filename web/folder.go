package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"legroom/rig"
)

// maxFile bounds what is read of one file, as package rig does.
const maxFile = 1 << 20

// folder is the folder of rigs that is served. Nothing outside of it is read or written, through links either.
type folder struct {
	path string // absolute
	root *os.Root
}

// errOutside says that an id is none that the folder could have.
var errOutside = errors.New("it is no path in the served folder; name a rig as /api/rigs lists it")

// rigFile gives the file of a rig's id: a slash-separated path in the folder.
func rigFile(id string) string {
	if path.Ext(id) == ".yml" {
		return id
	}
	return id + ".yaml"
}

// check refuses a path that is not plainly one in the folder, or whose folder is not there or leads out of it.
func (f *folder) check(name string) error {
	if strings.ContainsAny(name, "\\\x00:") || path.Clean(name) != name || !filepath.IsLocal(filepath.FromSlash(name)) {
		return errOutside
	}
	for _, part := range strings.Split(name, "/") {
		if strings.HasPrefix(part, ".") {
			return errOutside
		}
	}
	if info, err := f.root.Stat(filepath.FromSlash(path.Dir(name))); err != nil || !info.IsDir() {
		return errOutside
	}
	return nil
}

// on gives the path of a checked name for packages that open files by themselves.
func (f *folder) on(name string) string { return filepath.Join(f.path, filepath.FromSlash(name)) }

// name gives the path in the folder of a file that a message names; one that lies elsewhere keeps its last part alone.
func (f *folder) name(file string) string {
	if file == "" {
		return ""
	}
	if rel, err := filepath.Rel(f.path, file); err == nil && filepath.IsLocal(rel) {
		return filepath.ToSlash(rel)
	}
	return filepath.Base(file)
}

// read returns a plain file of the folder.
func (f *folder) read(name string) ([]byte, error) {
	if err := f.check(name); err != nil {
		return nil, err
	}
	info, err := f.root.Stat(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() { // a pipe would keep us waiting as soon as it is opened
		return nil, fmt.Errorf("%s is no plain file", name)
	}
	file, err := f.root.Open(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, maxFile+1))
	if err == nil && len(data) > maxFile {
		err = fmt.Errorf("%s is larger than 1 MiB", name)
	}
	return data, err
}

// sources lists the files that a rig takes sections from, as paths in the folder.
func (f *folder) sources(name string, text []byte) []string {
	return f.names(rig.Sources(text, f.on(name)))
}

// names gives the paths in the folder of files.
func (f *folder) names(files []string) []string {
	out := make([]string, len(files))
	for i := range files {
		out[i] = f.name(files[i])
	}
	return out
}

// version names the state of a rig's main text together with the files that it takes sections from.
func (f *folder) version(text []byte, sources []string) string {
	h := sha256.New()
	add := func(b []byte) { fmt.Fprintf(h, "%d\n", len(b)); h.Write(b) }
	add(text)
	for _, name := range sources {
		data, err := f.read(name)
		if err != nil {
			data = []byte("missing")
		}
		add([]byte(name))
		add(data)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// maxFiles bounds how many files of the folder are looked at.
const maxFiles = 5000

// files lists the YAML and text files of the folder with what changes when they do; hidden files and folders are left out.
func (f *folder) files() (map[string]string, error) {
	out := map[string]string{}
	seen := 0
	err := fs.WalkDir(f.root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			if name == "." {
				return err
			}
			return nil // a folder that may not be read has no rigs for us
		}
		if seen++; seen > maxFiles {
			return fs.SkipAll
		}
		if name != "." && strings.HasPrefix(d.Name(), ".") {
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if d.IsDir() || !slices.Contains([]string{".yaml", ".yml", ".txt", ".csv"}, path.Ext(name)) {
			return nil
		}
		if info, err := f.root.Stat(filepath.FromSlash(name)); err == nil && info.Mode().IsRegular() {
			out[name] = fmt.Sprint(info.Size(), info.ModTime().UnixNano())
		}
		return nil
	})
	return out, err
}

// rigs lists the rig documents of the folder, by id.
func (f *folder) rigs() ([]RigEntry, error) {
	files, err := f.files()
	if err != nil {
		return nil, err
	}
	list := []RigEntry{}
	for name := range files {
		id := strings.TrimSuffix(name, ".yaml")
		if rigFile(id) != name {
			continue
		}
		data, err := f.read(name)
		if err == nil && !rig.IsDocument(data) {
			continue
		}
		e := RigEntry{ID: id, File: name}
		var r *rig.Rig
		if err == nil {
			if r, err = rig.Parse(data, f.on(name)); err == nil {
				e.Version = f.version(data, f.names(r.Files()))
			} else {
				e.Version = f.version(data, f.sources(name, data))
			}
		}
		if err != nil {
			e.Problem = f.defects(err)[0].String()
		} else {
			e.Name, e.Fingerprint = r.Name, r.Fingerprint()
		}
		list = append(list, e)
	}
	slices.SortFunc(list, func(a, b RigEntry) int { return strings.Compare(a.ID, b.ID) })
	return list, nil
}
