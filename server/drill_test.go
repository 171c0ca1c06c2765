package server_test

import (
	"bytes"
	"io"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// program is built once for the drill.
func buildProgram(t *testing.T) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "tidemark")
	out, err := exec.Command("go", "build", "-o", name, "../cmd/tidemark").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return name
}

// run runs a command to its end and returns what it says.
func run(t *testing.T, name string, args ...string) (said string, ok bool) {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NotContains(t, string(out), "goroutine ", "never a stack trace")
	return string(out), err == nil
}

func mustRun(t *testing.T, name string, args ...string) string {
	t.Helper()
	said, ok := run(t, name, args...)
	require.True(t, ok, "%v: %s", args, said)
	return said
}

// served is the program serving a folder as an office, reached by its name.
func served(t *testing.T, name, dir string, more ...string) (o *office, printed *bytes.Buffer, stop func()) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	addr := l.Addr().String()
	require.NoError(t, l.Close())
	printed = &bytes.Buffer{}
	child := exec.Command(name, append([]string{"serve", "-data", dir, "-public-url", officeURL, "-addr", addr}, more...)...)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	said := make(chan struct{})
	child.Stderr = io.Discard
	require.NoError(t, child.Start())
	go func() {
		_, _ = io.Copy(printed, out)
		close(said)
	}()
	ended := false
	stop = func() {
		if ended {
			return
		}
		ended = true
		require.NoError(t, child.Process.Signal(syscall.SIGTERM))
		<-said
		require.NoError(t, child.Wait())
	}
	t.Cleanup(stop)
	alive := func() bool {
		answer, err := http.Get("http://" + addr + "/livez")
		if err != nil {
			return false
		}
		_ = answer.Body.Close()
		return answer.StatusCode == http.StatusOK
	}
	require.Eventually(t, alive, 60*time.Second, 20*time.Millisecond)
	proxy := httputil.NewSingleHostReverseProxy(&url.URL{Scheme: "http", Host: addr})
	o = &office{t: t, dir: dir, addr: addr}
	o.said = readDescription(t, proxy, officeURL)
	return o, printed, stop
}

// firstIn opens the one-time link that the program has printed and sets a department
// up.
func (o *office) firstIn(printed *bytes.Buffer) *program {
	o.t.Helper()
	t := o.t
	token := regexp.MustCompile(`token=(\S+)`)
	require.Eventually(t, func() bool { return token.MatchString(printed.String()) }, 10*time.Second, 10*time.Millisecond)
	lead := o.stranger()
	lead.name = "V. Costa"
	lead.post("/begin", object{"token": token.FindStringSubmatch(printed.String())[1], "name": "Packing room",
		"zone": "America/New_York", "day_start": "05:00", "person": "V. Costa", "pin": pin, "device": "bench computer"}).done()
	lead.device, lead.session, lead.person = lead.text("device"), lead.text("session.token"), lead.text("person")
	return lead
}

// The drill of an IT department, through the program alone: serve, back up, go on,
// lose the folder, restore the backup elsewhere, without its keys, with phones that
// have seen more.
func TestTheDrillOfARestoreThroughTheProgram(t *testing.T) {
	program := buildProgram(t)
	dir := filepath.Join(t.TempDir(), "data")
	o, printed, stop := served(t, program, dir)
	lead := o.firstIn(printed)
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	lead.post("/people", object{"name": "H. Brand", "mail": "h.brand@lanternfield.example", "roles": []string{"engineering"}}).done()
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch, "note": "three millimetres"}).done()
	report := lead.text("id")
	file, err := os.ReadFile("../testdata/photos/location.jpg")
	require.NoError(t, err)
	lead.photograph(report, file)
	lead.done()

	// Back up while it serves, then go on.
	backup := filepath.Join(t.TempDir(), "backup.tar")
	require.Contains(t, mustRun(t, program, "backup", "-data", dir, "-o", backup), "The keys are not in it")
	said, ok := run(t, program, "backup", "-data", dir, "-o", backup)
	require.False(t, ok)
	require.Contains(t, said, "exists already")
	said, ok = run(t, program, "verify", "-data", dir)
	require.False(t, ok, "a server holds the folder")
	require.NotContains(t, said, "damaged so badly")
	lead.addPouch("Nonwoven", "nonwoven")
	lead.get("/board")
	seen := lead.reply.header.Get("Tidemark-Sight")
	size, root := lead.reply.header.Get("Tidemark-Size"), lead.reply.header.Get("Tidemark-Root")
	stop()
	require.Contains(t, mustRun(t, program, "verify", "-data", dir, "-witness", size+" "+root[:8]), "A witness has seen the first")

	// Restore: never over something, verified, the undelivered parked.
	said, ok = run(t, program, "restore", "-from", backup, "-data", dir)
	require.False(t, ok)
	require.Contains(t, said, "nothing overwritten")
	restored := filepath.Join(t.TempDir(), "restored")
	require.Contains(t, mustRun(t, program, "restore", "-from", backup, "-data", restored), "records restored to")
	mustRun(t, program, "verify", "-data", restored)
	witness := filepath.Join(t.TempDir(), "seen.txt")
	require.NoError(t, os.WriteFile(witness, []byte(size+" "+root[:8]+"\n"), 0o600))
	said, ok = run(t, program, "verify", "-data", restored, "-witness-file", witness)
	require.False(t, ok)
	require.Contains(t, said, "The ledger went back")
	said, ok = run(t, program, "serve", "-data", restored, "-public-url", officeURL, "-addr", "127.0.0.1:0")
	require.False(t, ok, "without its keys it starts only when told so")
	require.Contains(t, said, "-new-key")

	// Without the keys: a new one, and new PINs for those who give them to others.
	o, _, stop = served(t, program, restored, "-new-key")
	pins := mustRun(t, program, "new-pins", "-data", restored)
	fresh := regexp.MustCompile(`V\. Costa\s+PIN (\d{6})`).FindStringSubmatch(pins)
	require.Len(t, fresh, 2, pins)
	again := lead.signsInAt(o, fresh[1])
	require.Equal(t, true, again.reply.at("must_choose_pin"))
	require.Contains(t, again.pageText("/problems/"+report), "three millimetres")
	require.Contains(t, again.pageText("/problems/"+report), "<img src=\"/photographs/")
	metrics := o.stranger().pageText("/metrics")
	require.Contains(t, metrics, "tidemark_messages_waiting 0")
	require.NotContains(t, metrics, "tidemark_messages_parked 0", "what was not delivered waits for a person")

	// A phone that has seen more: read-only until somebody says so, also over a restart.
	again.sight = seen
	again.get("/board")
	again.sight = ""
	again.post("/pouches", object{"name": "Nonwoven 2", "material": "nonwoven"}).refused(http.StatusServiceUnavailable, "busy")
	require.Contains(t, o.stranger().pageText("/readyz"), "tidemark accept-loss -data DIR")
	stop()
	o, _, stop = served(t, program, restored)
	require.Contains(t, o.stranger().pageText("/readyz"), "The ledger went back")
	require.Contains(t, mustRun(t, program, "accept-loss", "-data", restored), "stored again")
	require.Equal(t, "ready\n", o.stranger().pageText("/readyz"))
	again = lead.signsInAt(o, fresh[1])
	again.addPouch("Nonwoven", "nonwoven")
	stop()
	require.True(t, strings.Contains(mustRun(t, program, "verify", "-data", restored), "signing key was lost and a new one taken into use"))
}
