package static_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// A browser is one tab of the machine's Chromium.
type browser struct{ ctx context.Context }

// browse starts Chromium for one test and ends it afterwards.
func browse(t *testing.T) browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("CI") != "" {
		require.NoError(t, err, "CI needs Chromium")
	}
	if err != nil {
		t.Skip("SKIPPED: no chromium on this machine, the look is not tested")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path),
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-component-update", true))
	alloc, stopAlloc := chromedp.NewExecAllocator(t.Context(), opts...)
	ctx, stop := chromedp.NewContext(alloc)
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(func() { cancel(); stop(); stopAlloc() })
	_, err = chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument,
		page.AddScriptToEvaluateOnNewDocumentParams{Source: complain})
	require.NoError(t, err)
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

// open loads a page; what fails or is refused there is collected in "complaints".
func (b browser) open(t *testing.T, url string, width, height int64) {
	t.Helper()
	b.resize(t, width, height)
	b.do(t, chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("main")))
}

const complain = `window.complaints = [];
addEventListener('error', e => complaints.push(e.message || e.target.outerHTML), true);
addEventListener('unhandledrejection', e => complaints.push(String(e.reason)));
addEventListener('securitypolicyviolation',
	e => complaints.push(e.violatedDirective + e.blockedURI));
console.error = (...words) => complaints.push(words.join(' '));`

// started waits until every module on the page has had its turn: an import that is asked for
// later is answered later.
func (b browser) started(t *testing.T) {
	t.Helper()
	b.do(t, chromedp.Evaluate[chromedp.Void](`(async () => {
		const start = document.querySelector('script').src;
		await import(start);
		const names = [...document.querySelectorAll('[data-module]')]
			.flatMap(e => e.dataset.module.split(' '));
		await Promise.all(names.map(name => import(new URL(name + '.js', start))));
	})()`, chromedp.EvalAwaitPromise))
}

// wait asks until a condition holds; the limit is generous and only ends a test that hangs.
func (b browser) wait(t *testing.T, condition, why string) {
	t.Helper()
	require.Eventually(t, func() bool {
		holds, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](condition))
		return err == nil && holds
	}, 20*time.Second, 20*time.Millisecond, why)
}

// ask evaluates an expression that yields a list of words.
func (b browser) ask(t *testing.T, expression string) []string {
	t.Helper()
	words, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]string](expression))
	require.NoError(t, err)
	return words
}

// scheme makes the browser ask for "light" or "dark", or for "forced" colours.
func (b browser) scheme(t *testing.T, scheme string) {
	t.Helper()
	feature := &emulation.MediaFeature{Name: "prefers-color-scheme", Value: scheme}
	if scheme == "forced" {
		feature = &emulation.MediaFeature{Name: "forced-colors", Value: "active"}
	}
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{feature}})
	require.NoError(t, err)
}

func (b browser) picture(t *testing.T, url, name string, width, height int64, scheme string) {
	t.Helper()
	b.scheme(t, scheme)
	b.open(t, url, width, height)
	b.save(t, name+".png", chromedp.FullScreenshot(100))
}

func (b browser) save(t *testing.T, name string, take chromedp.Action[[]byte]) {
	t.Helper()
	data, err := chromedp.Run(b.ctx, take)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(*specimenDir, name), data, 0o644))
}
