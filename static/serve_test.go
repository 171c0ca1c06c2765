package static_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/static"
)

func TestAssetsAreServed(t *testing.T) {
	for _, name := range static.Names() {
		want, err := os.ReadFile(name)
		require.NoError(t, err)
		want = unsaid(name, want)

		plain := get(t, http.MethodGet, static.URL(name), "")
		require.Equal(t, http.StatusOK, plain.Code)
		require.Empty(t, plain.Header().Get("Content-Encoding"))
		require.True(t, bytes.Equal(want, plain.Body.Bytes()), name)
		require.Equal(t, "public, max-age=31536000, immutable", plain.Header().Get("Cache-Control"))
		require.Equal(t, "nosniff", plain.Header().Get("X-Content-Type-Options"))

		small := get(t, http.MethodGet, static.URL(name), "br, gzip")
		body := io.Reader(small.Body)
		if small.Header().Get("Content-Encoding") == "gzip" {
			require.Less(t, small.Body.Len(), len(want))
			require.Equal(t, "Accept-Encoding", small.Header().Get("Vary"))
			body, err = gzip.NewReader(small.Body)
			require.NoError(t, err)
		}
		got, err := io.ReadAll(body)
		require.NoError(t, err)
		require.True(t, bytes.Equal(want, got), name)
	}
}

// Content types as registered with IANA (text/javascript: RFC 9239).
func TestContentTypes(t *testing.T) {
	for name, want := range map[string]string{
		"css/tide.css":               "text/css; charset=utf-8",
		"js/start.js":                "text/javascript; charset=utf-8",
		"icons/mark.svg":             "image/svg+xml",
		"icons/maskable-192.png":     "image/png",
		"icons/tidemark.webmanifest": "application/manifest+json",
	} {
		require.Equal(t, want, get(t, http.MethodGet, static.URL(name), "").Header().Get("Content-Type"))
	}
}

func TestOtherAddressesAreNotFound(t *testing.T) {
	root := "/static/" + static.BuildHash()
	for _, path := range []string{
		"/static/", "/static/css/tide.css", root, root + "/", root + "/css", root + "/css/",
		root + "/css/other.css", root + "/templates/partials/page.html", root + "/fs.go",
		root + "/css/../css/tide.css", root + "//css/tide.css",
		"/static/0000000000000000/css/tide.css",
	} {
		w := get(t, http.MethodGet, path, "gzip")
		require.Equalf(t, http.StatusNotFound, w.Code, path)
		require.Equal(t, "no-store", w.Header().Get("Cache-Control"), "a miss is not kept")
	}
	require.Equal(t, http.StatusMethodNotAllowed,
		get(t, http.MethodPost, static.URL("css/tide.css"), "").Code)
	require.Panics(t, func() { static.URL("css/none.css") })
}

func TestGzipOnlyWhereItIsTaken(t *testing.T) {
	for accept, want := range map[string]string{
		"":                        "",
		"gzip":                    "gzip",
		"GZIP":                    "gzip",
		"deflate, gzip;q=0.5, br": "gzip",
		"br":                      "",
		"gzip;q=0":                "",
		"gzip; q=0.000, *":        "", // a named coding goes before "*": RFC 9110, 12.5.3
		"*":                       "gzip",
		"*;q=0":                   "",
		"identity":                "",
	} {
		w := get(t, http.MethodGet, static.URL("css/tide.css"), accept)
		require.Equalf(t, want, w.Header().Get("Content-Encoding"), "Accept-Encoding: %s", accept)
	}
}

var (
	assetAddress = regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`)
	moduleNames  = regexp.MustCompile(`data-module="([^"]+)"`)
	iconAddress  = regexp.MustCompile(`"src": "([^"]+)"`)
)

// An address inside a module or the manifest is relative, so it stays within one build.
func TestReferencesInsideAssetsExist(t *testing.T) {
	known := strings.Join(static.Names(), "\n") + "\n"
	manifest, err := os.ReadFile("icons/tidemark.webmanifest")
	require.NoError(t, err)
	for _, m := range iconAddress.FindAllSubmatch(manifest, -1) {
		require.Contains(t, known, "icons/"+string(m[1])+"\n")
	}
	for _, s := range specimens() {
		page := string(render(t, s))
		for _, m := range moduleNames.FindAllStringSubmatch(page, -1) {
			for module := range strings.FieldsSeq(m[1]) {
				require.Contains(t, known, "js/"+module+".js\n")
			}
		}
		for _, m := range assetAddress.FindAllStringSubmatch(page, -1) {
			require.Equal(t, http.StatusOK, get(t, http.MethodGet, m[1], "").Code, m[1])
		}
	}
}

// unsaid is a script or style sheet without what it says to people, done by hand
// and line by line, unlike the way it is done for serving.
func unsaid(name string, data []byte) []byte {
	script, style := strings.HasSuffix(name, ".js"), strings.HasSuffix(name, ".css")
	if !script && !style {
		return data
	}
	var out strings.Builder
	inside := false
	for line := range strings.Lines(string(data)) {
		for style && (inside || strings.Contains(line, "/*")) {
			before, rest, _ := strings.Cut(line, "/*")
			if inside {
				before, rest = "", line
			}
			_, after, ended := strings.Cut(rest, "*/")
			line, inside = before+after, !ended
			if inside {
				break
			}
		}
		line = strings.TrimSpace(line)
		if line != "" && !(script && strings.HasPrefix(line, "//")) {
			out.WriteString(line + "\n")
		}
	}
	return []byte(out.String())
}

// What is served has its indents taken off, so no text may run over several lines.
func TestScriptsHoldNoTextOverSeveralLines(t *testing.T) {
	for _, name := range static.Names() {
		if !strings.HasSuffix(name, ".js") {
			continue
		}
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		for line := range strings.Lines(string(data)) {
			if text := strings.TrimSpace(line); !strings.HasPrefix(text, "//") {
				require.Zero(t, strings.Count(text, "`")%2, "%s: %s", name, text)
			}
		}
	}
}

// The first scan of a label may cost 30 kB over the wire (headers apart): the sealer page and
// all that it loads by itself; the style sheet at most 14 kB of it.
func TestFirstScanIsWithinItsBudget(t *testing.T) {
	size := func(name string) int {
		return get(t, http.MethodGet, static.URL(name), "gzip").Body.Len()
	}
	require.Less(t, size("css/tide.css"), 14<<10)

	total := zipped(t, render(t, specimens()["due"]))
	for _, name := range []string{"css/tide.css", "icons/mark.svg", "icons/tidemark.webmanifest",
		"js/start.js", "js/fresh.js", "js/once.js", "js/menu.js", "js/sync.js", "js/queue.js",
		"js/store.js", "js/keep.js"} {
		total += size(name)
	}
	t.Logf("first scan: %d bytes, %d of them style", total, size("css/tide.css"))
	require.Less(t, total, 30_000)
}

func get(t *testing.T, method, path, accept string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, "http://tide.test/", nil)
	r.URL.Path = path
	if accept != "" {
		r.Header.Set("Accept-Encoding", accept)
	}
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, r)
	return w
}

func zipped(t *testing.T, data []byte) int {
	t.Helper()
	var buf bytes.Buffer
	w := gzip.NewWriter(&buf)
	_, err := w.Write(data)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return buf.Len()
}
