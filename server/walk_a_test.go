package server_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// walkA tells the walk's Tuesday, 13 January, on sealer 5: a stale page, and a
// dye test that nobody can read, up to 12:17. Both branches go on from there.
type walkA struct {
	*office
	post               *mailbox
	costa, marsh, ruiz *program
	five, four         string // codes of labels
	film, nonwoven     string // pouches
	tablet             string // where Ruiz's tablet asks whether its page of 09:05 is still true
	before             string // what it was told then
	unready            string // the problem of Ruiz's two packs
}

func tellWalkA(t *testing.T) *walkA {
	w := &walkA{post: newMailbox(t)}
	w.office = newOfficeBy(t, "2026-01-13 06:40", server.Config{PublicURL: officeURL, Mail: w.post.way})
	w.furnish()
	w.at("2026-01-13 07:05")
	w.marsh.check(w.five, w.film, "pass", object{"shown": "180"}).done()
	w.marsh.requireReady(w.five, w.film)
	w.at("2026-01-13 08:20")
	w.marsh.packs(w.five, w.film, 12, "2026-01-13T07:10", "2026-01-13T08:19")
	w.at("2026-01-13 09:05")
	w.tablet = "/S/" + w.five + "/fresh?pouch=" + w.film
	w.before = w.version()
	w.ruiz.page(w.five, w.film)
	w.at("2026-01-13 09:29")
	w.marsh.packs(w.five, w.film, 10, "2026-01-13T08:20", "2026-01-13T09:28")
	w.morning()
	w.at("2026-01-13 11:41")
	w.marsh.packs(w.five, w.nonwoven, 6, "2026-01-13T10:16", "2026-01-13T11:40")
	w.noon()
	return w
}

// furnish makes the department: sealer 5 serves both pouches, sealer 4 stands by.
func (w *walkA) furnish() {
	w.costa = w.begin("V. Costa")
	w.costa.hire("E. Tran", object{"mail": "e.tran@tide.example"}, "engineering")
	w.marsh = w.costa.hire("L. Marsh", nil, "technician")
	w.ruiz = w.costa.hire("M. Ruiz", nil, "technician")
	w.film = w.costa.addPouch("Paper/film", "paper-film")
	w.nonwoven = w.costa.addPouch("Nonwoven", "nonwoven")
	w.five = w.costa.addSealer("5", "bar-display", object{"width_cm": 45})
	w.four = w.costa.addSealer("4", "bar-dial", nil)
	w.costa.post("/plans/bar-display", object{"places": []string{"left", "middle", "right"}, "tests": []string{"look", "dye", "peel"},
		"return_good": 2, "ask_shown": true, "cool_minutes": 40, "warm_minutes": 25, "reason": "settles in 40 minutes, our trial"}).done()
	w.costa.approve(w.five, w.film, "180", "degC")
	w.costa.approve(w.five, w.nonwoven, "125", "degC")
	w.costa.approve(w.four, w.film, "6", "mark")
	w.costa.check(w.four, w.film, "pass", nil).done()
}

// version is what a page is told when it asks whether it is still true.
func (w *walkA) version() string {
	w.t.Helper()
	w.ruiz.ask(w.tablet)
	return w.ruiz.text("version")
}

// morning is the changeover to nonwoven and what happens in the meantime.
func (w *walkA) morning() {
	t := w.t
	w.at("2026-01-13 09:30")
	w.marsh.changeover(w.five, w.nonwoven)
	w.marsh.requireStands(w.five, "not-ready", "check")
	require.Equal(t, "changeover", w.marsh.text("standing.why"))
	w.marsh.sees("/S/"+w.five, "Not ready yet", "A check is possible from 10:10", "Nonwoven", "125")

	w.at("2026-01-13 09:31") // the tablet wakes; it also asks each minute
	require.NotEqual(t, w.before, w.version(), "the page of 09:05 learns that it is not true any more")
	w.ruiz.sees("/S/"+w.five+"?pouch="+w.film, "Not ready yet")

	w.at("2026-01-13 09:58")
	w.ruiz.packs(w.five, w.film, 2, "2026-01-13T09:50", "2026-01-13T09:50")
	w.unready = w.ruiz.text("problem")
	w.ruiz.get("/problems/" + w.unready)
	require.Equal(t, 2, w.ruiz.whole("hold_list.Total"))
	w.ruiz.sees("/problems/"+w.unready, "sealed during a changeover", "hold at least 2")
	w.ruiz.post("/problems/"+w.unready+"/packs", object{"all": true, "where": "cart", "end": "repackaged",
		"note": "they opened by finger"}).done()

	w.at("2026-01-13 10:08")
	records := w.Desk.Size()
	w.marsh.check(w.five, w.nonwoven, "pass", object{"shown": "127"}).refused(http.StatusServiceUnavailable, "busy")
	require.Equal(t, "Not ready yet, 2 min. A check is possible from 10:10; nothing was recorded.", w.marsh.text("detail"))
	require.Equal(t, records, w.Desk.Size(), "no fail recorded")
	w.at("2026-01-13 10:14")
	w.marsh.check(w.five, w.nonwoven, "pass", object{"shown": "125"}).done()
	w.marsh.requireReady(w.five, w.nonwoven)
	w.marsh.sees("/S/"+w.five, "Ready for Nonwoven")
}

// noon is the way back to paper/film and the dye that crept into the paper.
func (w *walkA) noon() {
	w.at("2026-01-13 11:50")
	w.marsh.changeover(w.five, w.film)
	w.marsh.sees("/S/"+w.five, "A check is possible from 12:15")
	w.at("2026-01-13 12:17")
	w.unclear("dye crept into the paper").photograph(w.marsh.text("id"), channel(w.t)).done()
	w.marsh.requireStands(w.five, "check-due", "two-fresh")
	w.marsh.sees("/S/"+w.five, "Seal a fresh test pouch flat: 1 of 2; both must be good.")
}

