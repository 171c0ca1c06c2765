package server_test

import (
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

// waits has the pages of sealers wait for the line until it is let go; it counts them.
func (w *ward) waits() (pages *atomic.Int64, letGo func()) {
	pages, gate := &atomic.Int64{}, make(chan struct{})
	w.breaks(func(_ http.ResponseWriter, r *http.Request, _ http.Handler) bool {
		if strings.HasPrefix(r.URL.Path, "/S/") && r.Method == http.MethodGet {
			pages.Add(1)
			select {
			case <-gate:
			case <-w.ended:
			}
		}
		return false
	})
	return pages, sync.OnceFunc(func() { close(gate) })
}

// patient is a page that goes on asking, however slow this machine is.
const patient = `{ const real = setTimeout; window.setTimeout = (act, ms, ...more) => (ms === 4000 ? 0 : real(act, ms, ...more)); }`

const band = `[...document.querySelectorAll('.band-word')].filter(e => e.checkVisibility()).map(e => e.innerText).join()`

// On a slow line a page that was opened before is there at once, as it was, and the
// one of now takes its place.
func TestBrowserASlowLineShowsWhatWasKeptAtOnceAndThenWhatIs(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.pass(w.codes[0])
	pages, letGo := w.waits()
	p.before(patient)
	p.openKept("/S/" + w.codes[0])
	require.Equal(t, "Check due", p.text(band), "as it was known")
	require.Contains(t, p.text(`document.querySelector('.old-note').innerText`), "Asking anew.")
	p.picture("asking")
	letGo()
	p.wait(`document.querySelector('[data-asof]') === null`, "the page of now in its place")
	p.started()
	require.Equal(t, "Ready", p.text(band))
	require.EqualValues(t, 1, pages.Load(), "the line was asked once for it")
	p.fine()
}

// Nothing takes the place of a page that somebody types on; what they then send
// goes, and the page of now follows it.
func TestBrowserAKeptPageThatIsInUseStays(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	_, letGo := w.waits()
	p.openKept("/S/" + w.codes[0] + "/bad-seal")
	p.tap(`input[value="channel"]`)
	p.tap(`form[action$="/bad-seal"] .act-stop`)
	p.shown(`.act-stop[aria-busy]`, "the tap waits")
	letGo()
	p.shown("[data-contact]", "it says that there is contact, and leaves the choice")
	p.picture("in-use")
	require.Equal(t, 1, p.number(`document.querySelectorAll('input[value="channel"]:checked').length`))
	require.Equal(t, 0, p.number(`document.querySelectorAll('[aria-busy]').length`), "the tap is given back")
	require.Zero(t, p.kept(), "and sent nothing")
	w.heals()
	p.tap(`form[action$="/bad-seal"] .act-stop`)
	p.wait(`location.search.includes('said=bad-seal')`, "the page of the problem")
	require.Equal(t, record.OutOfService, w.stands(w.codes[0]))
	require.Len(t, w.lines(w.codes[0], "bad-seal"), 1)
}

// While it is not known whether there is contact, a tap waits: the answer may come, or
// somebody else may be signed in here.
func TestBrowserATapOnAKeptPageWaitsForTheLine(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	p.before(patient)
	_, letGo := w.waits()
	p.openKept("/S/" + w.codes[0])
	p.tap(`button[value="pass"]`)
	p.shown(`button[value="pass"][aria-busy]`, "the tap waits")
	require.Zero(t, p.kept())
	letGo()
	p.wait(`document.querySelector('[data-asof]') === null`, "the page of now in its place")
	require.Equal(t, record.CheckDue, w.stands(w.codes[0]), "nothing was sent from the old one")

	_, letGo = w.waits()
	p.openKept("/S/" + w.codes[0])
	p.tap(`button[value="pass"]`)
	w.cut()
	letGo()
	p.shown("[data-kept]", "there is no contact: the tap counts")
	require.Equal(t, 1, p.kept())
}

// What this phone has told since it fetched what it keeps speaks against it.
func TestBrowserAKeptReadyIsNotShownAfterThisPhoneToldOtherwise(t *testing.T) {
	w := newWard(t)
	w.pass(w.codes[0])
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.breaks(func(out http.ResponseWriter, r *http.Request, _ http.Handler) bool {
		if r.URL.Path == "/cards" { // what is kept grows old
			hangUp(out)
			return true
		}
		return false
	})
	p.open("/S/" + w.codes[0] + "/bad-seal")
	p.tap(`input[value="channel"]`)
	p.tap(`form[action$="/bad-seal"] .act-stop`)
	p.wait(`location.search.includes('said=bad-seal')`, "it is told")
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.wait(band+`.startsWith('Was ready at')`, "not ready for this phone any more")
}

// Pages that were drawn before this phone told something are older than that, however
// late they come.
func TestBrowserKeptPagesAreAsOldAsTheirQuestion(t *testing.T) {
	w := newWard(t)
	w.pass(w.codes[0])
	p := w.newHandset()
	var drawn atomic.Bool
	gate := make(chan struct{})
	w.breaks(func(out http.ResponseWriter, r *http.Request, serve http.Handler) bool {
		if r.URL.Path != "/cards" || !drawn.CompareAndSwap(false, true) {
			return r.URL.Path == "/cards" && hungUp(out)
		}
		cards := httptest.NewRecorder()
		serve.ServeHTTP(cards, r)
		<-gate
		maps.Copy(out.Header(), cards.Header())
		_, _ = out.Write(cards.Body.Bytes())
		return true
	})
	p.open("/S/" + w.codes[0] + "/bad-seal")
	require.Eventually(t, drawn.Load, 30*time.Second, 10*time.Millisecond, "they are drawn, and on their way")
	p.tap(`input[value="channel"]`)
	p.tap(`form[action$="/bad-seal"] .act-stop`)
	p.wait(`location.search.includes('said=bad-seal')`, "it is told")
	close(gate)
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.wait(band+`.startsWith('Was ready at')`, "what was told came after what was drawn")
}

func hungUp(out http.ResponseWriter) bool {
	hangUp(out)
	return true
}

// A page that needs contact says so, and what opens without.
func TestBrowserAnyOtherPageWithoutContactLeadsToTheSealers(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.do(chromedp.Navigate(w.url + "/"))
	p.wait(`document.querySelector('[data-alone]')?.checkVisibility() === true`, "it says that there is no contact")
	p.started()
	p.picture("away")
	require.NotContains(t, p.text(`document.querySelector('main').innerText`), "Ready")
	p.tap(`a[href="/S/` + w.codes[1] + `"]`)
	p.wait(`document.querySelector('[data-asof]') !== null`, "a sealer as it was kept")
	p.do(chromedp.Navigate(w.url + "/"))
	p.wait(`document.querySelector('[data-alone]')?.checkVisibility() === true`, "no contact yet")
	w.mend()
	p.wait(`document.querySelector('main')?.innerText.includes('Which sealer')`, "the board, once there is contact")
	p.fine()
}
