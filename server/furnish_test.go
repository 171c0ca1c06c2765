package server_test

import (
	"bytes"
	"maps"
	"net/http"
	"net/url"
	"strings"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
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

// hire adds a person and leaves them signed in on a device of their own, with a
// PIN of their own.
func (p *program) hire(name string, facts object, roles ...string) *program {
	p.t.Helper()
	body := object{"name": name, "roles": roles}
	maps.Copy(body, facts)
	p.post("/people", body).done()
	person, first := p.text("subject"), p.text("pin")
	p.say("/devices", object{}).done()
	code := p.text("code")

	q := p.stranger()
	q.name = name
	q.say("/devices/let-in", object{"code": code, "name": "phone of " + name}).done()
	q.device = q.text("device")
	q.person = person
	q.say("/sign-in", object{"person": person, "pin": first}).done()
	q.session = q.text("token")
	require.Equal(p.t, true, q.reply.at("must_choose_pin"))
	q.say("/pin", object{"pin": pin}).done()
	q.get("/board")
	require.Equal(p.t, name, q.text("who"))
	return q
}

// changeover has a sealer set for another pouch.
func (p *program) changeover(code, pouch string) {
	p.t.Helper()
	p.page(code, pouch)
	p.post("/sealers/"+code+"/changeovers", object{"pouch": pouch}).done()
}

// packs logs packs that were sealed between two local times.
func (p *program) packs(code, pouch string, count int, from, to string) *program {
	p.t.Helper()
	p.page(code, pouch)
	return p.post("/sealers/"+code+"/packs", object{"pouch": pouch, "count": count, "happened": from, "happened_to": to}).done()
}

// sees wants words on a page, as a person reads them.
func (p *program) sees(path string, words ...string) {
	p.t.Helper()
	p.browse("GET", path, "", nil)
	require.Equal(p.t, http.StatusOK, p.reply.status, "%s", p.reply.raw)
	page := p.readable()
	for _, w := range words {
		require.Contains(p.t, page, w, path)
	}
}

// readable is the text of the page's main part, its spaces made single.
func (p *program) readable() string {
	p.t.Helper()
	page, err := html.Parse(bytes.NewReader(p.reply.raw))
	require.NoError(p.t, err)
	var b strings.Builder
	for n := range page.Descendants() {
		if n.Type == html.ElementNode && n.Data == "main" {
			for c := range n.Descendants() {
				if c.Type == html.TextNode {
					b.WriteString(c.Data + " ")
				}
			}
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// signIn begins a new shift on the device.
func (p *program) signIn() {
	p.t.Helper()
	p.session = ""
	p.get("/people/colleagues")
	for _, c := range p.list("people") {
		if c["text"] == p.name {
			p.say("/sign-in", object{"person": c["id"], "pin": pin}).done()
			p.session = p.text("token")
			return
		}
	}
	p.t.Fatalf("%s is not among those who can sign in here: %s", p.name, p.reply.raw)
}
