// Command release builds everything that is handed out of one commit: an archive for each system, a Debian package for each of its
// processors, a bill of materials of each program, and the checksums of all of it. Two runs on the same commit with the same Go make the
// same bytes.
//
//	go run ./release --output dist
package main

import (
	"context"
	"crypto/sha256"
	"debug/buildinfo"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

// target is a system and processor to build for.
type target struct{ os, arch, arm string }

func (t target) String() string { return t.os + "-" + t.arch }

func (t target) program() string {
	if t.os == "windows" {
		return "legroom.exe"
	}
	return "legroom"
}

var targets = []target{
	{"linux", "amd64", ""}, {"linux", "arm64", ""}, {"linux", "arm", "7"}, {"windows", "amd64", ""}, {"windows", "arm64", ""},
	{"darwin", "amd64", ""}, {"darwin", "arm64", ""},
}

func main() {
	output := flag.String("output", "dist", "folder for what is made; what lies in it already is left, unless it has the same name")
	only := flag.String("only", "", "build for these alone, such as linux-amd64,windows-amd64")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *output, *only); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// release is one commit on its way out.
type release struct {
	version string
	made    time.Time // of the commit: every file in the archives carries it
	output  string
	work    string
	extra   []file // what goes with every program
	names   []string
}

func run(ctx context.Context, output, only string) error {
	chosen := targets
	if only != "" {
		chosen = slices.DeleteFunc(slices.Clone(targets), func(t target) bool { return !slices.Contains(strings.Split(only, ","), t.String()) })
		if len(chosen) != len(strings.Split(only, ",")) {
			return fmt.Errorf("--only %q: give some of %v, with commas between", only, targets)
		}
	}
	changed, err := exec.CommandContext(ctx, "git", "status", "--porcelain").Output()
	if err != nil {
		return fmt.Errorf("git status: %w; a release is made in a checkout", err)
	}
	if len(changed) > 0 {
		return errors.New("the checkout has changes that are not committed; a release is of a commit")
	}
	work, err := os.MkdirTemp("", "legroom-release-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	if err := os.MkdirAll(output, 0o755); err != nil {
		return err
	}
	r := &release{output: output, work: work}
	host := target{runtime.GOOS, runtime.GOARCH, ""}
	tool := filepath.Join(work, host.program())
	if err := r.build(ctx, host, tool); err != nil {
		return err
	}
	if err := r.stamp(tool); err != nil {
		return err
	}
	fmt.Printf("version %s of %s\n", r.version, r.made.Format(time.RFC3339))
	if err := r.gather(ctx, tool); err != nil {
		return err
	}
	for _, t := range chosen {
		if err := r.one(ctx, t); err != nil {
			return fmt.Errorf("%s: %w", t, err)
		}
	}
	return r.sums()
}

// build makes a program that does not depend on where it was made.
func (r *release) build(ctx context.Context, t target, path string) error {
	c := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w -buildid=", "-o", path, "./cmd/legroom")
	c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOFLAGS=", "GOOS="+t.os, "GOARCH="+t.arch)
	if t.arm != "" {
		c.Env = append(c.Env, "GOARM="+t.arm)
	}
	c.Stderr = os.Stderr
	if err := c.Run(); err != nil {
		return fmt.Errorf("go build: %w", err)
	}
	return nil
}

// stamp reads what the Go command has written into a program about its commit.
func (r *release) stamp(program string) error {
	b, err := buildinfo.ReadFile(program)
	if err != nil {
		return err
	}
	r.version = strings.TrimPrefix(b.Main.Version, "v")
	for _, s := range b.Settings {
		if s.Key == "vcs.time" {
			r.made, err = time.Parse(time.RFC3339, s.Value)
		}
	}
	if err == nil && (r.version == "" || r.made.IsZero()) {
		err = errors.New("the program says neither its version nor its commit's time")
	}
	return err
}

// gather collects what goes with every program: the licence, the documents, the examples, the manual pages and the completions.
func (r *release) gather(ctx context.Context, tool string) error {
	for _, path := range []string{"LICENSE", "README.md", "docs", "examples"} {
		out, err := exec.CommandContext(ctx, "git", "ls-files", "-z", path).Output()
		if err != nil {
			return err
		}
		for _, name := range strings.Split(strings.TrimSuffix(string(out), "\x00"), "\x00") {
			if filepath.Ext(name) == ".go" {
				continue
			}
			data, err := os.ReadFile(name)
			if err != nil {
				return err
			}
			r.extra = append(r.extra, file{name, 0o644, data})
		}
	}
	pages := filepath.Join(r.work, "man")
	if err := os.Mkdir(pages, 0o755); err != nil {
		return err
	}
	if out, err := exec.CommandContext(ctx, tool, "man", pages).CombinedOutput(); err != nil {
		return fmt.Errorf("legroom man: %w: %s", err, out)
	}
	list, err := os.ReadDir(pages)
	if err != nil {
		return err
	}
	for _, e := range list {
		data, err := os.ReadFile(filepath.Join(pages, e.Name()))
		if err != nil {
			return err
		}
		r.extra = append(r.extra, file{"man/" + e.Name(), 0o644, data})
	}
	for shell, name := range map[string]string{"bash": "legroom.bash", "zsh": "_legroom", "fish": "legroom.fish", "powershell": "legroom.ps1"} {
		out, err := exec.CommandContext(ctx, tool, "completion", shell).Output()
		if err != nil {
			return fmt.Errorf("legroom completion %s: %w", shell, err)
		}
		r.extra = append(r.extra, file{"completions/" + name, 0o644, out})
	}
	slices.SortFunc(r.extra, func(a, b file) int { return strings.Compare(a.name, b.name) })
	return nil
}

// one makes everything for one target.
func (r *release) one(ctx context.Context, t target) error {
	path := filepath.Join(r.work, t.String(), t.program())
	if err := r.build(ctx, t, path); err != nil {
		return err
	}
	program, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	base := fmt.Sprintf("legroom-%s-%s", r.version, t)
	files := append([]file{{t.program(), 0o755, program}}, r.extra...)
	name, pack := base+".tar.gz", tarball
	if t.os == "windows" {
		name, pack = base+".zip", zipped
	}
	data, err := pack(base, files, r.made)
	if err != nil {
		return err
	}
	if err := r.write(name, data); err != nil {
		return err
	}
	bill, err := billOf(path, r.version, r.made)
	if err != nil {
		return err
	}
	if err := r.write(base+".cdx.json", bill); err != nil {
		return err
	}
	if t.os != "linux" {
		return nil
	}
	if _, err := exec.LookPath("dpkg-deb"); err != nil {
		fmt.Println("NOT MADE: the Debian package for", t.arch, "- there is no dpkg-deb here")
		return nil
	}
	return r.debian(ctx, t, program)
}

// write writes one file of the release whole.
func (r *release) write(name string, data []byte) error {
	path := filepath.Join(r.output, name)
	if err := os.WriteFile(path+".part", data, 0o644); err != nil {
		return err
	}
	if err := os.Rename(path+".part", path); err != nil {
		return err
	}
	return r.done(name, len(data))
}

// done notes a file that is done.
func (r *release) done(name string, size int) error {
	r.names = append(r.names, name)
	_, err := fmt.Printf("%8.1f MB  %s\n", float64(size)/1e6, name)
	return err
}

// sums writes the checksums of everything that was made, as sha256sum reads them.
func (r *release) sums() error {
	var b strings.Builder
	slices.Sort(r.names)
	for _, name := range r.names {
		data, err := os.ReadFile(filepath.Join(r.output, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(data), name)
	}
	return r.write("SHA256SUMS", []byte(b.String()))
}
