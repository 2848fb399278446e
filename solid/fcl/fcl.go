// Package fcl runs the Flexible Collision Library as a second opinion in tests and benchmarks: it builds the C++ program src/fcl.cpp beside
// it against Debian's libfcl-dev and talks to it over pipes.
package fcl

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

//go:embed src/fcl.cpp
var source string

// Program is the built reference program.
type Program struct{ path string }

// Open is Build for a test. Without g++ or FCL it skips the test, and fails it when LEGROOM_REQUIRE_TOOLS is 1.
func Open(t testing.TB) *Program {
	t.Helper()
	p, err := Build()
	if err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatalf("the FCL reference program is required: %v", err)
		}
		t.Skipf("NOT CHECKED against live FCL: %v (install g++, pkg-config and libfcl-dev)", err)
	}
	return p
}

// Build builds the program, or finds it built, in the user's cache folder.
func Build() (*Program, error) {
	sum := sha256.Sum256([]byte(source + runtime.GOARCH))
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	dir = filepath.Join(dir, "legroom")
	path := filepath.Join(dir, "fcl-"+hex.EncodeToString(sum[:8]))
	if _, err := os.Stat(path); err == nil {
		return &Program{path}, nil
	}
	flags, err := exec.Command("pkg-config", "--cflags", "--libs", "fcl", "ccd").Output()
	if err != nil {
		return nil, fmt.Errorf("pkg-config fcl ccd: %w", err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	work, err := os.MkdirTemp(dir, "build-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(work)
	src, bin := filepath.Join(work, "fcl.cpp"), filepath.Join(work, "fcl")
	if err := os.WriteFile(src, []byte(source), 0o644); err != nil {
		return nil, err
	}
	args := append([]string{"-O3", "-DNDEBUG", "-std=c++14", src, "-o", bin}, strings.Fields(string(flags))...)
	if out, err := exec.Command("g++", args...).CombinedOutput(); err != nil {
		return nil, fmt.Errorf("g++: %w\n%s", err, out)
	}
	if err := os.Rename(bin, path); err != nil {
		return nil, err
	}
	return &Program{path}, nil
}

// Part is one solid. Kind and Size are as in solid.New.
type Part struct {
	Group int // parts of one group are not measured against each other; group 0 does not move
	Kind  string
	Size  []float64
	Place [12]float64 // row-major 3×4, part → world; in a scene only for group 0
}

// Pair is two parts.
type Pair struct{ A, B Part }

// Answer is what FCL says of a pair, mm, world.
type Answer struct {
	Distance float64 // −1: they overlap; NaN: FCL gave up
	A, B     r3.Vec
}

// Pairs asks for the distance of each pair.
func (p *Program) Pairs(pairs []Pair) ([]Answer, error) {
	var in bytes.Buffer
	for i := range pairs {
		shape(&in, &pairs[i].A)
		numbers(&in, pairs[i].A.Place[:])
		in.WriteByte(' ')
		shape(&in, &pairs[i].B)
		numbers(&in, pairs[i].B.Place[:])
		in.WriteByte('\n')
	}
	lines, err := p.run(&in, "pairs")
	if err != nil {
		return nil, err
	}
	if len(lines) != len(pairs) {
		return nil, fmt.Errorf("fcl pairs: %d answers to %d questions", len(lines), len(pairs))
	}
	out := make([]Answer, len(lines))
	for i, line := range lines {
		v, err := parse(line, 7)
		if err != nil {
			return nil, err
		}
		out[i] = Answer{v[0], r3.Vec{X: v[1], Y: v[2], Z: v[3]}, r3.Vec{X: v[4], Y: v[5], Z: v[6]}}
	}
	return out, nil
}

// Scene is a whole set of parts with poses: for each pose one place, row-major 3×4, for every part that is not in group 0, in the
// order of Parts.
type Scene struct {
	Parts []Part
	Skip  [][2]int // pairs that are not looked at
	Poses [][][12]float64
	// Tolerance is FCL's distance_tolerance; 1e-9 when 0. FCL's own default is 1e-6.
	Tolerance float64
}

// SceneAnswer is the nearest pair at one pose; I < J are indices into Parts.
type SceneAnswer struct {
	Answer
	I, J int
}

// Scene asks for the nearest pair of each pose, by FCL's broad phase, and for how many seconds that took in all.
func (p *Program) Scene(s Scene) (answers []SceneAnswer, seconds float64, err error) {
	var in bytes.Buffer
	for i := range s.Parts {
		fmt.Fprintf(&in, "part %d ", s.Parts[i].Group)
		shape(&in, &s.Parts[i])
		if s.Parts[i].Group == 0 {
			numbers(&in, s.Parts[i].Place[:])
		}
		in.WriteByte('\n')
	}
	for _, k := range s.Skip {
		fmt.Fprintf(&in, "skip %d %d\n", k[0], k[1])
	}
	for _, pose := range s.Poses {
		in.WriteString("pose")
		for i := range pose {
			numbers(&in, pose[i][:])
		}
		in.WriteByte('\n')
	}
	mode := []string{"scene"}
	if s.Tolerance != 0 {
		mode = append(mode, strconv.FormatFloat(s.Tolerance, 'g', -1, 64))
	}
	lines, err := p.run(&in, mode...)
	if err != nil {
		return nil, 0, err
	}
	if len(lines) != len(s.Poses)+1 {
		return nil, 0, fmt.Errorf("fcl scene: %d answers to %d poses", len(lines)-1, len(s.Poses))
	}
	for _, line := range lines[:len(s.Poses)] {
		v, err := parse(line, 9)
		if err != nil {
			return nil, 0, err
		}
		answers = append(answers, SceneAnswer{
			Answer{v[0], r3.Vec{X: v[3], Y: v[4], Z: v[5]}, r3.Vec{X: v[6], Y: v[7], Z: v[8]}}, int(v[1]), int(v[2]),
		})
	}
	if _, err := fmt.Sscanf(lines[len(s.Poses)], "seconds %g", &seconds); err != nil {
		return nil, 0, fmt.Errorf("fcl scene: %q: %w", lines[len(s.Poses)], err)
	}
	return answers, seconds, nil
}

func (p *Program) run(in *bytes.Buffer, mode ...string) ([]string, error) {
	cmd := exec.Command(p.path, mode...)
	var out, diag bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = in, &out, &diag
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("fcl %s: %w: %s", mode[0], err, diag.Bytes())
	}
	var lines []string
	for scan := bufio.NewScanner(&out); scan.Scan(); {
		lines = append(lines, scan.Text())
	}
	return lines, nil
}

func shape(w *bytes.Buffer, p *Part) {
	w.WriteString(p.Kind)
	numbers(w, p.Size)
}

func numbers(w *bytes.Buffer, v []float64) {
	for _, x := range v {
		w.WriteByte(' ')
		w.Write(strconv.AppendFloat(w.AvailableBuffer(), x, 'g', -1, 64))
	}
}

func parse(line string, n int) ([]float64, error) {
	words := strings.Fields(line)
	if len(words) != n {
		return nil, fmt.Errorf("fcl: %d numbers expected in %q", n, line)
	}
	out := make([]float64, n)
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			return nil, fmt.Errorf("fcl: %w in %q", err, line)
		}
		out[i] = v
	}
	return out, nil
}
