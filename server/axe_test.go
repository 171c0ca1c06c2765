package server_test

import (
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// axeCore is the npm package axe-core, 4.14.1, as .ci/run installs it.
const axeCore = "../.ci/node_modules/axe-core/axe.min.js"

// runAxe asks at the strictest tags. What it cannot decide counts as found.
const runAxe = `axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag2aaa', 'wcag21a', 'wcag21aa', 'wcag22aa',
	'best-practice'] }).then(r => [...r.violations, ...r.incomplete].flatMap(
	rule => rule.nodes.map(n => rule.id + ' ' + n.html.slice(0, 120) + ' ' +
		[...n.any, ...n.all, ...n.none].map(c => c.message).join('; '))).join('\n'))`

// settled waits for a board to be live, and for half a second in which nothing on the
// page changes: what is drawn anew under its hands axe-core cannot judge.
const settled = `new Promise(done => {
	let calm;
	const end = () => {
		if (document.querySelector('[data-line="down"]') && navigator.onLine && tries-- > 0) return wait();
		watch.disconnect();
		done('');
	};
	let tries = 10;
	const wait = () => { clearTimeout(calm); calm = setTimeout(end, 500); };
	const watch = new MutationObserver(wait);
	watch.observe(document, { subtree: true, childList: true, attributes: true });
	wait();
})`

// reader reads pages of a phone as axe-core does.
type reader struct {
	*handset
	axe string
}

func (r *reader) reads(state string) {
	r.t.Helper()
	r.t.Run(state, func(t *testing.T) {
		r.text(settled)
		r.do(chromedp.Evaluate[chromedp.Void](r.axe))
		require.Empty(t, r.text(runAxe), r.text("location.pathname"))
	})
}

func (r *reader) readsAt(path, state string) {
	r.t.Helper()
	r.open(path)
	if path == "/" { // it is fetched anew once its line is open
		r.wait(`performance.getEntriesByType('resource').some(e => e.name.includes('seen='))`, "the board is live")
	}
	r.reads(state)
}

func newReader(w *ward) *reader {
	w.t.Helper()
	axe, err := os.ReadFile(axeCore)
	if err != nil && os.Getenv("CI") == "" {
		w.t.Skip("SKIPPED: no axe-core here (npm install --prefix .ci axe-core@4.14.1), pages are not read for accessibility")
	}
	require.NoError(w.t, err)
	return &reader{w.newHandset(), string(axe)}
}

// The main pages in every state of a sealer, with contact and without.
func TestBrowserAxeFindsNothingOnTheMainPagesInEveryState(t *testing.T) {
	w := newWard(t)
	r := newReader(w)
	one, two := "/S/"+w.codes[0], "/S/"+w.codes[1]
	r.open(one)
	r.do(chromedp.Evaluate[chromedp.Void](r.axe + `; document.querySelector('main').append(new Image());`))
	require.Contains(t, r.text(runAxe), "image-alt", "it finds what is wrong")
	r.readsAt(one, "check due")
	for _, form := range []string{"/fail", "/not-valid", "/bad-seal", "/more", "/late"} {
		r.readsAt(one+form, "form "+form)
	}
	w.pass(w.codes[0])
	r.readsAt(one, "ready")
	_, err := w.Desk.Disturb(w.ctx, w.lead, desk.DisturbIn{From: w.from(), Code: w.codes[0], What: record.PowerOff})
	require.NoError(t, err)
	r.readsAt(one, "not ready yet")
	bad, err := w.Desk.ReportBadSeal(w.ctx, w.lead, desk.BadSealIn{From: w.from(), Code: w.codes[1], Kind: record.Channel, Place: record.Left})
	require.NoError(t, err)
	r.readsAt(two, "out of service")
	problem := "/problems/" + bad.Problem.String()
	for _, path := range []string{problem, problem + "/hold", "/", "/problems", "/queue", "/hand-over", "/records", "/kept", "/repair", "/waiting"} {
		r.readsAt(path, "page "+path)
	}
	r.readsAt(one, "with its pages kept")
	r.ready()
	w.cut()
	r.openAlone(one)
	r.reads("offline, not ready yet")
	r.openAlone(two)
	r.reads("offline, out of service")
	for _, form := range []string{"/fail", "/not-valid", "/bad-seal", "/more"} {
		r.openAlone(one + form)
		r.reads("offline, form " + form)
	}
	r.openAlone(one)
	r.passKept()
	r.reads("offline, kept")
	r.do(chromedp.Navigate(w.url + "/kept"))
	r.wait(`document.querySelector('[data-words]') !== null`, "the list")
	r.reads("offline, what is kept")
	later := &reader{r.tab(), r.axe}
	later.before(clockOff(3 * time.Hour))
	later.openAlone(one)
	later.reads("offline, three hours on")
}

// The states that the pages above do not come to.
func TestBrowserAxeFindsNothingWithEngineeringRetiredOrReadyWithoutContact(t *testing.T) {
	w := newWard(t)
	r := newReader(w)
	ready, due, away, gone := "/S/"+w.codes[0], "/S/"+w.codes[1], w.addSealer("3"), w.addSealer("4")
	w.pass(w.codes[0])
	bad, err := w.Desk.ReportBadSeal(w.ctx, w.lead, desk.BadSealIn{From: w.from(), Code: away, Kind: record.Channel, Place: record.Left})
	require.NoError(t, err)
	_, err = w.Desk.Work(w.ctx, w.lead, desk.WorkIn{ProblemIn: desk.ProblemIn{From: w.from(), Problem: bad.Problem}, Name: "H. Brannock",
		Stage: record.AtWork})
	require.NoError(t, err)
	_, err = w.Desk.RetireSealer(w.ctx, w.lead, desk.RetireIn{From: w.from(), Code: gone, Why: "worn out"})
	require.NoError(t, err)
	require.Equal(t, []record.State{record.WithEngineering, record.Retired}, []record.State{w.stands(away), w.stands(gone)})
	r.readsAt("/S/"+away, "with clinical engineering")
	r.readsAt("/S/"+gone, "retired")
	r.readsAt(due+"/due", "what is due")
	r.open(ready)
	r.ready()
	w.cut()
	for state, path := range map[string]string{"ready": ready, "check due": due, "with clinical engineering": "/S/" + away} {
		r.openAlone(path)
		r.reads("offline, " + state)
	}
	r.do(chromedp.Navigate(w.url + "/"))
	r.shown("[data-alone]", "any other page")
	r.reads("offline, any other page")
	w.mend()
	r.before(patient)
	_, letGo := w.waits()
	r.openKept(ready)
	r.shown("[data-asking]", "the line is slow")
	r.reads("on a slow line")
	r.openKept("/S/" + w.codes[0] + "/bad-seal")
	r.tap(`input[value="channel"]`)
	letGo()
	r.shown("[data-contact]", "the page is in use")
	r.reads("on a slow line, in use")
}
