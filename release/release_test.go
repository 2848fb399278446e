package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	cyclonedx "github.com/CycloneDX/cyclonedx-go"
)

// builds asks for the checks that build whole releases, minutes of work that have nothing to do with what a change does to the program.
var builds = flag.Bool("builds", false, "build releases too: the same bytes twice, and the programs of other systems, emulated")

func whole(t *testing.T) {
	t.Helper()
	if !*builds {
		t.Skip("SKIPPED: builds whole releases, some minutes; ask for it with go test ./release -builds")
	}
}

var someFiles = []file{{"legroom", 0o755, []byte("program")}, {"docs/a.md", 0o644, bytes.Repeat([]byte("text "), 1000)}}

// What is packed is what comes out, with the commit's time, by readers of the standard library.
func TestArchivesHoldWhatIsPacked(t *testing.T) {
	made := time.Date(2026, 11, 25, 21, 0, 0, 0, time.UTC)
	data, err := tarball("legroom-1", someFiles, made)
	if err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	r := tar.NewReader(z)
	for _, f := range someFiles {
		h, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(r)
		if err != nil || h.Name != "legroom-1/"+f.name || h.Mode != int64(f.mode) || !h.ModTime.Equal(made) || !bytes.Equal(body, f.data) {
			t.Errorf("%+v, %v", h, err)
		}
	}
	if data, err = zipped("legroom-1", someFiles, made); err != nil {
		t.Fatal(err)
	}
	zr, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range someFiles {
		g := zr.File[i]
		body, err := g.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(body)
		if err != nil || g.Name != "legroom-1/"+f.name || g.Mode() != f.mode || !g.Modified.Equal(made) || !bytes.Equal(text, f.data) {
			t.Errorf("%+v, %v", g.FileHeader, err)
		}
	}
}

// dpkg puts what comes before a release before it.
func TestDebianVersionsAreInOrder(t *testing.T) {
	if _, err := exec.LookPath("dpkg"); err != nil {
		skip(t, "there is no dpkg here")
	}
	order := []string{"0.0.0-20261125210000-abcdefabcdef", "0.1.0-rc.1", "0.1.0", "0.1.1-0.20261126080000-abcdefabcdef", "0.1.1", "0.10.0"}
	for i := range order[1:] {
		if err := exec.Command("dpkg", "--compare-versions", debianVersion(order[i]), "lt", debianVersion(order[i+1])).Run(); err != nil {
			t.Errorf("%s is not before %s: %v", debianVersion(order[i]), debianVersion(order[i+1]), err)
		}
	}
}

// One commit in two places makes the same bytes, the program in the archive says its commit, and the package installs what it should.
func TestReleaseIsReproducible(t *testing.T) {
	whole(t)
	head, err := exec.Command("git", "rev-parse", "HEAD").Output()
	if err != nil {
		skip(t, "this is no checkout")
	}
	commit := strings.TrimSpace(string(head))
	var sums []string
	var made string
	for range 2 {
		clone := filepath.Join(t.TempDir(), "legroom")
		for _, args := range [][]string{{"clone", "-q", "--no-checkout", "..", clone}, {"-C", clone, "checkout", "-q", "--detach", commit}} {
			if out, err := exec.Command("git", args...).CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
		}
		made = t.TempDir()
		c := exec.Command("go", "run", "./release", "--output", made, "--only", "linux-amd64")
		c.Dir = clone
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		text, err := os.ReadFile(filepath.Join(made, "SHA256SUMS"))
		if err != nil {
			t.Fatal(err)
		}
		sums = append(sums, string(text))
	}
	if sums[0] != sums[1] || strings.Count(sums[0], "\n") < 2 {
		t.Errorf("two runs made\n%s\nand\n%s", sums[0], sums[1])
	}
	if out, err := exec.Command("sh", "-c", "cd '"+made+"' && sha256sum --check --strict SHA256SUMS").CombinedOutput(); err != nil {
		t.Errorf("sha256sum: %v: %s", err, out)
	}
	bills, err := filepath.Glob(filepath.Join(made, "*.cdx.json"))
	if err != nil || len(bills) != 1 {
		t.Fatalf("%v, %v", bills, err)
	}
	f, err := os.Open(bills[0])
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var bom cyclonedx.BOM
	if err := cyclonedx.NewBOMDecoder(f, cyclonedx.BOMFileFormatJSON).Decode(&bom); err != nil {
		t.Fatal(err)
	}
	if bom.Components == nil || len(*bom.Components) < 20 {
		t.Errorf("a bill of %v", bom.Components)
	}
	debs, err := filepath.Glob(filepath.Join(made, "*_amd64.deb"))
	if err != nil {
		t.Fatal(err)
	}
	if len(debs) == 0 {
		if _, err := exec.LookPath("dpkg-deb"); err != nil {
			skip(t, "there is no dpkg-deb here")
		}
		t.Fatal("no Debian package")
	}
	list, err := exec.Command("dpkg-deb", "--contents", debs[0]).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"./usr/bin/legroom\n", "./usr/share/man/man1/legroom-limits.1.gz\n", "./usr/share/doc/legroom/copyright\n",
		"./usr/share/bash-completion/completions/legroom\n", "./usr/share/doc/legroom/examples/terrace-long-refractor.yaml\n"} {
		if !strings.Contains(string(list), want) {
			t.Errorf("%q is not in the package", want)
		}
	}
}

// skip skips loudly, or fails where every tool must be there.
func skip(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("LEGROOM_REQUIRE_TOOLS") != "" {
		t.Fatal(why)
	}
	t.Skip("SKIPPED: " + why)
}
