package server_test

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// walkC is the day of K. Boyle's find, from outside: sealer 2 is checked with a
// 10 cm pouch in the middle, every day good, from 4 to 26 February.
type walkC struct {
	*program                             // the lead, V. Costa
	staff              map[string]string // ids by name
	code, spare, paper string
	problem            string
	checks             map[string]int // numbers of the records of good checks, by day
}

// february is the beginning of the walk, up to the find. Log counts the packs of
// a day, as the department does it.
func february(t *testing.T, log func(w *walkC, day int)) *walkC {
	w := &walkC{program: newOffice(t, "2026-02-04 06:00").begin("V. Costa"), staff: map[string]string{}, checks: map[string]int{}}
	for name, role := range map[string]string{"R. Abara": "technician", "H. Tvedt": "engineering"} {
		w.staff[name] = w.post("/people", object{"name": name, "roles": []string{role}, "mail": "cal@lanternfield.example"}).done().text("subject")
	}
	w.post("/department", object{"name": "Packing room", "zone": "America/New_York", "day_start": "05:00", "pack_log": true}).done()
	w.post("/plans/bar-dial", object{"places": []string{"middle"}, "tests": []string{"look", "dye"}, "return_good": 2,
		"cool_minutes": 0, "warm_minutes": 0, "policy": "SP-7, page 3"}).done()
	w.paper = w.addPouch("Paper/film 20 cm", "paper-film")
	w.code = w.addSealer("2", "bar-dial", object{"asset": "20417", "width_cm": 45})
	w.spare = w.addSealer("1", "bar-dial", object{"width_cm": 45})
	w.approve(w.code, w.paper, "7 1/2", "mark")
	w.approve(w.spare, w.paper, "7 1/2", "mark")
	at := map[int]string{4: "06:11", 5: "06:10", 26: "06:11"}
	for day := 4; day <= 26; day++ {
		clock := at[day]
		if clock == "" {
			clock = "06:08"
		}
		date := fmt.Sprintf("2026-02-%02d", day)
		w.on(date + " " + clock)
		w.checks[date] = w.check(w.code, w.paper, "pass", nil).done().whole("seq")
		log(w, day)
	}
	w.on("2026-02-26 07:50")
	w.check(w.spare, w.paper, "pass", nil).done()
	return w
}

func TestPacksAreCountedInTwoTapsWhereTheDepartmentKeepsALog(t *testing.T) {
	b := newBench(t)
	b.browse(http.MethodGet, "/S/"+b.code, "", nil)
	require.NotContains(t, string(b.reply.raw), "Packs sealed", "off until a department wants it")
	b.get("/board")
	b.post("/department", object{"name": "Packing room", "zone": "America/New_York", "day_start": "05:00", "pack_log": true}).done()
	b.browse(http.MethodGet, "/S/"+b.code, "", nil)
	b.requirePage(http.StatusOK, "<summary>Packs sealed</summary>", `<button class="third" name="count" value="10">10</button>`)
	b.form("/S/"+b.code+"/packs", "id", newID(), "seen", strconv.Itoa(b.size()), "pouch", b.pouch, "load", "", "count", "10")
	require.Equal(t, "/S/"+b.code+"?said=packs", b.reply.header.Get("Location"), "%s", b.reply.raw)
}

// twoTaps counts the packs of a day in the pack log: just now.
func twoTaps(w *walkC, day int) {
	for _, l := range loadsOf(day) {
		w.on(fmt.Sprintf("2026-02-%02d %s", day, l.at))
		w.post("/sealers/"+w.code+"/packs", object{"pouch": w.paper, "count": l.count, "load": l.name}).done()
	}
}

type load struct {
	name, at string
	count    int
}

