package static_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/static"
)

// policy is the strictest reading of "'self' alone"; the server's own may add to it.
const policy = "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// TestLook opens every specimen in a real browser on phones and asks it for what a drawing
// cannot promise: nothing sticks out sideways, targets are as large as the design says, no
// script fails and the policy refuses nothing. With -specimen DIR it leaves pictures there.
func TestLook(t *testing.T) {
	tab := browse(t)
	site := serveSpecimens(t)
	for name := range specimens() {
		t.Run(name, func(t *testing.T) {
			tab.open(t, site.URL+"/"+name, 360, 740)
			require.Empty(t, tab.complaints(t), "refused or failed in the browser")
			for _, width := range []int64{320, 360, 768, 1280} {
				tab.resize(t, width, 740)
				require.Emptyf(t, tab.ask(t, sticksOut), "sticks out sideways at %d px", width)
			}
			tab.resize(t, 360, 740)
			require.Empty(t, tab.ask(t, smallTargets), "targets under 56 px")
			tab.do(t, chromedp.Evaluate[chromedp.Void](twiceTheText))
			require.Empty(t, tab.ask(t, sticksOut), "sticks out with text twice as large")
		})
	}
}

// The sizes that the design names: DESIGN.md, section 8, asks for them.
func TestPassAndFailAreLargeAndApart(t *testing.T) {
	tab := browse(t)
	tab.open(t, serveSpecimens(t).URL+"/due", 360, 740)
	sizes, err := chromedp.Run(tab.ctx, chromedp.Evaluate[map[string]float64](`(() => {
		const [pass, fail] = [...document.querySelectorAll('.act-big')].map(b => b.getBoundingClientRect());
		const number = getComputedStyle(document.querySelector('.setting-number')).fontSize;
		return { pass: pass.height, fail: fail.height, apart: fail.left - pass.right,
			number: parseFloat(number), bottom: fail.bottom };
	})()`))
	require.NoError(t, err)
	require.GreaterOrEqual(t, sizes["pass"], 96.0)
	require.GreaterOrEqual(t, sizes["fail"], 96.0)
	require.GreaterOrEqual(t, sizes["apart"], 16.0)
	require.GreaterOrEqual(t, sizes["number"], 64.0)
	require.LessOrEqual(t, sizes["bottom"], 740.0, "Pass and Fail are seen without scrolling")
}

// A value is read from the left in every script: "7½" must never turn into "½7".
func TestTheNumberReadsFromTheLeftInEveryScript(t *testing.T) {
	tab := browse(t)
	tab.open(t, serveSpecimens(t).URL+"/fromtheright", 360, 740)
	order, err := chromedp.Run(tab.ctx, chromedp.Evaluate[[]float64](`(() => {
		const text = document.querySelector('.setting-number b').firstChild;
		return [0, 1].map(i => {
			const range = document.createRange();
			range.setStart(text, i);
			range.setEnd(text, i + 1);
			return range.getBoundingClientRect().left;
		});
	})()`))
	require.NoError(t, err)
	require.Less(t, order[0], order[1], "7 stands left of ½")
}

// sticksOut names what is wider than the window, apart from what is hidden on purpose.
const sticksOut = `[...document.body.querySelectorAll('*')].filter(e => {
	const r = e.getBoundingClientRect();
	if (e.closest('svg, .unseen, .skip, thead') || r.width < 2 || r.height < 2) return false;
	return r.left < -1 || r.right > innerWidth + 1 || e.scrollWidth > e.clientWidth + 1 &&
		getComputedStyle(e).overflow !== 'visible';
}).map(e => e.outerHTML.slice(0, 90))`

// smallTargets names what is tapped and is less than 56 px high; links within a sentence are
// exempt, as in WCAG 2.2, 2.5.8 ("Inline").
const smallTargets = `[...document.querySelectorAll('a, button, summary, label, select, textarea, input')].filter(e => {
	const r = e.getBoundingClientRect();
	if (e.matches('.skip, p a, input[type=file], input[type=radio], input[type=checkbox], .field > label')) return false;
	return r.height > 0 && r.height < 55.5;
}).map(e => e.outerHTML.slice(0, 90))`

