package server_test

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// Walk F: a first morning with six sealers, manuals that say "paper/plastic: 6",
// no thermometer, no pack log.
func TestWalkFSixSealersAreReadyIn45MinutesWithoutADegree(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	costa := o.begin("V. Costa")
	costa.sees("/set-up", "First pouch", "First sealer")
	paper := costa.addPouch("Paper/plastic", "paper-film")
	o.at("2026-05-04 06:10")
	var codes []string
	for i, kind := range []string{"impulse", "impulse", "bar-dial", "impulse", "bar-dial", "bar-dial"} {
		code := costa.addSealer(fmt.Sprint(i+1), kind, nil)
		costa.requireStands(code, "check-due", "check")
		costa.sees("/S/"+code, "No approved setting", "Approve a setting")
		requireAsks(costa, "/S/"+code+"/approve", "value", "hold", "ifu", "ifu_page")
		costa.post("/sealers/"+code+"/approvals", object{"pouch": paper, "value": "6", "unit": "mark", "basis": "ifu",
			"ifu": "Manual of the sealer", "ifu_page": fmt.Sprint(9 + i)}).done()
		codes = append(codes, code)
	}
	o.at("2026-05-04 06:25")
	printed(costa, "/labels/sheet.pdf?sheet=a4-3x8", "%PDF")
	for _, code := range codes {
		costa.sees("/S/"+code+"/card", "Paper/plastic", "6")
	}
	for i, code := range codes {
		o.at(fmt.Sprintf("2026-05-04 06:%d", 38+i))
		costa.sees("/S/"+code, "Set the", "6", "approved by V. Costa", "Pass")
		requireAsks(costa, "/S/"+code) // a check that passes asks nothing
		costa.form("/S/"+code+"/checks", hiddenOf(costa, "outcome", "pass")...)
		require.Equal(t, http.StatusSeeOther, costa.reply.status, "%s", costa.reply.raw)
		costa.requireReady(code, paper)
	}
	require.LessOrEqual(t, o.clock().Sub(newYork(t, "2026-05-04 06:00")), 45*time.Minute)
	costa.get("/board")
	require.Len(t, costa.list("pouches.0.ready"), 6)

	// Day 2: the check of sealer 3 fails, and no pack was logged.
	o.at("2026-05-05 05:00")
	costa.signIn()
	costa.sees("/", "Check due")
	o.at("2026-05-05 06:30")
	costa.check(codes[2], paper, "fail", object{"kind": "channel", "place": "middle"}).done()
	problem := costa.text("problem")
	costa.get("/problems/" + problem)
	require.Equal(t, newYork(t, "2026-05-04 06:40").UTC(), instant(costa, "hold_list.Proposed.From"), "since its good check")
	require.Equal(t, 0, costa.whole("hold_list.Total"))
	costa.sees("/problems/"+problem+"/hold", "none is logged", "from the last good check 4 May 06:40", "Look also for sealer 3, 4 May to 5 May",
		"Cart and bench", "Chamber and cooling", "Store")
	costa.sees("/S/"+codes[2], "Out of service", "Look for sealer 3 on the pack")
	for i, code := range codes {
		if i != 2 {
			costa.requireStands(code, "check-due", "check")
			require.Equal(t, "new-day", costa.text("standing.why"))
		}
	}
}

// requireAsks wants a page to have no field that has to be filled in beyond those
// named, and none at all for degrees of uncertainty, a lot or a temperature.
func requireAsks(p *program, path string, allowed ...string) {
	p.t.Helper()
	p.browse("GET", path, "", nil)
	require.Equal(p.t, http.StatusOK, p.reply.status)
	page, err := html.Parse(bytes.NewReader(p.reply.raw))
	require.NoError(p.t, err)
	for n := range page.Descendants() {
		if n.Type != html.ElementNode || n.Data != "input" && n.Data != "select" && n.Data != "textarea" {
			continue
		}
		name, required := "", false
		for _, a := range n.Attr {
			if a.Key == "name" {
				name = a.Val
			}
			required = required || a.Key == "required"
		}
		if required {
			require.Contains(p.t, allowed, name, path)
		}
		for _, word := range []string{"uncertain", "lot", "kit", "temperature", "known", "measured"} {
			require.NotContains(p.t, name, word, path)
		}
	}
}

// hiddenOf are the fields that the last page's first form sends by itself, and
// some more.
func hiddenOf(p *program, more ...string) (fields []string) {
	p.t.Helper()
	page, err := html.Parse(bytes.NewReader(p.reply.raw))
	require.NoError(p.t, err)
	for n := range page.Descendants() {
		if n.Type != html.ElementNode || n.Data != "input" {
			continue
		}
		a := map[string]string{}
		for _, at := range n.Attr {
			a[at.Key] = at.Val
		}
		if a["type"] == "hidden" {
			fields = append(fields, a["name"], a["value"])
		}
	}
	return append(fields, more...)
}

// printed wants a file of a kind, by its first bytes.
func printed(p *program, path, magic string) {
	p.t.Helper()
	p.browse("GET", path, "", nil)
	require.Equal(p.t, http.StatusOK, p.reply.status, "%s", p.reply.raw)
	require.True(p.t, strings.HasPrefix(string(p.reply.raw), magic), path)
}

// instant is the time at a path of the last answer.
func instant(p *program, path string) time.Time {
	p.t.Helper()
	at, err := time.Parse(time.RFC3339, p.text(path))
	require.NoError(p.t, err)
	return at.UTC()
}