// loadsOf are the loads with packs of sealer 2: 47 packs on 5 February, 39 the
// day before, 12 on the 26th.
func loadsOf(day int) []load {
	switch day {
	case 4:
		return []load{{"S2-0204-01", "09:00", 39}}
	case 5:
		return []load{{"S2-0205-02", "08:30", 14}, {"S2-0205-03", "13:00", 20}, {"S2-0205-04", "22:40", 13}}
	case 26:
		return []load{{"S2-0226-01", "07:40", 12}}
	}
	return []load{{fmt.Sprintf("S2-02%02d-01", day), "09:00", 10}}
}

// on moves the clock; the lead signs in again, as at the beginning of a shift.
func (w *walkC) on(local string) {
	w.at(local)
	w.session = ""
	w.get("/people/colleagues")
	for _, p := range w.list("people") {
		if p["text"] == "V. Costa" {
			w.session = w.say("/sign-in", object{"person": p["id"], "pin": pin}).done().text("token")
		}
	}
	w.get("/board")
}

// step takes a step of the problem.
func (w *walkC) step(path string, body object) *program {
	w.t.Helper()
	w.get("/problems/" + w.problem)
	return w.post("/problems/"+w.problem+path, body)
}

// hold looks at the hold list.
func (w *walkC) hold() *program {
	w.t.Helper()
	return w.get("/problems/" + w.problem + "/hold")
}

// between wants one of the windows to have these ends.
func (w *walkC) between(which, from, to string) {
	w.t.Helper()
	utc := func(local string) string { return newYork(w.t, local).UTC().Format("2006-01-02T15:04:05.000Z") }
	require.Equal(w.t, utc(from), w.text("hold_list."+which+".From"))
	require.Equal(w.t, utc(to), w.text("hold_list."+which+".To"))
}

// report is the find, taken by the department at 07:50.
func (w *walkC) report(more object) {
	body := object{"kind": "channel", "place": "left", "pouch": w.paper, "load": "S2-0205-03", "found": "operating-room",
		"sealed_at": "2026-02-05", "note": "3 mm, open; found by K. Boyle; not used; packed by R.A."}
	for k, v := range more {
		body[k] = v
	}
	w.problem = w.post("/sealers/"+w.code+"/bad-seals", body).done().text("problem")
}

// words wants a page to say something.
func (w *walkC) words(path string, words ...string) {
	w.t.Helper()
	w.browse(http.MethodGet, path, "", nil)
	require.Equal(w.t, http.StatusOK, w.reply.status)
	for _, word := range words {
		require.Contains(w.t, string(w.reply.raw), word)
	}
}

func TestWalkCFoundInTheOperatingRoomThreeWeeksLater(t *testing.T) {
	w := february(t, twoTaps)
	w.report(nil)
	w.theWindows()
	w.findTheFirst47()
	w.theLeadAnswers()
	w.checkAllPlaces()
	w.oneCheckBack()
	w.repairedAndReturned()
	w.thirdEnding()
}

// theWindows: proposed 5 Feb 06:10 to 6 Feb 06:08, possible to today.
func (w *walkC) theWindows() {
	w.hold()
	w.between("Proposed", "2026-02-05 06:10", "2026-02-06 06:08") // not "since 06:11 today"
	require.Equal(w.t, w.checks["2026-02-05"], w.whole("hold_list.Proposed.FromCheck"))
	require.Equal(w.t, w.checks["2026-02-06"], w.whole("hold_list.Proposed.ToCheck"))
	require.Equal(w.t, 47, w.whole("hold_list.Total"))
	require.Equal(w.t, 47, w.whole("hold_list.left"))
	require.Len(w.t, w.list("hold_list.rows"), 3, "three loads")
	require.Equal(w.t, "S2-0205-03", w.text("hold_list.rows.1.load"), "the bad pack is one of the 47")
	require.Equal(w.t, true, w.reply.at("hold_list.Open"), "the checks could not see the ends")
	require.Equal(w.t, newYork(w.t, "2026-02-26 07:50").UTC().Format("2006-01-02T15:04:05.000Z"), w.text("hold_list.Possible.To"))
	require.Equal(w.t, []any{"middle"}, w.reply.at("hold_list.Blind"))
	w.words("/problems/"+w.problem+"/hold", "Hold at least 47 packs", "5 Feb 06:10", "6 Feb 06:08",
		"Look also for sealer 2, 5 February to 6 February", "More packs may have it")
	w.words("/problems/"+w.problem+"/answer", "Checks in between tested middle only: a later pass there does not prove left")
	w.step("/settled", object{}).refused(http.StatusConflict, "stale")
	w.requireStands(w.code, "check-due", "all-places")
}

