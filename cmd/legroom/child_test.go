package main

import (
	"os"
	"runtime/debug"
	"testing"
)

// asProgram makes the test's own program be legroom itself, so that a test can measure and bound a process of its own. Its value is
// the file that the kernel's account of the process is copied to when the command has ended.
const asProgram = "LEGROOM_AS_PROGRAM"

func TestMain(m *testing.M) {
	account := os.Getenv(asProgram)
	if account == "" {
		debug.SetGCPercent(400) // the live heap is small: collecting it took a tenth of the time
		os.Exit(atHome(m))
	}
	code := run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	if status, err := os.ReadFile("/proc/self/status"); err == nil {
		_ = os.WriteFile(account, status, 0o600)
	}
	os.Exit(code)
}

// atHome runs the tests with a folder of their own for what the program keeps for its user, such as the locks of mounts.
func atHome(m *testing.M) int {
	dir, err := os.MkdirTemp("", "legroom-test-")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	for _, name := range []string{"XDG_CACHE_HOME", "LocalAppData", "HOME"} {
		if err := os.Setenv(name, dir); err != nil {
			panic(err)
		}
	}
	return m.Run()
}
