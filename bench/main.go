// Command bench measures how fast Legroom is against the Flexible Collision Library and against its own targets, in one run, on one
// core. README.md beside it says what is compared.
package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// terrace is example (a).
const terrace = "examples/terrace-long-refractor.yaml"

func main() {
	runtime.GOMAXPROCS(1)
	start := time.Now()
	fmt.Printf("%s, %s, %d processors of which one is used, load before: %s\n\n", runtime.Version(), runtime.GOARCH, runtime.NumCPU(), load())
	failed := false
	// The process comes first: what is measured of a child's memory includes what this process holds when it starts it.
	for _, part := range []func() error{process, wholePose, fullMap, growth} {
		if err := part(); err != nil {
			fmt.Printf("NOT MEASURED: %v\n", err)
			failed = true
		}
		fmt.Println()
		debug.FreeOSMemory()
	}
	fmt.Printf("in all %.0f s\n", time.Since(start).Seconds())
	if failed {
		os.Exit(1)
	}
}

// load is the system's load average over the last minute: above 1 or so the times are too long.
func load() string {
	b, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "unknown"
	}
	return strings.Fields(string(b))[0]
}

func gaugeOf(file string, mode rig.ToleranceMode) (*room.Gauge, error) {
	r, err := rig.Load(file)
	if err != nil {
		return nil, err
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: mode})
}

func examples() ([]string, error) {
	files, err := filepath.Glob("examples/*.yaml")
	if err == nil && len(files) == 0 {
		err = fmt.Errorf("no examples/*.yaml here: run it from the top folder, `go run ./bench`")
	}
	return files, err
}

// verdict says whether a target is met.
func verdict(met bool) string {
	if met {
		return "met"
	}
	return "MISSED"
}

func median[T int64 | float64 | time.Duration](v []T) T {
	v = slices.Sorted(slices.Values(v))
	return v[len(v)/2]
}

func ms(d time.Duration) float64 { return d.Seconds() * 1e3 }
