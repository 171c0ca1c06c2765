package server_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// walkD is the night in which the power went, told at times that move with the
// date.
type walkD struct {
	*office
	costa, osei, ruiz    *program
	paper                string
	one, two, four, five string
	a                    string
	phone                *pocket
}

// newWalkD has five sealers good at a morning's time, and Osei and Ruiz signed in.
func newWalkD(t *testing.T, morning, evening string) *walkD {
	w := &walkD{office: newOffice(t, morning)}
	w.costa = w.begin("V. Costa")
	w.paper = w.costa.addPouch("Paper/film", "paper-film")
	room := object{"place": "Packing room"}
	w.one, w.two, w.four = w.costa.addSealer("1", "bar-dial", room), w.costa.addSealer("2", "bar-dial", room), w.costa.addSealer("4", "bar-dial", room)
	w.five, w.a = w.costa.addSealer("5", "bar-display", room), w.costa.addSealer("A", "continuous", room)
	for code, value := range map[string]string{w.one: "7 1/2", w.two: "7 1/2", w.four: "6"} {
		w.costa.approve(code, w.paper, value, "mark")
	}
	w.costa.approve(w.five, w.paper, "176", "degC")
	w.costa.approve(w.a, w.paper, "180", "degC")
	for _, code := range []string{w.one, w.two, w.four, w.five, w.a} {
		w.costa.check(code, w.paper, "pass", object{"shown": map[string]string{w.five: "176", w.a: "180"}[code]}).done()
	}
	w.osei, w.ruiz = w.costa.hire("T. Osei", nil, "technician"), w.costa.hire("J. Ruiz", nil, "technician")
	w.at(evening)
	w.osei.signIn()
	w.ruiz.signIn()
	return w
}

func tellWalkD(t *testing.T) *walkD {
	w := newWalkD(t, "2026-03-03 06:05", "2026-03-03 23:00")
	w.at("2026-03-04 02:55")
	w.osei.packs(w.one, w.paper, 14, "2026-03-03T23:20", "2026-03-04T02:50")
	w.at("2026-03-04 02:58")
	w.phone = w.osei.pocket("/S/" + w.one) // and the pages of the others, kept with it
	approval := func(code string) string {
		w.osei.page(code, w.paper)
		return w.osei.text("pouch.setting.approval")
	}
	one, five := approval(w.one), approval(w.five)

	w.phone.keep("2026-03-04 03:14", "/S/"+w.one+"/disturbances", "what", "power-off", "all", "true",
		"happened", "2026-03-04T03:00", "happened_to", "2026-03-04T03:12")
	w.phone.keep("2026-03-04 03:36", "/S/"+w.one+"/checks", "outcome", "pass", "pouch", w.paper, "approval", one)
	w.phone.keep("2026-03-04 03:48", "/S/"+w.five+"/checks", "outcome", "not-ready", "pouch", w.paper, "approval", five,
		"reason", "setting", "shown", "150")
	w.phone.keep("2026-03-04 03:55", "/S/"+w.five+"/checks", "outcome", "pass", "pouch", w.paper, "approval", five,
		"shown", "176", "cause", "setting-lost")
	rows := append([]object{}, w.phone.rows...)

	w.at("2026-03-04 04:05") // Wi-Fi again
	w.phone.send()
	require.Empty(t, w.phone.rows, "everything was taken: %s", w.phone.reply.raw)
	size := w.Desk.Size()
	w.phone.rows = rows // the phone had not heard it, and sends everything once more
	w.phone.send()
	require.Empty(t, w.phone.rows)
	require.Equal(t, true, w.phone.reply.at("repeat"))
	require.Equal(t, size, w.Desk.Size(), "one record each although the phone sent twice")
	return w
}

func TestWalkDEverySealerHasItsRecordOfThePowerCut(t *testing.T) {
	w := tellWalkD(t)
	for _, code := range []string{w.one, w.two, w.four, w.five, w.a} {
		w.costa.signIn()
		w.costa.get("/sealers/" + code + "/history")
		n := 0
		for _, l := range w.costa.list("lines") {
			if l["kind"] == "disturbance" {
				n++
			}
		}
		require.Equal(t, 1, n)
	}
	w.osei.requireReady(w.one, w.paper)
	w.osei.requireReady(w.five, w.paper)
	w.osei.requireStands(w.a, "check-due", "check")
	w.osei.sees("/S/"+w.five+"/history", "the setting was lost at power-off")
	w.osei.sees("/queue", "Sealer 5 lost its setting", "nothing is urgent")
	w.costa.sees("/hand-over", "the setting was lost at power-off")
}

func TestWalkDTheEarlyCheckCarriesSealer1OverTheNewDay(t *testing.T) {
	w := tellWalkD(t)
	w.at("2026-03-04 04:50")
	w.osei.packs(w.one, w.paper, 9, "2026-03-04T03:40", "2026-03-04T04:50")
	w.at("2026-03-04 05:00")
	w.osei.requireReady(w.one, w.paper)
	w.osei.requireStands(w.a, "check-due", "check")
	require.Equal(t, "power-off", w.osei.text("standing.why"))
	w.costa.signIn()
	w.costa.get("/problems")
	require.Empty(t, w.costa.list("problems"), "no list for Osei's packs, and nobody woken")
	w.at("2026-03-05 04:59")
	w.osei.signIn()
	w.osei.requireReady(w.one, w.paper)
	w.at("2026-03-05 05:00")
	w.osei.requireStands(w.one, "check-due", "check")
}

