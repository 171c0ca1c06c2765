package static_test

import (
	"flag"
	"net/http"
	"net/http/httptest"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/static"
)

var axe = flag.String("axe", "../.ci/node_modules/axe-core/axe.min.js", "path of axe.min.js; every specimen is checked with it")

// policy is the strictest reading of "'self' alone"; the server's own may add to it.
const policy = "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// TestInChromium starts the browser once and asks it for what a drawing cannot promise.
func TestInChromium(t *testing.T) {
	tab := browse(t)
	site := serveSpecimens(t)
	t.Run("look", func(t *testing.T) { testLook(t, tab, site) })
	t.Run("Pass and Fail are large, apart and seen at once", func(t *testing.T) {
		testPassAndFail(t, tab, site)
	})
	t.Run("7½ never turns into ½7", func(t *testing.T) { testNumberFromTheLeft(t, tab, site) })
	t.Run("modules", func(t *testing.T) { testModules(t, tab) })
}

// testLook opens every specimen on phones and wider: nothing sticks out sideways, targets are
// as large as the design says, no script fails and the policy refuses nothing.
func testLook(t *testing.T, tab browser, site string) {
	for name := range specimens() {
		t.Run(name, func(t *testing.T) {
			tab.open(t, site+"/"+name, 360, 740)
			require.Empty(t, tab.ask(t, "complaints"), "refused or failed in the browser")
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

// The sizes are those the design names: Pass and Fail 96 px high and 16 px apart, the number 64.
func testPassAndFail(t *testing.T, tab browser, site string) {
	tab.open(t, site+"/due", 360, 740)
	sizes, err := chromedp.Run(tab.ctx, chromedp.Evaluate[map[string]float64](`(() => {
		const [pass, fail] = [...document.querySelectorAll('.act-big')]
			.map(b => b.getBoundingClientRect());
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

// TestAxe asks axe-core (npm package axe-core, 4.14.1 tried) about every specimen in both schemes,
// at its strictest tags. What it cannot decide counts as found.
func TestAxe(t *testing.T) {
	source, err := os.ReadFile(*axe)
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("SKIPPED: no axe-core here (npm install --prefix .ci axe-core@4.14.1), specimens are not read for accessibility")
	}
	require.NoError(t, err)
	tab := browse(t)
	site := serveSpecimens(t)
	for name := range specimens() {
		for _, scheme := range []string{"light", "dark"} {
			t.Run(name+" "+scheme, func(t *testing.T) {
				tab.scheme(t, scheme)
				tab.open(t, site+"/"+name, 360, 740)
				tab.do(t, chromedp.Evaluate[chromedp.Void](string(source)))
				found, err := chromedp.Run(tab.ctx,
					chromedp.Evaluate[[]string](runAxe, chromedp.EvalAwaitPromise))
				require.NoError(t, err)
				require.Empty(t, found)
			})
		}
	}
}

// Words in a drawing: axe-core cannot tell what colour is behind them and leaves them open.
// TestSchemesAreReadable reckons the contrast of the same colours.
const runAxe = `const behindWords = rule => rule.id !== 'color-contrast' ? rule :
	({...rule, nodes: rule.nodes.filter(n => !n.html.startsWith('<text '))});
axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag2aaa', 'wcag21a', 'wcag21aa', 'wcag22aa',
	'best-practice'] }).then(r => [...r.violations, ...r.incomplete.map(behindWords)].flatMap(
	rule => rule.nodes.map(n => rule.id + ' ' + n.html.slice(0, 120) + ' ' +
		[...n.any, ...n.all, ...n.none].map(c => c.message).join('; '))))`

// A value is read from the left in every script.
func testNumberFromTheLeft(t *testing.T, tab browser, site string) {
	tab.open(t, site+"/fromtheright", 360, 740)
	left, err := chromedp.Run(tab.ctx, chromedp.Evaluate[[]float64](`(() => {
		const text = document.querySelector('.setting-number b').firstChild;
		return [0, 1].map(i => {
			const range = document.createRange();
			range.setStart(text, i);
			range.setEnd(text, i + 1);
			return range.getBoundingClientRect().left;
		});
	})()`))
	require.NoError(t, err)
	require.Less(t, left[0], left[1], "7 stands left of ½")
}

// sticksOut names what is wider than the window, apart from what is hidden on purpose:
// the department's name in the top bar is cut with an ellipsis, and stands whole on every print.
const sticksOut = `[...document.body.querySelectorAll('*')].filter(e => {
	const r = e.getBoundingClientRect();
	if (e.closest('svg, .unseen, .skip, thead') || r.width < 2 || r.height < 2) return false;
	return r.left < -1 || r.right > innerWidth + 1 || e.scrollWidth > e.clientWidth + 1 &&
		getComputedStyle(e).overflow !== 'visible' && getComputedStyle(e).textOverflow !== 'ellipsis';
}).map(e => e.outerHTML.slice(0, 90))`

// smallTargets names what is tapped and is less than 56 px high; links within a sentence are
// exempt, as in WCAG 2.2, 2.5.8 ("Inline").
const smallTargets = `[...document.querySelectorAll(
	'a, button, summary, label, select, textarea, input')].filter(e => {
	const r = e.getBoundingClientRect();
	const inline = '.skip, p a, .field > label';
	const covered = 'input[type=file], input[type=radio], input[type=checkbox]';
	return !e.matches(inline) && !e.matches(covered) && r.height > 0 && r.height < 55.5;
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
		tab.picture(t, site+"/"+name, name+"-light", 360, 740, "light")
		tab.picture(t, site+"/"+name, name+"-dark", 360, 740, "dark")
		tab.picture(t, site+"/"+name, name+"-forced", 360, 740, "forced")
		tab.picture(t, site+"/"+name, name+"-tablet", 768, 1024, "light")
		tab.picture(t, site+"/"+name, name+"-wide", 1280, 800, "light")
		tab.do(t, chromedp.Evaluate[chromedp.Void](twiceTheText))
		tab.resize(t, 360, 740)
		tab.save(t, name+"-large.png", chromedp.FullScreenshot(100))
		tab.open(t, site+"/"+name, 800, 1000)
		tab.save(t, name+".pdf", chromedp.PrintToPDF())
	}
}

// serveSpecimens answers every specimen and every asset on loopback; it returns the address.
func serveSpecimens(t *testing.T) string {
	t.Helper()
	mux := http.NewServeMux()
	for name, s := range specimens() {
		mux.HandleFunc("/"+name, pageHandler(render(t, s)))
	}
	return serve(t, mux)
}

// serve answers mux and the assets under the policy until the test ends.
func serve(t *testing.T, mux *http.ServeMux) string {
	t.Helper()
	mux.Handle("/static/", static.Handler())
	site := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		site.CloseClientConnections()
		site.Close()
	})
	return site.URL
}

func pageHandler(body []byte) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		w.Write(body)
	}
}