// findTheFirst47: 1 in hand, 17 on the shelf, 27 used, 2 not found.
func (w *walkC) findTheFirst47() {
	w.at("2026-02-26 08:10")
	w.step("/packs", object{"count": 1, "where": "issued", "end": "discarded"}).done()
	w.step("/located", object{"count": 17, "where": "store"}).done()
	w.step("/told", object{"whom": "store"}).done()
	w.step("/packs", object{"count": 27, "where": "issued", "end": "used"}).done()
	w.hold()
	require.Equal(w.t, 19, w.whole("hold_list.left"), "17 on the shelf and 2 that nobody found")
	require.Equal(w.t, []any{"cart", "chamber", "store", "issued"}, []any{w.text("hold_list.places.0.where"),
		w.text("hold_list.places.1.where"), w.text("hold_list.places.2.where"), w.text("hold_list.places.3.where")})
	require.Equal(w.t, 17, w.whole("hold_list.places.2.here"))
	require.Equal(w.t, "store", w.text("hold_list.places.2.told.0.whom"))
	require.Equal(w.t, 28, w.whole("hold_list.places.3.settled"))
	w.words("/problems/"+w.problem+"/hold", "A recall for 28 packs:", "tell infection prevention", "17 packs kept aside here",
		"Store told 26 Feb 08:10, by V. Costa")
}

// theLeadAnswers for the difference, by name and with a reason.
func (w *walkC) theLeadAnswers() {
	w.step("/answer", object{"accept": false, "reason": ""}).refused(http.StatusUnprocessableEntity, "invalid")
	w.step("/answer", object{"accept": false, "reason": "all loads since were looked at by hand"}).done()
	w.hold()
	require.Equal(w.t, false, w.reply.at("hold_list.Open"))
	require.Equal(w.t, "V. Costa", w.text("hold_list.answered"))
	require.Equal(w.t, "all loads since were looked at by hand", w.text("hold_list.answer_why"))
	w.step("/settled", object{}).refused(http.StatusConflict, "stale")
	require.Contains(w.t, string(w.reply.raw), "19 packs of the list have no end yet")
}

// checkAllPlaces: the left fails at 08:20; today's 12 packs join the hold.
func (w *walkC) checkAllPlaces() {
	w.at("2026-02-26 08:20")
	w.check(w.code, w.paper, "fail", object{"kind": "channel", "place": "left", "places": []string{"left", "middle", "right"}}).done()
	require.Equal(w.t, w.problem, w.text("problem"), "it is the same problem")
	w.requireStands(w.code, "out-of-service", "")
	w.step("/tag", object{}).done()
	w.hold()
	require.Equal(w.t, 47+12, w.whole("hold_list.Total"), "the 12 packs since 06:11 join")
	w.between("Also.0", "2026-02-26 06:11", "2026-02-26 08:20")
	require.Equal(w.t, []any{map[string]any{"code": w.spare, "text": "1"}}, w.reply.at("instead"), "the sealer to use instead")
}