// unclear says that the dye test proves nothing.
func (w *walkA) unclear(note string) *program {
	return w.marsh.check(w.five, w.film, "not-valid", object{"shown": "180", "reason": "dye-crept", "note": note}).done()
}

// checks lists today's checks of sealer 5 for a pouch, oldest first, as its
// records show them.
func (w *walkA) checks(pouch string) (outcomes []string) {
	w.t.Helper()
	w.costa.get("/sealers/" + w.five + "/history")
	lines := w.costa.list("lines")
	for i := len(lines) - 1; i >= 0; i-- {
		if body := lines[i]["body"].(map[string]any); lines[i]["kind"] == "check" && body["pouch"] == pouch {
			outcomes = append(outcomes, body["outcome"].(string))
		}
	}
	return outcomes
}

// problems lists the numbers and causes of all problems that are open.
func (w *walkA) problems() (list []string) {
	w.t.Helper()
	w.costa.get("/problems")
	for _, row := range w.costa.list("open") {
		p := row["problem"].(map[string]any)
		list = append(list, fmt.Sprint(p["what"], " ", p["packs"]))
	}
	return list
}

func TestWalkATwoFreshPouchesMakeItReadyAndNobodyIsMailed(t *testing.T) {
	w := tellWalkA(t)
	w.at("2026-01-13 12:22")
	w.marsh.check(w.five, w.film, "pass", object{"shown": "180"}).done()
	w.marsh.requireStands(w.five, "check-due", "two-fresh")
	w.at("2026-01-13 12:27")
	w.marsh.check(w.five, w.film, "pass", object{"shown": "180"}).done()
	w.at("2026-01-13 12:28")
	w.marsh.requireReady(w.five, w.film)
	w.marsh.sees("/S/"+w.five, "Ready for Paper/film", "checked 12:27, L. Marsh")

	require.Equal(t, []string{"pass", "not-valid", "pass", "pass"}, w.checks(w.film), "three tests at noon, none replaced")
	w.marsh.sees("/S/"+w.five+"/history", "crept into the paper")
	require.Equal(t, []string{"sealed-not-ready 2"}, w.problems(), "the 22 and the 6 are on no list")
	w.ruiz.sees("/problems/"+w.unready, "sealed during a changeover", "Every pack of the list has an end. A lead signs for it.")
	w.costa.sees("/problems/"+w.unready+"/hold", "All 2 packs of the list have an end", "09:58", "cart and bench repackaged M. Ruiz")

	// The first mail of the day is the one that this bad seal causes.
	w.costa.page(w.four, w.film)
	w.costa.post("/sealers/"+w.four+"/bad-seals", object{"kind": "channel", "pouch": w.film}).done()
	mails := w.post.wait(1)
	require.Len(t, mails, 1, "nobody was mailed")
	require.Contains(t, mails[0], "Sealer 4: out of service")
}

func TestWalkAUglyASecondUnclearTestTakesItOutOfServiceAndHoldsThe22(t *testing.T) {
	w := tellWalkA(t)
	w.at("2026-01-13 12:22")
	problem := w.unclear("unclear again").text("problem")
	w.marsh.requireStands(w.five, "out-of-service", "")
	w.marsh.sees("/S/"+w.five, "Out of service", "test not valid twice", "Hold at least 22 packs", "Use sealer 4 instead")
	require.Contains(t, w.post.wait(1)[0], "Sealer 5: out of service")
	w.marsh.get("/problems/" + problem)
	require.Equal(t, 22, w.marsh.whole("hold_list.Total"))
	for _, page := range []string{"/S/" + w.five, "/problems/" + problem, "/problems/" + problem + "/hold"} {
		w.marsh.browse("GET", page, "", nil)
		require.Contains(t, strings.ToLower(w.marsh.readable()), "hold")
		if !strings.HasSuffix(page, "/hold") { // there it is one of the ends that a person can choose
			require.NotContains(t, strings.ToLower(w.marsh.readable()), "discard", page)
		}
	}

	// A new dye box shows a sharp line right across: a fail, kept on record though
	// the sealer is out of service.
	w.at("2026-01-13 12:45")
	w.marsh.check(w.five, w.film, "fail", object{"shown": "180", "kind": "channel", "place": "right", "at_cm": "31",
		"kit": "dye box 2", "keep": true}).done()
	require.Equal(t, problem, w.marsh.text("problem"))
	w.marsh.requireStands(w.five, "out-of-service", "")
	w.marsh.post("/problems/"+problem+"/tag", object{}).done()
	w.costa.sees("/problems/"+problem, "Place or heat?")
	w.marsh.get("/problems/" + problem)
	w.marsh.post("/problems/"+problem+"/judgement", object{"blame": "place"}).refused(http.StatusForbidden, "forbidden")
	for blame, packs := range map[string]int{"heat": 22, "unknown": 28, "place": 28} {
		w.costa.get("/problems/" + problem)
		w.costa.post("/problems/"+problem+"/judgement", object{"blame": blame}).done()
		w.costa.get("/problems/" + problem)
		require.Equal(t, packs, w.costa.whole("hold_list.Total"), blame)
	}
	w.costa.post("/problems/"+problem+"/judgement", object{"blame": "place"}).done()
	w.costa.sees("/problems/"+problem+"/hold", "Hold at least 28 packs", "Look also for sealer 5", "13 Jan")
	require.Equal(t, []string{"pass", "not-valid", "not-valid", "fail"}, w.checks(w.film))
	require.Equal(t, []string{"not-valid 28", "sealed-not-ready 2"}, w.problems())
}
