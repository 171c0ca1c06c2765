package server_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheFormForALoanersSettingProposesUntilWhen(t *testing.T) {
	o := newOffice(t, "2026-01-13 07:05")
	costa := o.begin("V. Costa")
	film := costa.addPouch("Paper/film", "paper-film")
	two := costa.addSealer("2", "bar-dial", nil)
	loaner := costa.addSealer("L1", "bar-dial", nil)
	until := func(code string) string {
		costa.browse(http.MethodGet, "/S/"+code+"/approve?pouch="+film, "", nil)
		require.Equal(t, http.StatusOK, costa.reply.status)
		return string(costa.reply.raw)
	}
	require.NotContains(t, until(loaner), `value="2026-01-27"`, "it stands in for none")
	costa.get("/sealers/" + loaner)
	costa.post("/sealers/"+loaner+"/stand-in", object{"for": "2"}).done()
	require.Contains(t, until(loaner), `value="2026-01-27"`, "14 days, where nobody said when the other is back")
	costa.get("/sealers/" + two)
	costa.post("/sealers/"+two+"/away", object{"to": "the vendor", "back": "2026-02-02"}).done()
	require.Contains(t, until(loaner), `value="2026-02-02"`)
}

func TestTheChecklistLeadsNobodyToAPageThatIsRefused(t *testing.T) {
	o := newOffice(t, "2026-01-13 07:05")
	costa := o.begin("V. Costa")
	costa.addPouch("Paper/film", "paper-film")
	costa.addSealer("2", "bar-dial", nil)
	marsh := costa.hire("L. Marsh", nil, "technician")
	const link = `href="/set-up/plans/bar-dial"`
	require.Contains(t, costa.pageText("/set-up"), link)
	page := marsh.pageText("/set-up")
	require.Contains(t, page, "Check plan")
	for _, refused := range []string{link, `href="/pouches`, `href="/people`, `/approve"`, `href="/set-up/route"`} {
		require.NotContains(t, page, refused)
	}
}