// oneCheckBack: at 11:00 one of the 17 has a channel at the same end.
func (w *walkC) oneCheckBack() {
	w.at("2026-02-26 11:00")
	w.hold()
	earlier := newYork(w.t, "2026-02-04 06:11").UTC().Format("2006-01-02T15:04:05.000Z")
	require.Equal(w.t, earlier, w.text("earlier"))
	w.step("/window", object{"from": earlier, "to": w.text("hold_list.Counts.To"), "reason": ""}).refused(http.StatusUnprocessableEntity, "invalid")
	w.step("/window", object{"from": earlier, "to": newYork(w.t, "2026-02-06 06:08").UTC().Format("2006-01-02T15:04:05.000Z"),
		"reason": "one of the 17 has a channel at the same end"}).done()
	w.hold()
	require.Equal(w.t, 39+47+12, w.whole("hold_list.Total"))
	require.Equal(w.t, "V. Costa", w.text("hold_list.set_by"))
	w.step("/located", object{"count": 17 + 5, "where": "store"}).done()
	w.step("/packs", object{"count": 34, "where": "issued", "end": "used"}).done()
	w.step("/told", object{"whom": "infection-prevention", "reference": "IR-2231"}).done()
	w.hold()
	used := 0
	for _, e := range w.list("hold_list.ends") {
		if e["end"] == "used" {
			used += int(e["count"].(float64))
		}
	}
	require.Equal(w.t, 61, used)
	require.Equal(w.t, 22, w.whole("hold_list.places.2.here"))
	w.words("/problems/"+w.problem+"/hold", "Infection prevention was told 26 Feb 11:00, by V. Costa, incident IR-2231")
}

// repairedAndReturned is 27 February, by H. Tvedt and the department.
func (w *walkC) repairedAndReturned() {
	w.on("2026-02-27 09:00")
	behalf := w.staff["H. Tvedt"]
	w.step("/seen", object{"on_behalf_of": behalf}).done()
	w.step("/work", object{"stage": "at-work", "on_behalf_of": behalf}).done()
	w.requireStands(w.code, "with-engineering", "")
	w.post("/plans/bar-dial", object{"places": []string{"left", "middle", "right"}, "tests": []string{"look", "dye"}, "return_good": 2,
		"cool_minutes": 0, "warm_minutes": 0, "policy": "SP-7, page 3", "reason": "the middle says nothing about the ends"}).done()
	w.at("2026-02-27 14:00")
	w.step("/hand-back", object{"finding": "cover", "action": "replaced", "safety": "ok", "order": "47960", "parts": "cover, worn through at the left end",
		"on_behalf_of": behalf}).done()
	w.requireStands(w.code, "check-due", "return-checks")
	all := object{"places": []string{"left", "middle", "right"}}
	w.at("2026-02-27 14:10")
	w.check(w.code, w.paper, "pass", object{"places": []string{"middle"}}).refused(http.StatusUnprocessableEntity, "invalid")
	w.check(w.code, w.paper, "pass", all).done()
	w.at("2026-02-27 14:18")
	w.check(w.code, w.paper, "pass", all).done()
	w.at("2026-02-27 14:20")
	w.requireReady(w.code, w.paper)
	w.step("/close", object{}).refused(http.StatusConflict, "stale")
	w.get("/plans/bar-dial")
	require.Equal(w.t, "V. Costa", w.text("changes.0.who"))
	require.Equal(w.t, "the middle says nothing about the ends", w.text("changes.0.body.reason"))
	w.words("/set-up/plans/bar-dial", "V. Costa", "the middle says nothing about the ends")
}

// thirdEnding is 4 March: the hold went on while the sealer was ready.
func (w *walkC) thirdEnding() {
	w.on("2026-03-04 10:00")
	w.step("/packs", object{"count": 22, "where": "store", "end": "repackaged"}).done()
	w.step("/packs", object{"count": 12, "where": "cart", "end": "repackaged"}).done()
	w.step("/packs", object{"count": 2, "end": "not-found"}).refused(http.StatusUnprocessableEntity, "invalid")
	w.step("/packs", object{"count": 2, "end": "not-found", "reason": "no trace in store or theatre"}).done()
	w.step("/settled", object{"reason": "two not found, signed"}).done()
	w.step("/close", object{"reason": "cover worn; plan changed"}).done()
	w.get("/problems/" + w.problem)
	utc := func(local string) string { return newYork(w.t, local).UTC().Format("2006-01-02T15:04:05.000Z") }
	require.Equal(w.t, []string{utc("2026-02-27 14:18"), utc("2026-03-04 10:00"), utc("2026-03-04 10:00")},
		[]string{w.text("endings.0.at"), w.text("endings.1.at"), w.text("endings.2.at")}, "ready on 27 February, open to 4 March")
	require.Equal(w.t, "47960", w.text("problem.order"))
	require.Equal(w.t, "cover", w.text("problem.finding"))
	ends := w.list("hold_list.ends")
	require.Equal(w.t, "not-found", ends[len(ends)-1]["end"])
	require.Equal(w.t, "V. Costa", ends[len(ends)-1]["by"], "signed by the lead")
	total := 0
	for _, e := range ends {
		total += int(e["count"].(float64))
	}
	require.Equal(w.t, 39+47+12, total)
}

