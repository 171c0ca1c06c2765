package server_test

import (
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// passKept makes a good check without contact and waits until the page says that
// it is kept.
func (p *handset) passKept() {
	p.t.Helper()
	p.tap(`button[value="pass"]`)
	p.shown("[data-kept]", "it says that it is kept")
}

// shown waits until an element can be seen.
func (p *handset) shown(css, why string) {
	p.t.Helper()
	p.wait(`document.querySelector('`+css+`')?.checkVisibility() === true`, why)
}

// openKept opens a page as it was kept.
func (p *handset) openKept(path string) {
	p.t.Helper()
	p.do(chromedp.Navigate(p.w.url + path))
	p.wait(`document.querySelector('[data-asof]') !== null`, path+" as it was kept")
	p.started()
}

// openAlone opens a page while there is no contact, and waits until it says so.
func (p *handset) openAlone(path string) {
	p.t.Helper()
	p.openKept(path)
	p.shown("[data-alone]", "it says that there is no contact")
}

func TestBrowserACheckWithContactIsRecordedAtOnce(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.tap(`button[value="pass"]`)
	p.wait(`location.search.includes('said=pass')`, "the page that follows")
	p.started()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	require.Zero(t, p.kept())
	p.fine()
}

func TestBrowserACheckWithoutContactIsKeptAndSentOnce(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[1]) // this phone never opened it
	require.Contains(t, p.text(`document.querySelector('.setting-number').innerText`), "7½")
	require.NotContains(t, p.text(`document.body.innerText`), "approved by", "no name in what is kept")
	p.picture("offline-due")
	p.passKept()
	p.picture("offline-kept")
	require.Equal(t, 1, p.kept())
	require.Equal(t, record.CheckDue, w.stands(w.codes[1]))
	p.do(chromedp.Navigate(w.url + "/kept"))
	p.wait(`document.querySelector('[data-words]')?.innerText.includes('Pass')`, "it is listed in words")
	p.picture("kept")
	w.mend()
	p.open("/S/" + w.codes[1])
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[1]))
	require.Len(t, w.lines(w.codes[1], "check"), 1)
	p.fine()
}

// What is kept never says more than it knew: Ready only for a while, and not
// against what this very phone keeps; out of service stays.
func TestBrowserAKeptPageNeverShowsBetterThanItKnew(t *testing.T) {
	w := newWard(t)
	w.pass(w.codes[0])
	_, err := w.Desk.ReportBadSeal(w.ctx, w.lead, desk.BadSealIn{From: w.from(), Code: w.codes[1], Kind: record.Channel})
	require.NoError(t, err)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.wait(band+` === 'Ready'`, "ready, as of a moment ago")
	p.picture("offline-ready")
	p.openAlone("/S/" + w.codes[1])
	require.Contains(t, p.text(band), "Out of service")
	p.picture("offline-out")
	require.NotContains(t, p.text(`document.body.innerText`), "V. Castellune, ", "no name")

	p.openAlone("/S/" + w.codes[0] + "/more")
	p.tap(`input[value="power-off"]`)
	p.tap(`form[action$="/disturbances"] .act`)
	p.shown("[data-kept]", "the power cut is kept")
	p.openAlone("/S/" + w.codes[0])
	p.wait(band+`.startsWith('Was ready at')`, "not ready for this phone any more")

	later := p.tab() // three hours on, by the phone's clock
	later.before(clockOff(3 * time.Hour))
	later.openAlone("/S/" + w.codes[0])
	later.wait(band+`.startsWith('Was ready at')`, "cannot confirm")
	later.picture("offline-cannot-confirm")
	p.fine()
}

func clockOff(by time.Duration) string {
	return `(() => {
		const off = ` + strconv.FormatInt(by.Milliseconds(), 10) + `, Real = Date;
		window.Date = class extends Real {
			constructor(...given) { if (given.length) super(...given); else super(Real.now() + off); }
			static now() { return Real.now() + off; }
		};
	})();`
}

func TestBrowserALineThatHangsIsGivenUpAndTheEntryKept(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.hangs()
	p.openAlone("/S/" + w.codes[0]) // after a short wait
	p.passKept()
	w.heals()
	p.open("/S/" + w.codes[0])
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	require.Len(t, w.lines(w.codes[0], "check"), 1)
}

func TestBrowserAPhoneWhoseClockIsADayOffTellsTheRightTime(t *testing.T) {
	for name, off := range map[string]time.Duration{"slow": -26 * time.Hour, "fast": 26 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			w := newWard(t)
			p := w.newHandset()
			p.before(clockOff(off))
			p.open("/S/" + w.codes[0])
			p.ready()
			w.cut()
			p.openAlone("/S/" + w.codes[0])
			made := time.Now()
			p.passKept()
			time.Sleep(1200 * time.Millisecond)
			w.mend()
			p.open("/S/" + w.codes[0])
			p.drained()
			require.Equal(t, record.Ready, w.stands(w.codes[0]))
			check := w.lines(w.codes[0], "check")[0]
			require.WithinDuration(t, made, check.From.Time(), time.Second, "when it was made, by the server's clock")
		})
	}
}

func TestBrowserWhereNothingCanBeKeptAFormGoesThePlainWay(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.before(`Object.defineProperty(window, 'indexedDB', { get() { throw new DOMException('private', 'SecurityError'); } });`)
	p.open("/S/" + w.codes[0])
	p.shown("[data-refused]", "a clear warning")
	p.tap(`button[value="pass"]`)
	p.wait(`location.search.includes('said=pass')`, "the page that follows")
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
}

