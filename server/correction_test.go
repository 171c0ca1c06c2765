package server_test

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// entry is the newest record of a kind on a sealer's history.
func (p *program) entry(code, kind string) string {
	p.t.Helper()
	p.get("/sealers/" + code + "/history")
	for _, line := range p.list("lines") {
		if line["kind"] == kind {
			return strconv.Itoa(int(line["seq"].(float64)))
		}
	}
	p.t.Fatalf("no %s in %s", kind, p.reply.raw)
	return ""
}

func TestAStopByMistakeIsTakenBackByTwoAndBothStayInSight(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	good := object{"places": []string{"left", "middle", "right"}, "tests": []string{"look", "dye"}}
	lead.check(code, pouch, "pass", good).done()
	o.at("2026-03-03 06:40")
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch}).done()
	problem := lead.text("problem")
	entry := lead.entry(code, "bad-seal")
	lead.get("/entries/" + entry)
	version := lead.whole("version")
	lead.post("/entries/"+entry+"/void", object{"version": version}).refused(http.StatusUnprocessableEntity, "invalid")
	lead.post("/entries/"+entry+"/void", object{"version": version, "why": "meant sealer 3"}).done()
	require.Equal(t, "second-name", lead.text("nothing"))
	lead.requireStands(code, "out-of-service", "")
	lead.post("/entries/"+entry+"/confirm", object{"version": version}).refused(http.StatusForbidden, "forbidden")

	tech := lead.hire("T. Osei", nil, "technician")
	tech.get("/entries/" + entry)
	require.Equal(t, "V. Costa", tech.text("asked"))
	tech.post("/entries/"+entry+"/correct", object{"version": version, "why": "x", "kind": "weak"}).refused(http.StatusForbidden, "forbidden")
	tech.browse(http.MethodGet, "/entries/"+entry, "", strings.NewReader(""))
	require.Contains(t, string(tech.reply.raw), "I agree: take it back")
	tech.post("/entries/"+entry+"/confirm", object{"version": version}).done()
	tech.requireStands(code, "check-due", "return-checks")

	// Beside the original wherever it is listed.
	for _, page := range []string{"/S/" + code + "/history", "/problems/" + problem, "/entries/" + entry} {
		lead.browse(http.MethodGet, page, "", strings.NewReader(""))
		require.Equal(t, http.StatusOK, lead.reply.status)
		require.Contains(t, string(lead.reply.raw), "Taken back: it does not count", page)
		require.Contains(t, string(lead.reply.raw), "Bad seal: channel", page)
		require.Contains(t, string(lead.reply.raw), "V. Costa and T. Osei", page)
	}
	// Its packs are still for a person to settle.
	lead.get("/problems/" + problem)
	require.Equal(t, "settled", lead.list("endings")[1]["what"])
	require.Nil(t, lead.list("endings")[1]["at"])
}

func TestACorrectedLotStandsBesideTheOldOneByForm(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	lead.check(code, pouch, "pass", object{"places": []string{"left", "middle", "right"}, "tests": []string{"look", "dye"}, "kit": "K-71"}).done()
	entry := lead.entry(code, "check")
	lead.form("/entries/"+entry+"/correct", "id", newID(), "seen", strconv.Itoa(lead.seen), "version", entry, "kit", "K-17", "why", "digits swapped")
	require.Equal(t, http.StatusSeeOther, lead.reply.status, "%s", lead.reply.raw)
	require.Equal(t, "/entries/"+entry+"?said=corrected", lead.reply.header.Get("Location"))
	lead.browse(http.MethodGet, "/S/"+code+"/history", "", strings.NewReader(""))
	for _, text := range []string{"kit K-71", "Corrected: Good check", "kit K-17", "digits swapped"} {
		require.Contains(t, string(lead.reply.raw), text)
	}
	lead.requireReady(code, pouch)
	// An older page is told.
	lead.form("/entries/"+entry+"/correct", "id", newID(), "seen", strconv.Itoa(lead.seen), "version", entry, "kit", "K-18", "why", "again")
	require.Equal(t, http.StatusConflict, lead.reply.status)
	require.Contains(t, string(lead.reply.raw), "Somebody corrected this entry meanwhile")
	// Taking the check back takes Ready.
	lead.get("/entries/" + entry)
	lead.post("/entries/"+entry+"/void", object{"version": lead.whole("version"), "why": "other sealer"}).done()
	lead.requireStands(code, "check-due", "check")
}