func TestWalkCTheMakersSealHoldsTheLotOnEverySealer(t *testing.T) {
	w := february(t, twoTaps)
	w.report(object{"whose": "maker", "lot": "L-7781"})
	w.requireReady(w.code, w.paper)
	for _, code := range []string{w.code, w.spare} {
		w.words("/S/"+code+"?pouch="+w.paper, "L-7781")
	}
	w.step("/told", object{"whom": "supplier", "reference": "C-118"}).done()
	w.get("/problems/" + w.problem + "/lot")
	require.Equal(t, true, w.reply.at("held"))
	require.Len(t, w.list("sealers"), 2, "every sealer that seals this pouch")
	require.Equal(t, 1, w.whole("found"))
	w.words("/problems/"+w.problem+"/lot", "On hold on every sealer.", "Complaint to the supplier", "L-7781", "Paper/film 20 cm",
		"channel", "Supplier", "C-118", "look for the lot on every pack")
	w.step("/close", object{}).refused(http.StatusConflict, "stale")
	w.get("/board")
	w.post("/pouches/"+w.paper+"/releases", object{"lot": "L-7781", "why": ""}).refused(http.StatusUnprocessableEntity, "invalid")
	w.post("/pouches/"+w.paper+"/releases", object{"lot": "L-7781", "why": "the maker looked at it: one pouch"}).done()
	w.get("/problems/" + w.problem + "/lot")
	require.Equal(t, false, w.reply.at("held"))
}

// fromTheirSystem is the department's own list instead of a pack log: a row for
// each pack, the sealer by the name that their system has for it.
func fromTheirSystem() string {
	var b strings.Builder
	b.WriteString("Pack number;Device;Date;Time;Packaging;Cycle\r\n")
	pack := 0
	for day := 4; day <= 26; day++ {
		for _, l := range loadsOf(day) {
			for i := range l.count {
				pack++
				fmt.Fprintf(&b, "%06d;HS-02;%02d/02/2026;%s:%02d;paper/FILM 20 cm;%s\r\n", pack, day, l.at, i%60, l.name)
			}
		}
	}
	b.WriteString("999999;HS-02;31/02/2026;08:00:00;Paper/film 20 cm;S2-0231-01\r\n")
	return b.String()
}

// sendList stores a list and returns what the command about it says.
func (w *walkC) sendList(text string) object {
	w.send(http.MethodPost, "/pack-lists/files", "text/csv", []byte(text))
	require.Equal(w.t, http.StatusCreated, w.reply.status, "%s", w.reply.raw)
	return object{"file": w.text("file"), "separator": ";", "sealer_column": "Device", "date_column": "Date", "clock_column": "Time",
		"pouch_column": "Packaging", "load_column": "Cycle", "pack_column": "Pack number", "order": "dmy", "which": "sealing",
		"cells": []string{"HS-02"}, "numbers": []string{"2"}}
}

func (w *walkC) importList(in object) *program {
	again := maps.Clone(in)
	w.get("/pack-lists")
	return w.post("/pack-lists", again)
}