// twiceTheText is what a browser's largest text setting does to the root (WCAG 2.2, 1.4.4).
const twiceTheText = `document.documentElement.style.fontSize = '212.5%'`

// TestPictures leaves pictures of every specimen for a person to look at.
func TestPictures(t *testing.T) {
	if *specimenDir == "" {
		t.Skip("only with -specimen DIR")
	}
	tab := browse(t)
	site := serveSpecimens(t)
	for name := range specimens() {
		tab.picture(t, site.URL+"/"+name, name+"-light", 360, 740, "light")
		tab.picture(t, site.URL+"/"+name, name+"-dark", 360, 740, "dark")
		tab.picture(t, site.URL+"/"+name, name+"-wide", 1280, 800, "light")
		tab.do(t, chromedp.Evaluate[chromedp.Void](twiceTheText))
		tab.resize(t, 360, 740)
		tab.save(t, name+"-large.png", chromedp.FullScreenshot(100))
		tab.open(t, site.URL+"/"+name, 800, 1000)
		tab.save(t, name+".pdf", chromedp.PrintToPDF())
	}
}

// A browser is one tab of the machine's Chromium.
type browser struct{ ctx context.Context }

// browse starts Chromium for one test and ends it afterwards.
func browse(t *testing.T) browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on this machine")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path),
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-component-update", true))
	alloc, stopAlloc := chromedp.NewExecAllocator(t.Context(), opts...)
	ctx, stop := chromedp.NewContext(alloc)
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(func() { cancel(); stop(); stopAlloc() })
	return browser{ctx}
}

func (b browser) do(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	require.NoError(t, chromedp.Do(b.ctx, steps...))
}

func (b browser) resize(t *testing.T, width, height int64) {
	t.Helper()
	b.do(t, chromedp.EmulateViewport(width, height, chromedp.EmulateScale(2)))
}

// open loads a page, with complaints collected from its first moment.
func (b browser) open(t *testing.T, url string, width, height int64) {
	t.Helper()
	b.resize(t, width, height)
	_, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument,
		page.AddScriptToEvaluateOnNewDocumentParams{Source: `window.complaints = [];
		addEventListener('error', e => complaints.push(e.message || e.target.outerHTML), true);
		addEventListener('unhandledrejection', e => complaints.push(String(e.reason)));
		addEventListener('securitypolicyviolation', e => complaints.push(e.violatedDirective + ' ' + e.blockedURI));
		console.error = (...words) => complaints.push(words.join(' '));`})
	require.NoError(t, err)
	b.do(t, chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("main")))
}

func (b browser) complaints(t *testing.T) []string {
	t.Helper()
	return b.ask(t, "complaints")
}

// ask evaluates an expression that yields a list of words.
func (b browser) ask(t *testing.T, expression string) []string {
	t.Helper()
	words, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](expression))
	require.NoError(t, err)
	return words
}

func (b browser) picture(t *testing.T, url, name string, width, height int64, scheme string) {
	t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	require.NoError(t, err)
	b.open(t, url, width, height)
	b.save(t, name+".png", chromedp.FullScreenshot(100))
}

func (b browser) save(t *testing.T, name string, take chromedp.Action[[]byte]) {
	t.Helper()
	data, err := chromedp.Run(b.ctx, take)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(*specimenDir, name), data, 0o644))
}

// serveSpecimens answers every specimen and every asset on loopback, under the policy.
func serveSpecimens(t *testing.T) *httptest.Server {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle("/static/", static.Handler())
	for name, s := range specimens() {
		body := render(t, s)
		mux.HandleFunc("/"+name, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			w.Write(body)
		})
	}
	site := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		if strings.HasSuffix(r.URL.Path, "/state") {
			w.Write([]byte(`{"version":"1204","at":"09:53"}`))
			return
		}
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(site.Close)
	return site
}
