package server_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/static"
)

// A new version of the app comes while a phone still keeps entries of the old
// one. The new version here is this one under other addresses: every asset lies
// elsewhere, the old addresses are gone, the worker is another one.
func TestBrowserAfterAnUpdateUnsentEntriesAreSentAndPagesOpen(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.passKept()
	w.mend()
	const newer = "feedfacecafebeef"
	w.breaks(updated(static.BuildHash(), newer))
	p.open("/S/" + w.codes[0])
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	require.Len(t, w.lines(w.codes[0], "check"), 1)
	p.wait(`(() => { caches.keys().then(k => { window.names = k.join(); }); return window.names === 'tide-cards,tide-static-`+newer+
		`' || window.names === 'tide-static-`+newer+`,tide-cards'; })()`, "the old version's assets are gone once pages of the new one are kept")
	w.cut()
	p.openAlone("/S/" + w.codes[1])
	require.Contains(t, p.text(`document.querySelector('link[rel=stylesheet]').href`), newer)
	require.Equal(t, "true", p.text(`String(document.querySelector('link[rel=stylesheet]').sheet.cssRules.length > 100)`), "with their style")
	p.fine()
}

// updated serves the same under the name of another build.
func updated(old, newer string) breakage {
	return func(out http.ResponseWriter, r *http.Request, serve http.Handler) bool {
		if strings.Contains(r.URL.Path, old) {
			http.NotFound(out, r)
			return true
		}
		r.Header.Del("Accept-Encoding")
		r.URL.Path = strings.ReplaceAll(r.URL.Path, newer, old)
		answer := httptest.NewRecorder()
		serve.ServeHTTP(answer, r)
		for name, values := range answer.Header() {
			if name != "Content-Length" {
				out.Header()[name] = values
			}
		}
		out.WriteHeader(answer.Code)
		_, _ = out.Write(bytes.ReplaceAll(answer.Body.Bytes(), []byte(old), []byte(newer)))
		return true
	}
}
