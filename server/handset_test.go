package server_test

import (
	"context"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// handset is one tab of the machine's Chromium, as narrow as a phone.
type handset struct {
	t    *testing.T
	root context.Context // the browser: tabs come and go
	ctx  context.Context
	w    *ward
}

// chromium is the browser of this machine. Without one a test skips loudly; in
// CI it fails.
func chromium(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("CI") != "" {
		require.NoError(t, err, "CI needs Chromium")
	}
	if err != nil {
		t.Skip("SKIPPED: no chromium on this machine, phones are not tested")
	}
	return path
}

// newHandset starts a browser whose device the ward has let in, with the lead
// signed in.
func (w *ward) newHandset(options ...chromedp.ExecAllocatorOption) *handset {
	w.t.Helper()
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(w.t)),
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(w.t.TempDir()),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-background-networking", true))
	alloc, stopAlloc := chromedp.NewExecAllocator(w.t.Context(), append(opts, options...)...)
	ctx, stop := chromedp.NewContext(alloc)
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute+2*longer())
	w.t.Cleanup(func() { cancel(); stop(); stopAlloc() })
	require.NoError(w.t, chromedp.Do(ctx, chromedp.Navigate("about:blank")))
	p := (&handset{t: w.t, root: ctx, ctx: ctx, w: w}).tab()
	p.cookie("tide-device", w.device)
	p.cookie("tide-session", w.session)
	return p
}

func (p *handset) prepare() {
	p.t.Helper()
	p.do(chromedp.EmulateViewport(360, 740, chromedp.EmulateScale(2)))
	p.before(complain)
}

// before runs a script ahead of every page's own.
func (p *handset) before(script string) {
	p.t.Helper()
	_, err := chromedp.Call(p.ctx, page.AddScriptToEvaluateOnNewDocument,
		page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
	require.NoError(p.t, err)
}

func (p *handset) cookie(name, value string) {
	p.t.Helper()
	secure := strings.HasPrefix(p.w.url, "https")
	if secure {
		name = "__Host-" + name
	}
	_, err := chromedp.Call(p.ctx, network.SetCookie, network.SetCookieParams{Name: name, Value: value, URL: p.w.url,
		Path: "/", Secure: new(secure), HTTPOnly: new(true)})
	require.NoError(p.t, err)
}

// tab is another tab of the same phone.
func (p *handset) tab() *handset {
	p.t.Helper()
	ctx, stop := chromedp.NewContext(p.root)
	p.t.Cleanup(stop)
	other := &handset{t: p.t, root: p.root, ctx: ctx, w: p.w}
	other.prepare()
	return other
}

func (p *handset) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, steps...))
}

// open loads a page, waits until it is the one of now and its scripts have had their
// turn.
func (p *handset) open(path string) {
	p.t.Helper()
	p.do(chromedp.Navigate(p.w.url + path))
	p.wait(`document.querySelector('main') !== null && document.querySelector('[data-asof]') === null`, path+" as it is now")
	p.started()
}

func (p *handset) started() {
	p.t.Helper()
	p.text(`(async () => {
		const start = document.querySelector('script[src]').src;
		await import(start);
		const names = [...document.querySelectorAll('[data-module]')].flatMap(e => e.dataset.module.split(' '));
		await Promise.all(names.map(name => import(new URL(name + '.js', start))));
		return '';
	})()`)
}

// wait asks until a condition holds; the limit only ends a test that hangs.
func (p *handset) wait(condition, why string) {
	p.t.Helper()
	ok := false
	for end := time.Now().Add(40 * time.Second); !ok && time.Now().Before(end); time.Sleep(25 * time.Millisecond) {
		holds, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](condition))
		ok = err == nil && holds
	}
	if !ok {
		p.t.Fatalf("never: %s\n%s", why, p.text("document.location.href + '\\n' + (document.body?.innerText ?? '') + '\\n' + (window.complaints ?? []).join('\\n')"))
	}
}

// text evaluates an expression that yields words.
func (p *handset) text(expression string) string {
	p.t.Helper()
	return evaluated[string](p, expression)
}

// number evaluates an expression that yields a number.
func (p *handset) number(expression string) int {
	p.t.Helper()
	return evaluated[int](p, expression)
}

// evaluated asks once more where the page was loaded anew meanwhile, as it does by
// itself after something was sent.
func evaluated[T any](p *handset, expression string) T {
	p.t.Helper()
	for tries := 0; ; tries++ {
		v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
		if err != nil && tries < 5 && strings.Contains(err.Error(), "navigated") {
			time.Sleep(100 * time.Millisecond)
			continue
		}
		require.NoError(p.t, err, expression)
		return v
	}
}

func (p *handset) tap(css string) {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(` + quote(css) + `).click()`))
}

func quote(s string) string { return "`" + s + "`" }

// ready waits until the worker has kept the pages of the sealers.
func (p *handset) ready() {
	p.t.Helper()
	p.wait(`(() => { caches.match('/cards/said').then(r => { window.said = Boolean(r); }); return Boolean(window.said); })()`,
		"the pages of the sealers are kept")
}

// kept is how many entries and photographs this phone keeps.
func (p *handset) kept() int {
	p.t.Helper()
	return p.number(countKept)
}

const countKept = `new Promise((done, fail) => {
	const ask = indexedDB.open('tide');
	ask.onerror = () => fail(ask.error);
	ask.onsuccess = () => {
		const tx = ask.result.transaction(['entries', 'photos']);
		const [a, b] = [tx.objectStore('entries').count(), tx.objectStore('photos').count()];
		tx.oncomplete = () => { ask.result.close(); done(a.result + b.result); };
	};
})`

// drained waits until nothing is kept any more.
func (p *handset) drained() {
	p.t.Helper()
	for end := time.Now().Add(90 * time.Second); p.kept() > 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			p.t.Fatalf("%d are still kept: %s", p.kept(), p.text(`import(new URL('store.js', document.querySelector('script[src]').src)).then(async s => JSON.stringify(await s.entries()))`))
		}
	}
}

// fine wants a page without complaints.
func (p *handset) fine() {
	p.t.Helper()
	require.Empty(p.t, p.text(`(window.complaints ?? []).join('\n')`))
}

// navigate goes to an address that may be answered from the phone.
func navigate(url string) chromedp.Action[chromedp.Void] { return chromedp.Navigate(url) }

var pictures = flag.String("phones", "", "write pictures of a phone without contact into this folder")

// picture writes the page as it is seen, if somebody wants to look.
func (p *handset) picture(name string) {
	p.t.Helper()
	if *pictures == "" {
		return
	}
	b, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	require.NoError(p.t, err)
	require.NoError(p.t, os.WriteFile(filepath.Join(*pictures, name+".png"), b, 0o644))
}
