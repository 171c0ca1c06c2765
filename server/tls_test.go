package server_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

// A worker registers over TLS only with a name whose certificate is trusted: here
// one of an authority of our own, in the browser's own store, for a name that is
// not loopback.
func TestBrowserPagesOpenWithoutContactOverTLSWithATrustedName(t *testing.T) {
	home := trustedHome(t)
	w := newWard(t, func(w *ward) {
		_, port, _ := cutLast(w.addr, ":")
		w.url = "https://tide.test:" + port
		w.cert, w.key = filepath.Join(home, "tide.pem"), filepath.Join(home, "tide.key")
	})
	p := w.newHandset(chromedp.Env("HOME="+home), chromedp.Flag("host-resolver-rules", "MAP tide.test 127.0.0.1"))
	p.open("/S/" + w.codes[0])
	require.Equal(t, "true", p.text(`String(isSecureContext)`))
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[1])
	p.passKept()
	w.mend()
	p.open("/S/" + w.codes[1])
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[1]))
	p.fine()
}

// On plain http, and a name that is not loopback, everything works while the page
// is open; in one line it says what does not.
// newPlainHandset is a phone whose line is not secured, as in a department without
// a certificate: its browser has neither worker nor locks.
func newPlainHandset(t *testing.T) (*ward, *handset) {
	t.Helper()
	w := newWard(t, func(w *ward) {
		_, port, _ := cutLast(w.addr, ":")
		w.url = "http://tide.test:" + port
	})
	p := w.newHandset(chromedp.Flag("host-resolver-rules", "MAP tide.test 127.0.0.1"))
	p.open("/S/" + w.codes[0])
	require.Equal(t, "false", p.text(`String(isSecureContext)`))
	return w, p
}

// A tab that dies in the middle of sending holds the others up for a while only.
func TestBrowserOnPlainHTTPATabThatDiesWhileSendingLeavesTheQueueToOthers(t *testing.T) {
	w, p := newPlainHandset(t)
	other := p.tab()
	w.hangs()
	p.passKept()
	require.Eventually(t, func() bool { _, asked := w.asked.Load("/api/v1/queue"); return asked }, 10*time.Second, 20*time.Millisecond, "it is sending")
	dying, stop := context.WithTimeout(p.ctx, time.Second) // nobody is left to confirm it
	_, _ = chromedp.Call(dying, page.Crash, cdp.Empty{})
	stop()
	w.heals()
	other.open("/S/" + w.codes[1])
	other.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	require.Len(t, w.lines(w.codes[0], "check"), 1)
}

func TestBrowserOnPlainHTTPEntriesAreKeptAndThePageSaysWhatDoesNotWork(t *testing.T) {
	w, p := newPlainHandset(t)
	p.shown("[data-plain]", "what does not work")
	w.cut()
	p.passKept()
	require.Equal(t, 1, p.kept())
	w.mend()
	p.text(`dispatchEvent(new Event('online')), ''`)
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	p.fine()
}

func cutLast(s, sep string) (before, after string, found bool) {
	for i := len(s) - len(sep); i >= 0; i-- {
		if s[i:i+len(sep)] == sep {
			return s[:i], s[i+len(sep):], true
		}
	}
	return s, "", false
}

// trustedHome is a home folder whose browser trusts an authority made for this
// test, with a certificate of it for tide.test.
func trustedHome(t *testing.T) string {
	t.Helper()
	certutil, err := exec.LookPath("certutil")
	if err != nil && os.Getenv("CI") != "" {
		require.NoError(t, err, "CI needs certutil, of libnss3-tools")
	}
	if err != nil {
		t.Skip("SKIPPED: no certutil on this machine, TLS in a browser is not tested")
	}
	home := t.TempDir()
	authority, authorityKey := certificate(t, nil, nil)
	leaf, leafKey := certificate(t, authority, authorityKey)
	writePEM(t, filepath.Join(home, "ca.pem"), "CERTIFICATE", authority.Raw)
	writePEM(t, filepath.Join(home, "tide.pem"), "CERTIFICATE", leaf.Raw)
	key, err := x509.MarshalPKCS8PrivateKey(leafKey)
	require.NoError(t, err)
	writePEM(t, filepath.Join(home, "tide.key"), "PRIVATE KEY", key)
	store := filepath.Join(home, ".pki", "nssdb")
	require.NoError(t, os.MkdirAll(store, 0o700))
	for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-t", "C,,", "-n", "Lanternfield", "-i", filepath.Join(home, "ca.pem")}} {
		out, err := exec.CommandContext(t.Context(), certutil, append([]string{"-d", "sql:" + store}, args...)...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	return home
}

// certificate makes an authority, or a certificate by one.
func certificate(t *testing.T, by *x509.Certificate, byKey *ecdsa.PrivateKey) (*x509.Certificate, *ecdsa.PrivateKey) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	c := &x509.Certificate{SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: "Lanternfield test authority"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour), BasicConstraintsValid: true, IsCA: by == nil,
		KeyUsage: x509.KeyUsageDigitalSignature}
	if by == nil {
		c.KeyUsage |= x509.KeyUsageCertSign
		by, byKey = c, key
	} else {
		c.Subject.CommonName, c.DNSNames = "tide.test", []string{"tide.test"}
		c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	}
	der, err := x509.CreateCertificate(rand.Reader, c, by, &key.PublicKey, byKey)
	require.NoError(t, err)
	made, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	return made, key
}

func writePEM(t *testing.T, file, kind string, der []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600))
}