func TestWalkDPacksSealedBeforeAnybodyLookedAreHeldWithoutBlame(t *testing.T) {
	w := tellWalkD(t)
	w.at("2026-03-04 04:20")
	w.ruiz.page(w.five, w.paper)
	w.ruiz.post("/sealers/"+w.five+"/packs", object{"pouch": w.paper, "count": 3, "set": "150",
		"happened": "2026-03-04T03:20", "happened_to": "2026-03-04T03:35"}).done()
	problem := w.ruiz.text("problem")
	w.ruiz.get("/problems/" + problem)
	require.Equal(t, 3, w.ruiz.whole("hold_list.Total"))
	w.ruiz.post("/problems/"+problem+"/packs", object{"all": true, "where": "cart", "end": "repackaged"}).done()
	w.ruiz.requireReady(w.five, w.paper)
}

func TestWalkDOnPaperEnteredByTheLeadIsLateAndCountsForBothDays(t *testing.T) {
	w := newWalkD(t, "2026-03-03 06:05", "2026-03-03 23:00")
	w.at("2026-03-04 08:20") // no Wi-Fi until 08:00, and the server was down
	w.costa.signIn()
	w.costa.sees("/S/"+w.one+"/downtime", "Enter each line later", "it is marked late")
	w.costa.page(w.one, w.paper)
	w.costa.post("/sealers/"+w.one+"/disturbances", object{"what": "power-off", "all": true,
		"happened": "2026-03-04T03:00", "happened_to": "2026-03-04T03:12"}).done()
	w.costa.get("/people/colleagues")
	osei := ""
	for _, c := range w.costa.list("people") {
		if c["text"] == "T. Osei" {
			osei = c["id"].(string)
		}
	}
	w.costa.sees("/S/" + w.one + "/late")
	w.costa.form("/S/"+w.one+"/late", hiddenOf(w.costa, "happened", "2026-03-04T03:36", "outcome", "pass", "pouch", w.paper,
		"on_behalf_of", osei)...)
	require.Equal(t, http.StatusSeeOther, w.costa.reply.status, "%s", w.costa.readable())
	w.costa.requireReady(w.one, w.paper)
	w.costa.get("/sealers/" + w.one + "/history")
	check := w.costa.list("lines")[0]
	require.Equal(t, []any{"check", true, "V. Costa", "T. Osei"}, []any{check["kind"], check["late"], check["who"], check["for"]})
	require.Equal(t, newYork(t, "2026-03-04 03:36").UTC().Format("2006-01-02T15:04:05.000Z"), check["from"])
}

// US rule since 2007 (Energy Policy Act of 2005, section 110): clocks go forward
// at 02:00 on the second Sunday of March, back at 02:00 on the first of November.
func TestWalkDInTheNightsWhenClocksChangeDurationsAreRight(t *testing.T) {
	for name, night := range map[string]struct{ morning, evening, page, off, on, sent, settled, checked, dayStart string }{
		"forward": {"2026-03-07 06:05", "2026-03-07 23:00", "2026-03-08T01:50:00-05:00", "2026-03-08T01:55:00-05:00", "2026-03-08T03:05:00-04:00",
			"2026-03-08T03:06:00-04:00", "2026-03-08T03:20:00-04:00", "2026-03-08T03:36:00-04:00", "2026-03-08T05:00:00-04:00"},
		"back": {"2026-10-31 06:05", "2026-10-31 23:00", "2026-11-01T01:20:00-04:00", "2026-11-01T01:50:00-04:00", "2026-11-01T01:05:00-05:00",
			"2026-11-01T01:06:00-05:00", "2026-11-01T01:20:00-05:00", "2026-11-01T03:36:00-05:00", "2026-11-01T05:00:00-05:00"},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWalkD(t, night.morning, night.evening)
			moved := func(at string) time.Time {
				instant, err := time.Parse(time.RFC3339, at)
				require.NoError(t, err)
				w.mutex.Lock()
				defer w.mutex.Unlock()
				w.now = instant
				return instant
			}
			moved(night.page)
			w.osei.signIn()
			phone := w.osei.pocket("/S/" + w.one)
			phone.keep(night.on, "/S/"+w.one+"/disturbances", "what", "power-off", "room", "true", "happened", night.off, "happened_to", night.on)
			moved(night.sent)
			phone.send()
			require.Empty(t, phone.rows, "%s", phone.reply.raw)
			w.osei.requireStands(w.one, "not-ready", "check")
			settled, err := time.Parse(time.RFC3339, night.settled)
			require.NoError(t, err)
			require.Equal(t, settled.UTC(), instant(w.osei, "standing.until"), "15 minutes of elapsed time after the power came back")
			phone.look("/S/" + w.one)
			w.osei.page(w.one, w.paper)
			check := phone.keep(night.checked, "/S/"+w.one+"/checks", "outcome", "pass", "pouch", w.paper, "approval", w.osei.text("pouch.setting.approval"))
			at := moved(night.checked).Add(20 * time.Minute)
			moved(at.Format(time.RFC3339))
			phone.send()
			require.Empty(t, phone.rows, "%s", phone.reply.raw)
			w.osei.requireReady(w.one, w.paper)
			w.osei.get("/sealers/" + w.one + "/history")
			require.Equal(t, check["made"], w.osei.list("lines")[0]["from"], "when it was made")
			moved(night.dayStart)
			w.osei.requireReady(w.one, w.paper)
			w.osei.requireStands(w.a, "check-due", "check")
		})
	}
}
