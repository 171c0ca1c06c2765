package server_test

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/demo"
	"tidemark/server/record"
)

// hospital is the demo, asked by programs.
type hospital struct {
	*office
	demo.Hospital
	seqs []string // of what was added
	list string   // of packs, that was taken
}

func newHospital(t *testing.T) *hospital {
	t.Helper()
	h := &hospital{office: &office{t: t, dir: t.TempDir()}}
	var err error
	h.Server, h.Hospital, err = server.NewDemo(context.Background(), server.Config{Dir: h.dir, PublicURL: officeURL})
	require.NoError(t, err)
	h.serve(officeURL)
	return h
}

// as signs the first person in that has a role.
func (h *hospital) as(role record.Role) *program {
	h.t.Helper()
	i := slices.IndexFunc(h.People, func(p demo.Person) bool { return p.Role == role })
	p := h.stranger()
	p.name, p.device = h.People[i].Name, h.DeviceToken
	p.say("/sign-in", object{"person": h.People[i].ID.String(), "pin": h.People[i].PIN}).done()
	p.session = p.text("token")
	return p
}

func TestInterfaceOfTheDemo(t *testing.T) {
	h := newHospital(t)
	h.add(h.as(record.Lead))
	t.Run("every answer is as it is described", func(t *testing.T) { answersAsDescribed(t, h) })
	t.Run("every command refuses what makes no sense", func(t *testing.T) { refusesNonsense(t, h) })
}

// answersAsDescribed asks every question of the interface: the demo has
// everything that happens in 90 days.
func answersAsDescribed(t *testing.T, h *hospital) {
	lead := h.as(record.Lead)
	known := h.known(lead)
	for path := range h.said.doc["paths"].(map[string]any) {
		short, ok := strings.CutPrefix(path, "/api/v1")
		if _, asks := h.said.doc["paths"].(map[string]any)[path].(map[string]any)["get"]; !ok || !asks {
			continue
		}
		for _, address := range fill(short, known) {
			lead.send(http.MethodGet, address, "", nil)
			require.Less(t, lead.reply.status, 500, "%s: %s", address, lead.reply.raw)
		}
	}
	var left []string
	for _, at := range h.said.operations("get") {
		if !h.said.seen[at] {
			left = append(left, at)
		}
	}
	slices.Sort(left)
	require.Empty(t, left, "never answered well: nothing shows that they are as described")
}

// add has done what happens in no demo by itself.
func (h *hospital) add(lead *program) {
	h.t.Helper()
	dial, timer := h.Sealers[0].Code, h.Sealers[2].Code
	lead.get("/sealers/" + dial)
	point := func(position, place, value string) object {
		return object{"position": position, "place": place, "face": value}
	}
	lead.post("/sealers/"+dial+"/tables", object{"source": "measured", "scale": "degC", "instrument": "contact probe 3", "certificate": "C-118", "due": "2099-01-31", "known": "1", "stated": "expanded",
		"points": []object{point("6", "middle", "165"), point("7 1/2", "middle", "180"), point("9", "middle", "195")}}).done()
	lead.post("/sealers/"+dial+"/calibrations", object{"scale": "degC", "instrument": "contact probe 3", "certificate": "C-118", "due": "2099-01-31", "known": "1", "stated": "expanded",
		"found": []object{point("6", "middle", "166"), point("7 1/2", "middle", "181"), point("9", "middle", "195")}}).done()
	h.seqs = append(h.seqs, strconv.Itoa(lead.whole("seq")))
	lead.get("/sealers/" + timer)
	lead.post("/sealers/"+timer+"/ladders", object{"pouch": lead.text("pouches.0.id"), "unit": "mark", "steps": []object{
		{"setting": "4", "dye": "pass", "peel": "pass", "look": "even"}, {"setting": "5", "dye": "pass", "peel": "pass", "look": "even"},
		{"setting": "6", "dye": "pass", "peel": "pass", "look": "burnt"}}}).done()
	lead.send(http.MethodPost, "/pack-lists/files", "text/csv", []byte("Sealer,Sealed,Load\n1,2026-01-02 08:00,S1\n"))
	file := lead.text("file")
	lead.get("/pack-lists")
	lead.post("/pack-lists", object{"file": file, "separator": ",", "sealer_column": "Sealer", "date_column": "Sealed", "load_column": "Load",
		"order": "ymd", "which": "sealing", "encoding": "utf-8"}).done()
	h.list = strconv.Itoa(lead.whole("seq"))
	lead.post("/poster", object{}).done()
	lead.get("/poster")
	poster := lead.text("code")
	h.stranger().say("/posters/"+poster+"/reports", object{"id": newID(), "kind": "channel", "number": "2"}).done()
}

