package server_test

import (
	"archive/zip"
	"html"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A surveyor who wrote the ledger's key down verifies packs that keys after it have
// signed, through the program alone.
func TestAPackIsVerifiedByAKeyThatHasGivenWay(t *testing.T) {
	program := buildProgram(t)
	dir := filepath.Join(t.TempDir(), "data")
	o, printed, stop := served(t, program, dir)
	lead := o.firstIn(printed)
	lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	pack := func(name string) (path, newest string) {
		lead.send(http.MethodGet, "/record-pack", "", nil)
		require.Equal(t, http.StatusOK, lead.reply.status)
		path = filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, lead.reply.raw, 0o600))
		z, err := zip.OpenReader(path)
		require.NoError(t, err)
		defer z.Close()
		f, err := z.Open("keys.txt")
		require.NoError(t, err)
		keys, err := io.ReadAll(f)
		require.NoError(t, err)
		lines := strings.Fields(string(keys))
		return path, lines[len(lines)-1]
	}
	early, first := pack("early.zip")
	lead.browse(http.MethodGet, "/records/pack", "", nil)
	require.Contains(t, html.UnescapeString(string(lead.reply.raw)), first, "the page names the key, to be written down")
	for range 2 {
		require.Contains(t, mustRun(t, program, "rotate-key", "-data", dir), "this key signs; the one before has signed for it")
		lead.addPouch("Pouch of "+time.Now().Format(time.RFC3339Nano), "paper-film")
	}
	late, newest := pack("late.zip")
	require.NotEqual(t, first, newest)

	require.Contains(t, mustRun(t, program, "verify", late, "-key", first), "over 2 changes, each signed by both keys: "+newest)
	require.NotContains(t, mustRun(t, program, "verify", late, "-key", newest), "changes")
	mustRun(t, program, "verify", early, "-key", first)
	said, ok := run(t, program, "verify", early, "-key", newest)
	require.False(t, ok, "a key speaks for what comes after it, not for what came before: %s", said)
	stranger := strings.Replace(first, "A", "B", 1)
	said, ok = run(t, program, "verify", late, "-key", stranger)
	require.False(t, ok, said)

	stop()
	require.Contains(t, mustRun(t, program, "verify", "-data", dir, "-key", first), "3 signing keys, each taken over from the one before")
}
