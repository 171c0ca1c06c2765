package people_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/people"
)

// tracedPath tells this test program, started anew, that it is being traced.
const tracedPath = "PEOPLE_TRACED"

// TestTraced is no test unless started by TestARewriteIsOnDiskBeforeItHasTheName.
func TestTraced(t *testing.T) {
	path := os.Getenv(tracedPath)
	if path == "" {
		t.Skip("started by TestARewriteIsOnDiskBeforeItHasTheName")
	}
	store, err := people.Open(path, options())
	require.NoError(t, err)
	commitments, err := store.Seal(morning, name("Quillon Vantreight"))
	require.NoError(t, err)
	require.NoError(t, store.Erase(commitments, evening))
	require.NoError(t, store.Close())
}

// A kill cannot tell what a power cut would leave; the order of the system
// calls can.
func TestARewriteIsOnDiskBeforeItHasTheName(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("needs strace")
	}
	dir := t.TempDir()
	trace := filepath.Join(t.TempDir(), "trace")
	traced := exec.Command(strace, "-f", "-y", "-o", trace,
		"-e", "trace=pwrite64,fdatasync,fsync,rename,renameat,renameat2",
		os.Args[0], "-test.run=^TestTraced$")
	traced.Env = append(os.Environ(), tracedPath+"="+filepath.Join(dir, "people.db"))
	out, err := traced.CombinedOutput()
	require.NoError(t, err, string(out))
	text, err := os.ReadFile(trace)
	require.NoError(t, err)

	// W: the new file written, S: it synced, R: renamed, F: the folder synced.
	var calls strings.Builder
	for _, line := range strings.Split(string(text), "\n") {
		switch {
		case regexp.MustCompile(`pwrite64\(\d+<[^>]*people\.db\.new>`).MatchString(line):
			calls.WriteByte('W')
		case regexp.MustCompile(`f(data)?sync\(\d+<[^>]*people\.db\.new>`).MatchString(line):
			calls.WriteByte('S')
		case regexp.MustCompile(`rename.*people\.db\.new`).MatchString(line):
			calls.WriteByte('R')
		case strings.Contains(line, "fsync(") && strings.Contains(line, "<"+dir+">"):
			calls.WriteByte('F')
		}
	}
	require.Regexp(t, "^[WS]*WS+RF$", calls.String())
}