// mailedLink waits for a mail of the demo and returns the token of its link.
func (h *hospital) mailedLink(p *program) string {
	h.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		p.get("/letters")
		for _, l := range p.list("letters") {
			if found := linkInMail.FindStringSubmatch(l["text"].(string)); found != nil {
				return strings.TrimPrefix(found[1], "/seen/")
			}
		}
	}
	h.t.Fatal("no mail came")
	return ""
}

// known are values for what stands in braces in an address.
func (h *hospital) known(p *program) map[string][]string {
	h.t.Helper()
	values := map[string][]string{"type": {"bar-dial", "bar-display", "impulse", "continuous"}, "section": {"scope", "tests", "equipment",
		"settings", "completeness", "failures", "upkeep", "people", "late", "checks"}, "token": {h.mailedLink(p)}, "seq": h.seqs,
		"list": {h.list}}
	note := func(name, path, list, key string) {
		p.get(path)
		for _, row := range p.list(list) {
			if v, ok := row[key].(string); ok {
				values[name] = append(values[name], v)
			}
		}
	}
	for _, s := range h.Sealers {
		values["code"] = append(values["code"], s.Code)
		p.get("/sealers/" + s.Code + "/history")
		lines := p.list("lines")
		p.get("/sealers/" + s.Code + "/settings")
		for _, l := range append(append(lines[:1], p.list("tables")...), p.list("ladders")...) {
			if seq, ok := l["seq"].(float64); ok {
				values["seq"] = append(values["seq"], strconv.Itoa(int(seq)))
			}
		}
	}
	note("pouch", "/pouches", "pouches", "id")
	note("person", "/people", "people", "id")
	note("report", "/found", "reports", "report")
	p.get("/problems")
	for _, list := range []string{"open", "closed"} {
		for _, row := range p.list(list) {
			values["problem"] = append(values["problem"], row["problem"].(map[string]any)["id"].(string))
		}
	}
	for _, id := range values["problem"] {
		p.get("/problems/" + id)
		for _, photo := range p.list("problem.photos") {
			values["id"] = append(values["id"], photo["record"].(string))
		}
	}
	return values
}

// fill puts every value in place of what stands in braces.
func fill(path string, known map[string][]string) []string {
	addresses := []string{path}
	for _, braces := range parameters.FindAllString(path, -1) {
		var next []string
		for _, a := range addresses {
			for _, v := range known[strings.Trim(braces, "{}")] {
				next = append(next, strings.Replace(a, braces, v, 1))
			}
		}
		addresses = next
	}
	return addresses
}

// refusesNonsense wants nothing that is sent to make the server fail, and nobody
// without a session to do anything.
func refusesNonsense(t *testing.T, h *hospital) {
	lead, surveyor := h.as(record.Lead), h.as(record.Surveyor)
	values := h.known(lead)
	first := map[string][]string{}
	for name, list := range values {
		first[name] = list[:min(1, len(list))]
	}
	for _, name := range []string{"report", "poster", "hook", "task", "device", "token", "id", "seq"} {
		if len(first[name]) == 0 {
			first[name] = []string{strings.Repeat("0", 31) + "7"}
		}
	}
	size := h.Desk.Size()
	for _, at := range h.said.operations("post") {
		path := strings.TrimPrefix(strings.TrimPrefix(at, "post "), "/api/v1")
		for _, address := range fill(path, first) {
			if stranger := h.stranger(); path != "/sign-out" { // who is not here can leave
				stranger.send(http.MethodPost, address, "application/json", []byte(`{}`))
				require.GreaterOrEqual(t, stranger.reply.status, 400, "%s by a stranger", at)
				require.Less(t, stranger.reply.status, 500, "%s by a stranger: %s", at, stranger.reply.raw)
			}
			for _, body := range []string{`{"id":[]}`, `[]`, `{"happened":"yesterday","seen":-1,"count":-4,"kind":"\u0000","place":"up","pouch":"zz"}`, "null", "{"} {
				if path == "/sign-out" || path == "/begin" {
					continue
				}
				lead.send(http.MethodPost, address, "application/json", []byte(body))
				require.Less(t, lead.reply.status, 500, "%s: %s", at, lead.reply.raw)
				require.GreaterOrEqual(t, lead.reply.status, 400, "%s took %s", at, body)
			}
			if path != "/sign-out" && path != "/sign-in" && path != "/pin" && !strings.HasPrefix(path, "/queue") {
				surveyor.send(http.MethodPost, address, "application/json", []byte(`{}`))
				require.GreaterOrEqual(t, surveyor.reply.status, 400, "%s by a surveyor, who only reads", at)
			}
		}
	}
	require.Equal(t, size, h.Desk.Size(), "nothing was recorded")
}

// operations lists what is described of a method, as "get /path".
func (d *description) operations(method string) (list []string) {
	paths := d.doc["paths"].(map[string]any)
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		if _, ok := paths[path].(map[string]any)[method]; ok {
			list = append(list, method+" "+path)
		}
	}
	return list
}
