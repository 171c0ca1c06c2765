package server_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// browser is the machine's Chromium, for which tide.test is an office.
type browser struct {
	t   *testing.T
	ctx context.Context
}

// newBrowser starts Chromium for one test and ends it afterwards. Without it the
// test is skipped, or fails where CI is set.
func newBrowser(o *office) *browser {
	t := o.t
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("CI") != "" {
		require.NoError(t, err, "CI needs Chromium")
	}
	if err != nil {
		t.Skip("SKIPPED: no chromium on this machine, nothing was tested on a phone's screen")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP tide.test "+o.addr))
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(alloc)
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(func() { cancel(); stop(); stopAlloc() })
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("about:blank")))
	return &browser{t, ctx}
}

// phone is a tab of 360 x 740 with cookies of its own, touched with a finger.
type phone struct {
	t   *testing.T
	ctx context.Context
}

const complain = `window.complaints = [];
addEventListener('error', e => complaints.push(e.message || e.target.outerHTML), true);
addEventListener('unhandledrejection', e => complaints.push(String(e.reason)));
addEventListener('securitypolicyviolation', e => complaints.push(e.violatedDirective + e.blockedURI));`

func (b *browser) phone() *phone {
	b.t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	b.t.Cleanup(stop)
	p := &phone{b.t, ctx}
	p.do(chromedp.EmulateViewport(360, 740, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch))
	_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: complain})
	require.NoError(b.t, err)
	return p
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, steps...))
}

func (p *phone) open(url string) {
	p.t.Helper()
	p.do(chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("main")))
}

// sees waits for words on the page, and wants a page that nothing failed on and
// that is not wider than the screen.
func (p *phone) sees(words ...string) {
	p.t.Helper()
	for _, w := range words {
		p.wait(`document.querySelector('main')?.innerText.replace(/\s+/g, ' ').toLowerCase().includes(` +
			strconv.Quote(w) + `.toLowerCase())`)
	}
	require.Empty(p.t, p.ask(`[...complaints]`))
	require.Equal(p.t, []string{"360"}, p.ask(`[String(document.documentElement.scrollWidth)]`), "as wide as the screen")
}

// wait waits until a condition holds; the limit only ends a test that hangs.
func (p *phone) wait(condition string) {
	p.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if holds, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](condition)); err == nil && holds {
			return
		}
	}
	require.Fail(p.t, "waited in vain for "+condition, "%v", p.ask(`[location.href, document.body.innerText]`))
}

func (p *phone) ask(expression string) []string {
	p.t.Helper()
	words, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](expression))
	require.NoError(p.t, err)
	return words
}

// finger finds what can be tapped by its words, brings it into view, and tells
// its middle if a finger would hit it there.
const finger = `(() => {
	const word = %s;
	const all = [...document.querySelectorAll('a, button, label, summary')].filter(e => e.checkVisibility());
	const target = all.find(e => e.innerText.replace(/\s+/g, ' ').trim().startsWith(word));
	if (!target || document.readyState !== 'complete') return [];
	target.scrollIntoView({block: 'center', behavior: 'instant'});
	const r = target.getBoundingClientRect();
	const [x, y] = [r.x + r.width / 2, r.y + r.height / 2];
	const hit = document.elementFromPoint(x, y);
	return hit && target.contains(hit) ? [String(x), String(y)] : [];
})()`

// tap taps what begins with some words.
func (p *phone) tap(word string) {
	p.t.Helper()
	at := p.still(fmt.Sprintf(finger, strconv.Quote(word)))
	x, err := strconv.ParseFloat(at[0], 64)
	require.NoError(p.t, err)
	y, err := strconv.ParseFloat(at[1], 64)
	require.NoError(p.t, err)
	for _, event := range []input.DispatchTouchEventParams{
		{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
		{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}},
	} {
		_, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, event)
		require.NoError(p.t, err)
	}
}

// still waits until what a finger goes for has stayed where it is for four looks: a
// page that is still being drawn moves under the finger.
func (p *phone) still(find string) (at []string) {
	p.t.Helper()
	same := 0
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		now, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](find))
		if err != nil || len(now) != 2 || !slices.Equal(now, at) {
			at, same = now, 0
			continue
		}
		if same++; same == 3 {
			return at
		}
	}
	require.Fail(p.t, "no finger could hit it: "+find, "%v", p.ask(`[location.href, document.body.innerText]`))
	return nil
}

// types fills a field in.
func (p *phone) types(id, text string) {
	p.t.Helper()
	p.do(chromedp.SendKeys(chromedp.CSS("#"+id), text))
}

// signIn taps a name and types the PIN.
func (p *phone) signIn(name string) {
	p.t.Helper()
	p.sees("Tap your name")
	p.tap(name)
	p.types("pin", pin)
	p.tap("Sign in")
}

// takes takes a photograph: a file stands for the camera.
func (p *phone) takes(file string) {
	p.t.Helper()
	path, err := filepath.Abs(file)
	require.NoError(p.t, err)
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{path}))
	p.sees("Photograph ready")
}
