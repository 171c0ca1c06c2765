package server_test

import (
	"maps"
	"net/url"
	"strings"

	"github.com/stretchr/testify/require"
)

// addPouch adds a pouch and returns its id.
func (p *program) addPouch(name, material string) string {
	p.t.Helper()
	return p.post("/pouches", object{"name": name, "material": material}).done().text("subject")
}

// addSealer adds a sealer and returns the code of its label.
func (p *program) addSealer(number, kind string, facts object) string {
	p.t.Helper()
	body := object{"number": number, "type": kind}
	maps.Copy(body, facts)
	id := p.post("/sealers", body).done().text("subject")
	p.get("/board")
	for _, row := range p.list("sealers") {
		if row["number"] == number {
			return row["code"].(string)
		}
	}
	p.t.Fatalf("sealer %s, %s, is not on the board: %s", number, id, p.reply.raw)
	return ""
}

// approve approves a setting from the IFU and returns the approval.
func (p *program) approve(code, pouch, value, unit string) int {
	p.t.Helper()
	p.post("/sealers/"+code+"/approvals", object{"pouch": pouch, "value": value, "unit": unit, "basis": "ifu",
		"ifu": "IFU of the sealer", "ifu_page": "7"})
	return p.done().whole("seq")
}

// page looks at a sealer with a pouch in hand.
func (p *program) page(code, pouch string) *program {
	p.t.Helper()
	return p.get("/sealers/" + code + "?pouch=" + pouch)
}

// check looks at a sealer and says how a check of the approved setting came out.
func (p *program) check(code, pouch, outcome string, more object) *program {
	p.t.Helper()
	p.page(code, pouch)
	body := object{"pouch": pouch, "approval": p.whole("pouch.setting.approval"), "outcome": outcome}
	maps.Copy(body, more)
	return p.post("/sealers/"+code+"/checks", body)
}

// requireStands wants a sealer to stand somewhere: a state, and what it waits for.
func (p *program) requireStands(code, state, need string) {
	p.t.Helper()
	p.get("/sealers/" + code)
	require.Equal(p.t, state, p.text("standing.state"), "%s", p.reply.raw)
	got, _ := p.reply.at("standing.need").(string)
	require.Equal(p.t, need, got, "%s", p.reply.raw)
}

// requireReady wants a sealer to be ready for a pouch.
func (p *program) requireReady(code, pouch string) {
	p.t.Helper()
	p.requireStands(code, "ready", "")
	require.Equal(p.t, pouch, p.text("standing.pouch"))
}

// list is a list of objects in the last answer.
func (p *program) list(path string) (rows []map[string]any) {
	p.t.Helper()
	found, _ := p.reply.at(path).([]any)
	for _, row := range found {
		rows = append(rows, row.(map[string]any))
	}
	return rows
}

// form sends a form of a page, as a browser without script does.
func (p *program) form(path string, fields ...string) *program {
	p.t.Helper()
	values := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		values.Add(fields[i], fields[i+1])
	}
	p.browse("POST", path, "application/x-www-form-urlencoded", strings.NewReader(values.Encode()))
	return p
}