func TestBrowserAFullPhoneKeepsTheReportWithoutItsPhotograph(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	// Before the first page: the browser remembers for a while how much room it found.
	_, err := chromedp.Call(p.ctx, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: w.url, QuotaSize: new(2_000_000.0)})
	require.NoError(t, err)
	p.open("/S/" + w.codes[0] + "/bad-seal")
	p.do(chromedp.Evaluate[chromedp.Void](`(async () => {
		const noise = new Uint8Array(6000000);
		for (let i = 0; i < noise.length; i += 65536) crypto.getRandomValues(noise.subarray(i, i + 65536));
		const files = new DataTransfer();
		files.items.add(new File([noise], 'photo.jpg', { type: 'image/jpeg' }));
		document.querySelector('#photo').files = files.files;
	})()`, chromedp.EvalAwaitPromise))
	w.cut()
	p.tap(`input[value="crease"]`)
	p.tap(`form[action$="/bad-seal"] .act-stop`)
	p.shown("[data-kept]", "the report is kept")
	require.Equal(t, 1, p.kept(), "without the photograph")
	require.Contains(t, p.text(`document.querySelector('[data-kept]').innerText`), "no room for the photograph")
	w.mend()
	p.open("/kept")
	p.drained()
	require.Len(t, w.lines(w.codes[0], "bad-seal"), 1)
}

func TestBrowserAnEntryIsItsMakersWhoeverSendsIt(t *testing.T) {
	w := newWard(t)
	_, session := w.hire("L. Pellamy")
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.passKept()
	p.cookie("tide-session", session)
	w.mend()
	p.open("/S/" + w.codes[1])
	p.drained()
	check := w.lines(w.codes[0], "check")
	require.Len(t, check, 1)
	require.Equal(t, "V. Castellune", check[0].Who)
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
}

func TestBrowserANameTypedWithoutContactWaitsForALead(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.do(chromedp.SetValue(chromedp.CSS("#says"), "T. Osei"))
	p.passKept()
	w.mend()
	p.open("/S/" + w.codes[0])
	p.drained()
	require.Equal(t, record.CheckDue, w.stands(w.codes[0]), "a good word of somebody unknown gives nothing")
	v, err := w.Desk.Waiting(w.lead)
	require.NoError(t, err)
	require.Len(t, v.Entries, 1)
	require.Equal(t, "T. Osei", v.Entries[0].Who)
	p.open("/waiting")
	p.picture("waiting")
	require.Contains(t, p.text(`document.querySelector('main').innerText`), "Sealer 1: good check")
	p.tap(`form[action$="/take"] .act`)
	p.wait(`location.search.includes('said=taken')`, "the lead takes it")
	require.Len(t, w.lines(w.codes[0], "check"), 1)
}

func TestBrowserWhatADeviceKeptThatIsShutOutWaitsForALead(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.openAlone("/S/" + w.codes[0])
	p.passKept()
	people, err := w.Desk.People(w.lead)
	require.NoError(t, err)
	_, err = w.Desk.RevokeDevice(w.ctx, w.lead, desk.RevokeIn{From: w.from(), Device: people.Devices[0].ID, Why: "lost"})
	require.NoError(t, err)
	w.mend()
	p.do(chromedp.Navigate(w.url + "/S/" + w.codes[0]))
	p.wait(`location.pathname === '/device'`, "the device is not let in any more")
	p.started()
	p.drained()
	v, err := w.Desk.Waiting(w.lead)
	require.NoError(t, err)
	require.Len(t, v.Entries, 1)
	require.Equal(t, desk.WaitsDevice, v.Entries[0].Why)
	p.wait(`(() => { caches.has('tide-cards').then(has => { window.has = has; }); return window.has === false; })()`, "its pages are gone")
}

func TestBrowserSigningOutTakesThePagesOffThePhoneAndLeavesTheQueue(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	p.text(keepScript + `(1, '` + w.codes[0] + `')`)
	w.breaks(func(out http.ResponseWriter, r *http.Request, _ http.Handler) bool {
		if strings.HasPrefix(r.URL.Path, "/api/v1/queue") {
			hangUp(out)
			return true
		}
		return false
	})
	p.open("/sign-out")
	p.tap(`form[action="/sign-out"] .act-main`)
	p.wait(`location.pathname === '/sign-in'`, "signed out")
	require.Equal(t, 1, p.kept())
	p.wait(`(() => { caches.has('tide-cards').then(has => { window.has = has; }); return window.has === false; })()`, "its pages are gone")
	w.heals()
	p.open("/sign-in")
	p.drained()
	require.Len(t, w.lines(w.codes[0], "bad-seal"), 1)
}

func TestBrowserMaintenanceDoneWithoutContactIsKeptWithItsPhotograph(t *testing.T) {
	w := newWard(t)
	_, err := w.Desk.StartMaintenance(w.ctx, w.lead, desk.CommonIn{From: w.from(), SealerType: record.BarDial, Plan: record.None})
	require.NoError(t, err)
	p := w.newHandset()
	p.open("/S/" + w.codes[0] + "/tasks/jaw")
	p.ready()
	photo, err := filepath.Abs("../testdata/photos/channel.jpg")
	require.NoError(t, err)
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{photo}))
	p.wait(`document.body.innerText.includes('Photograph ready')`, "the photograph is chosen")
	w.cut()
	p.tap(`form[action$="/done"] .act-main`)
	p.shown("[data-kept]", "it says that it is kept")
	p.picture("offline-task")
	require.Equal(t, 2, p.kept(), "the task and its photograph")
	p.do(chromedp.Navigate(w.url + "/kept"))
	p.wait(`document.querySelector('[data-words]')?.innerText.includes('Done · Clean the jaw')`, "it is listed in words")
	w.mend()
	p.open("/S/" + w.codes[0] + "/due")
	p.drained()
	done := w.lines(w.codes[0], "task-done")
	require.Len(t, done, 1)
	require.Len(t, done[0].Photos, 1)
	p.fine()
}
