package guard

import (
	"flag"
	"os"
	"testing"
)

// The tests wait for their mounts most of the time, so that more of them run side by side than there are processors.
func TestMain(m *testing.M) {
	flag.Parse()
	if f := flag.Lookup("test.parallel"); f.Value.String() == "2" || f.Value.String() == "1" {
		_ = f.Value.Set("8")
	}
	os.Exit(m.Run())
}
