package server

import (
	"os"
	"runtime"
)

// processors is how many there are, or as many as a container allows.
var processors = runtime.GOMAXPROCS(0)

// SpareProcessor lets one more thread run than there are processors, unless the
// environment says how many: the ledger's writer keeps one while the disk syncs,
// for as long as the runtime takes to notice.
func SpareProcessor() {
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(processors + 1)
	}
}
