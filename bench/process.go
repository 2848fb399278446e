package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"
)

// process runs `legroom limits` on example (a) as a whole process, 20 times.
func process() error {
	dir, err := os.MkdirTemp("", "legroom-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	binary := filepath.Join(dir, "legroom")
	if out, err := exec.Command("go", "build", "-o", binary, "./cmd/legroom").CombinedOutput(); err != nil {
		return fmt.Errorf("go build ./cmd/legroom: %w\n%s", err, out)
	}
	var wall, cpu []time.Duration
	var peak []float64
	for range 20 {
		c := exec.Command(binary, "limits", terrace)
		c.Env = append(os.Environ(), "GOMAXPROCS=1")
		start := time.Now()
		out, err := c.Output()
		wall = append(wall, time.Since(start))
		if err != nil || len(out) == 0 {
			return fmt.Errorf("legroom limits: %w", err)
		}
		usage, ok := c.ProcessState.SysUsage().(*syscall.Rusage)
		if !ok {
			return fmt.Errorf("this system tells nothing of a process' memory")
		}
		cpu = append(cpu, c.ProcessState.UserTime()+c.ProcessState.SystemTime())
		peak = append(peak, float64(usage.Maxrss)/1024) // Linux: KiB
	}
	w, p := median(wall), median(peak)
	fmt.Printf("whole process: legroom limits %s, GOMAXPROCS=1, median of %d runs\n", terrace, len(wall))
	fmt.Printf("  wall time %.0f ms (target ≤ 150: %s), of which %.0f ms on the processor, peak memory %.0f MiB (target ≤ 60: %s)\n",
		ms(w), verdict(ms(w) <= 150), ms(median(cpu)), p, verdict(p <= 60))
	return nil
}