func TestWalkCFromTheListOfTheirOwnSystem(t *testing.T) {
	w := february(t, func(*walkC, int) {})
	w.report(nil)
	w.hold()
	require.Zero(t, w.whole("hold_list.Total"), "nothing is logged")

	list := fromTheirSystem()
	in := w.sendList(list)
	w.importList(in).refused(http.StatusUnprocessableEntity, "invalid")
	require.Contains(t, string(w.reply.raw), "1 rows cannot be read")
	preview := maps.Clone(in)
	preview["id"], preview["seen"] = newID(), w.seen
	w.say("/pack-lists/preview", preview).done()
	require.Equal(t, 1, w.whole("bad"))
	require.Contains(t, w.text("bad_rows.0.why"), "31/02/2026 08:00:00")
	require.Equal(t, strings.Count(list, "\n"), w.whole("bad_rows.0.line"))
	in["good_only"] = true
	w.importList(in).done()
	size := w.Desk.Size()
	require.Zero(t, w.importList(in).done().whole("count"), "the same file changes nothing")
	require.Equal(t, size, w.Desk.Size())

	// RULES.md R17: what is imported bounds no hold. The date on the pack is a whole
	// day, so its window begins a check earlier until the lead narrows it.
	w.hold()
	w.between("Proposed", "2026-02-04 06:11", "2026-02-06 06:08")
	require.Equal(t, 39+47, w.whole("hold_list.Total"))
	w.step("/window", object{"from": "2026-02-05T06:10", "to": "2026-02-06T06:08", "reason": "the list has load 03 at 13:00"}).done()
	w.hold()
	require.Equal(t, 47, w.whole("hold_list.Total"))
	rows := w.list("hold_list.rows")
	require.Len(t, rows, 47)
	require.Equal(t, []any{"Paper/film 20 cm", "000040", "S2-0205-02", true}, []any{rows[0]["pouch"], rows[0]["pack"], rows[0]["load"], rows[0]["listed"]})
	w.words("/problems/"+w.problem+"/hold", "Hold at least 47 packs", "S2-0205-03", "000040")

	// one by one, a load at a time, and the rest
	w.step("/packs", object{"rows": []any{rows[14]["id"]}, "count": 0, "where": "issued", "end": "discarded"}).done()
	w.step("/packs", object{"loads": []string{"S2-0205-03"}, "count": 0, "where": "issued", "end": "used"}).done()
	require.Equal(t, 19, w.whole("count"), "one of the twenty had its end")
	w.hold()
	require.Equal(t, 27, w.whole("hold_list.left"))
	w.step("/packs", object{"loads": []string{"S2-0205-03"}, "count": 0, "where": "store", "end": "repackaged"}).refused(http.StatusConflict, "stale")
	w.step("/packs", object{"all": true, "count": 0, "where": "store", "end": "repackaged"}).done()
	w.step("/settled", object{}).done()

	// A second list with a pack more, and one of the others again: the packs are open again.
	in = w.sendList("Pack number;Device;Date;Time;Packaging;Cycle\n000040;HS-02;05/02/2026;08:30:00;paper/FILM 20 cm;S2-0205-02\n" +
		"700000;HS-02;05/02/2026;08:31:00;paper/FILM 20 cm;S2-0205-02\n")
	w.importList(in).done()
	require.Equal(t, 2, w.whole("count"))
	w.hold()
	require.Equal(t, 48, w.whole("hold_list.Total"), "a pack that is in two lists is one")
	require.Equal(t, 1, w.whole("hold_list.left"))
	require.Nil(t, w.reply.at("endings.1.at"), "not settled any more")

	// and our own list reads back
	w.browse(http.MethodGet, "/problems/"+w.problem+"/hold.csv", "", nil)
	require.Equal(t, 49, bytes.Count(w.reply.raw, []byte("\r\n")))
	in = w.sendList(string(w.reply.raw))
	maps.Copy(in, object{"separator": ",", "sealer_column": "Sealer", "date_column": "Sealed from", "pouch_column": "Pouch",
		"load_column": "Load", "pack_column": "Pack", "count_column": "Packs", "order": "ymd"})
	delete(in, "clock_column")
	w.importList(in).done()
	w.hold()
	require.Equal(t, 48, w.whole("hold_list.Total"))
}
