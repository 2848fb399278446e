package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// debian makes a Debian package with the Debian tools, every file of it with the commit's time.
func (r *release) debian(ctx context.Context, t target, program []byte) error {
	arch := map[string]string{"amd64": "amd64", "arm64": "arm64", "arm": "armhf"}[t.arch]
	root := filepath.Join(r.work, "debian-"+arch)
	files := []file{{"usr/bin/legroom", 0o755, program}}
	for _, f := range r.extra {
		where, data := "usr/share/doc/legroom/"+f.name, f.data
		switch folder, name, _ := strings.Cut(f.name, "/"); {
		case folder == "man":
			var err error
			if data, err = gzipped(data); err != nil {
				return err
			}
			where = "usr/share/man/man1/" + name + ".gz"
		case f.name == "completions/legroom.bash":
			where = "usr/share/bash-completion/completions/legroom"
		case f.name == "completions/_legroom":
			where = "usr/share/zsh/vendor-completions/_legroom"
		case f.name == "completions/legroom.fish":
			where = "usr/share/fish/vendor_completions.d/legroom.fish"
		case folder == "completions":
			continue
		case f.name == "LICENSE":
			where = "usr/share/doc/legroom/copyright"
		case f.name == "docs/legroom-watch.service":
			where = "usr/share/doc/legroom/examples/legroom-watch.service" // it names the owner's rig and mount: not one to start as it is
		}
		files = append(files, file{where, 0o644, data})
	}
	size := 0
	for _, f := range files {
		size += len(f.data)
	}
	files = append(files, file{"DEBIAN/control", 0o644, fmt.Appendf(nil, `Package: legroom
Version: %s
Architecture: %s
Maintainer: the Legroom authors <legroom@legroom.invalid>
Installed-Size: %d
Section: science
Priority: optional
Description: keep a telescope rig from hitting itself
 Computes, with proof, how much room a telescope on an equatorial mount has at
 every pointing: the limits to enter, when each target must stop and flip, and
 what would help. Watches the mount at night and stops it before it touches.
 .
 A planning and supervision aid, not a safety function.
`, debianVersion(r.version), arch, (size+1023)/1024)})
	for _, f := range files {
		path := filepath.Join(root, f.name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, f.data, f.mode); err != nil {
			return err
		}
		if err := os.Chmod(path, f.mode); err != nil {
			return err
		}
	}
	name := fmt.Sprintf("legroom_%s_%s.deb", debianVersion(r.version), arch)
	path := filepath.Join(r.output, name)
	c := exec.CommandContext(ctx, "dpkg-deb", "--root-owner-group", "-Zxz", "--build", root, path)
	c.Env = append(os.Environ(), fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.made.Unix()))
	if out, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("dpkg-deb: %w: %s", err, out)
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	return r.done(name, int(info.Size()))
}

// debianVersion is a version in the way that Debian compares: what comes before a release has a tilde.
func debianVersion(v string) string {
	v, build, _ := strings.Cut(v, "+")
	v = strings.Replace(v, "-", "~", 1)
	if build != "" {
		v += "+" + build
	}
	return v
}

// gzipped compresses without a time, as Debian's manual pages are.
func gzipped(data []byte) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	err = z.Close()
	return b.Bytes(), err
}
