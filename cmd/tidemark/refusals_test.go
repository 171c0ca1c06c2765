package main

import (
	"bufio"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// asCommand marks the process that is the command itself.
const asCommand = "TIDEMARK_TEST_COMMAND"

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

func tidemark(args ...string) *exec.Cmd {
	c := exec.Command(os.Args[0], args...)
	c.Env = append(os.Environ(), asCommand+"=1")
	return c
}

// refused runs the command, wants it to fail, and returns what it said.
func refused(t *testing.T, args ...string) string {
	t.Helper()
	said, err := tidemark(args...).CombinedOutput()
	var exit *exec.ExitError
	require.ErrorAs(t, err, &exit, "%v: %s", args, said)
	require.NotContains(t, string(said), "goroutine", "%v", args)
	return string(said)
}

// free is an address that nothing listens on.
func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

func TestWhatCannotWorkIsSaidBeforeAFolderIsMade(t *testing.T) {
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer busy.Close()
	serve := func(more ...string) []string {
		return append([]string{"serve", "-data", data, "-public-url", "https://tide.test", "-addr", free(t)}, more...)
	}
	for name, c := range map[string]struct {
		args []string
		says []string
	}{
		"an unknown flag":        {serve("-colour", "blue"), []string{"unknown flag --colour", "tidemark serve --help"}},
		"an unknown command":     {[]string{"frobnicate"}, []string{"unexpected argument frobnicate", "tidemark --help"}},
		"no data folder said":    {[]string{"serve", "-public-url", "https://tide.test"}, []string{"missing flags: --data"}},
		"no public address":      {serve("-public-url", "tide"), []string{`"tide" is none`, "such as https://tide.example"}},
		"an address with a path": {serve("-public-url", "https://tide.test/x"), []string{"such as https://tide.example"}},
		"a port in use":          {serve("-addr", busy.Addr().String()), []string{"is in use by another process", "choose another port with -addr"}},
		"no port":                {serve("-addr", "127.0.0.1"), []string{"cannot listen on 127.0.0.1"}},
		"half of TLS":            {serve("-tls-cert", "cert.pem"), []string{"both -tls-cert and -tls-key, or neither"}},
		"no such certificate": {serve("-tls-cert", file+"1", "-tls-key", file+"2"),
			[]string{"cannot be used with the key", "no such file"}},
		"no way to a mail server": {serve("-smtp", "post office"), []string{"smtp://host"}},
		"a file for a folder":     {serve("-data", file), []string{"cannot be made or written"}},
		"a demo for everybody":    {[]string{"demo", "-addr", "0.0.0.0:0"}, []string{"loopback address only"}},
		"nothing to verify":       {[]string{"verify", "-data", data}, []string{"there is no data folder"}},
		"nothing to label":        {[]string{"labels", "-data", data, "-o", file + ".pdf"}, []string{"There is no data folder"}},
		"a sheet that is none":    {[]string{"labels", "-data", data, "-o", file + ".pdf", "-sheet", "x"}, []string{"there are: a4-3x8"}},
		"nothing to back up":      {[]string{"backup", "-data", data, "-o", file + ".backup"}, []string{"there is no data folder"}},
		"no backup":               {[]string{"restore", "-from", file + ".backup", "-data", data}, []string{"there is no backup"}},
		"no server to ask":        {[]string{"set-up-link", "-data", data}, []string{"No server runs on the data folder"}},
	} {
		t.Run(name, func(t *testing.T) {
			said := refused(t, c.args...)
			for _, words := range c.says {
				require.Contains(t, said, words)
			}
			require.NoDirExists(t, data)
			require.NoFileExists(t, file+".pdf")
		})
	}
}

func TestADemoFolderIsHeldAndNeverServed(t *testing.T) {
	dir := t.TempDir()
	demo := tidemark("demo", "-data", dir, "-addr", "127.0.0.1:0", "-json")
	out, err := demo.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, demo.Start())
	t.Cleanup(func() { _ = demo.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Contains(t, line, `"address":"http://127.0.0.1:`)

	serve := []string{"serve", "-data", dir, "-public-url", "http://tide.test", "-addr", free(t)}
	require.Contains(t, refused(t, serve...), "is in use by process")
	require.Contains(t, refused(t, "verify", "-data", dir), "is in use by process")
	require.NoError(t, demo.Process.Signal(os.Interrupt))
	require.NoError(t, demo.Wait())

	require.Contains(t, refused(t, serve...), "was made by a demo")
	said, err := tidemark("verify", "-data", dir).CombinedOutput()
	require.NoError(t, err, "%s", said)
	pdf := filepath.Join(t.TempDir(), "labels.pdf")
	said, err = tidemark("labels", "-data", dir, "-o", pdf).CombinedOutput()
	require.NoError(t, err, "%s", said)
	labels, err := os.ReadFile(pdf)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(labels), "%PDF"))
}

func TestAFolderOfAnotherUserIsSaidToBeOne(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("SKIPPED: root may write anywhere")
	}
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o500))
	said := refused(t, "serve", "-data", dir, "-public-url", "http://tide.test", "-addr", free(t))
	require.Contains(t, said, "belongs to another user")
}
