package server_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
)

// newKept is an office with two sealers of which the first is ready, and a
// technician's phone that has seen it at 07:20.
func newKept(t *testing.T) (lead *program, phone *pocket, code, pouch, approval string) {
	o := newOffice(t, "2026-01-13 07:05")
	lead = o.begin("V. Castellune")
	pouch = lead.addPouch("Paper/film", "paper-film")
	code = lead.addSealer("1", "bar-dial", object{"place": "Packing room"})
	other := lead.addSealer("2", "bar-dial", object{"place": "Decontamination"})
	lead.approve(code, pouch, "7 1/2", "mark")
	lead.approve(other, pouch, "6", "mark")
	lead.check(code, pouch, "pass", nil).done()
	lead.check(other, pouch, "pass", nil).done()
	o.at("2026-01-13 07:20")
	tech := lead.hire("L. Pellamy", nil, "technician")
	phone = tech.pocket("/S/" + code)
	tech.page(code, pouch)
	return lead, phone, code, pouch, tech.text("pouch.setting.approval")
}

// A phone may lie in a drawer over an update: rows of this version and of the
// two before it are taken, one of each form. A new version wants its fixture here.
func TestQueueRowsOfThisAndTheLastTwoVersionsAreTaken(t *testing.T) {
	for v := max(1, desk.KeptVersion-2); v <= desk.KeptVersion; v++ {
		raw, err := os.ReadFile(fmt.Sprintf("../testdata/queue/v%d.json", v))
		require.NoError(t, err, "version %d has no fixture", v)
		var rows []json.RawMessage
		require.NoError(t, json.Unmarshal(raw, &rows))
		lead, phone, code, pouch, approval := newKept(t)
		jawForAll(lead)
		lead.at("2026-01-13 07:40")
		problem := "{problem}"
		for i, row := range rows {
			text := strings.NewReplacer("{id}", newID(), "{ticket}", phone.ticket, "{code}", code, "{pouch}", pouch, "{seen}", phone.size,
				"{approval}", approval, "{dev}", phone.dev, "{day}", "2026-01-13", "{problem}", problem,
				"{made}", phoneTime(newYork(t, "2026-01-13 07:30")), "{sent}", phoneTime(phone.clock())).Replace(string(row))
			require.NotRegexp(t, `\{[a-z]+\}`, text, "every mark of row %d is filled in", i)
			phone.program.send(http.MethodPost, "/queue", "application/json", []byte(text))
			require.Equal(t, http.StatusCreated, phone.reply.status, "version %d, row %d: %s", v, i, phone.reply.raw)
			if p, ok := phone.reply.at("problem").(string); ok && p != "" {
				problem = p
			}
		}
		lead.get("/waiting")
		require.Len(t, lead.list("entries"), 1, "what was handed to a lead")
	}
}

func TestARowThatNobodyCanReadIsRefusedForGood(t *testing.T) {
	_, phone, code, _, _ := newKept(t)
	for _, row := range []object{
		phone.keep("2026-01-13 07:21", "/people"),
		phone.keep("2026-01-13 07:21", "/S/"+code+"/approvals"),
		phone.keep("2026-01-13 07:21", "/S/"+code+"/checks/"),
	} {
		phone.sendRow(row).refused(http.StatusUnprocessableEntity, "invalid")
	}
	row := phone.keep("2026-01-13 07:21", "/S/"+code+"/bad-seal", "kind", "crease")
	row["v"] = desk.KeptVersion + 1
	phone.sendRow(row).refused(http.StatusUnprocessableEntity, "invalid")
}

// What stands beside the form counts: a form cannot claim another id, storage or
// time.
func TestAFormCannotSpeakForTheEntryAroundIt(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	row := phone.keep("2026-01-13 07:25", "/S/"+code+"/bad-seal", "kind", "crease", "id", newID(), "dev_n", "99", "made", "2026-01-01T00:00:00.000Z")
	lead.at("2026-01-13 07:50")
	phone.sendRow(row).done()
	require.Equal(t, row["id"], phone.text("id"))
	lead.get("/sealers/" + code + "/history")
	require.Equal(t, row["made"], lead.list("lines")[0]["from"])
}

func TestALateGoodCheckGivesNothingItMustNotGive(t *testing.T) {
	cases := map[string]struct {
		meanwhile func(lead *program, code, pouch string)
		nothing   string
		state     string
	}{
		"it was taken out of service": {func(lead *program, code, _ string) {
			lead.page(code, "").post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "place": "left"}).done()
		}, "", "out-of-service"},
		"another setting was approved": {func(lead *program, code, pouch string) {
			lead.page(code, pouch)
			lead.approve(code, pouch, "8", "mark")
		}, "other-approval", "check-due"},
		"the power went after it": {func(lead *program, code, _ string) {
			lead.page(code, "").post("/sealers/"+code+"/disturbances", object{"what": "power-off"}).done()
		}, "", "check-due"},
		"it was retired": {func(lead *program, code, _ string) {
			lead.page(code, "").post("/sealers/"+code+"/retire", object{"why": "worn out"}).done()
		}, "", "retired"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			lead, phone, code, pouch, approval := newKept(t)
			phone.keep("2026-01-13 07:25", "/S/"+code+"/checks", "outcome", "pass", "pouch", pouch, "approval", approval)
			lead.at("2026-01-13 07:40")
			c.meanwhile(lead, code, pouch)
			lead.at("2026-01-13 08:00")
			phone.send()
			require.Empty(t, phone.rows, "a fact is not refused: %s", phone.reply.raw)
			require.NotEmpty(t, phone.text("nothing"), "it gave nothing, and says why")
			if c.nothing != "" {
				require.Equal(t, c.nothing, phone.text("nothing"))
			}
			lead.get("/sealers/" + code)
			require.Equal(t, c.state, lead.text("standing.state"))
			lead.sees("/hand-over", "Kept on record without effect", "Sealer 1")
		})
	}
}

func TestAClockThatMakesNoSenseIsDoubtfulAndGivesNothing(t *testing.T) {
	lead, phone, code, pouch, approval := newKept(t)
	lead.page(code, pouch).post("/sealers/"+code+"/disturbances", object{"what": "knob-moved"}).done()
	lead.requireStands(code, "check-due", "check")
	phone.look("/S/" + code)
	lead.at("2026-01-13 07:45")
	row := phone.keep("2026-01-13 07:40", "/S/"+code+"/checks", "outcome", "pass", "pouch", pouch, "approval", approval)
	row["made"] = phoneTime(newYork(t, "2026-01-13 09:00")) // after it was sent
	phone.sendRow(row).done()
	require.Equal(t, "doubtful-time", phone.text("nothing"))
	lead.requireStands(code, "check-due", "check")
}

func TestAPhotographFollowsItsReportAndNeverComesBefore(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	report := phone.keep("2026-01-13 07:25", "/S/"+code+"/bad-seal", "kind", "channel")
	phone.sendPhoto(report, channel(t)).refused(http.StatusServiceUnavailable, "busy")
	phone.send()
	phone.sendPhoto(report, channel(t)).done()
	lead.get("/problems/" + report["id"].(string))
	require.NotNil(t, lead.reply.at("lines.0.photos.0"), "%s", lead.reply.raw)
}

func TestWhatAShutOutDeviceKeptWaitsAndItsPhotographToo(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	report := phone.keep("2026-01-13 07:25", "/S/"+code+"/bad-seal", "kind", "channel")
	lead.get("/people")
	for _, d := range lead.list("devices") {
		if strings.Contains(d["name"].(string), "L. Pellamy") {
			lead.post("/devices/"+d["id"].(string), object{"why": "lost"}).done()
		}
	}
	lead.at("2026-01-13 07:40")
	phone.send()
	require.Equal(t, desk.WaitsDevice, phone.text("waits"))
	lead.requireStands(code, "ready", "")
	phone.sendPhoto(report, channel(t)).refused(http.StatusServiceUnavailable, "busy")
	lead.sees("/hand-over", "Sent by phones", "1 waits for a lead")
	lead.get("/waiting")
	lead.say("/waiting/"+lead.text("entries.0.report")+"/take", object{}).done()
	lead.requireStands(code, "out-of-service", "")
	phone.sendPhoto(report, channel(t)).done()
	other := phone.keep("2026-01-13 07:25", "/S/"+code+"/bad-seal", "kind", "channel")
	other["dev"], other["id"] = newID(), report["id"]
	phone.dev = newID()
	phone.sendPhoto(other, channel(t)).refused(http.StatusForbidden, "forbidden")
}

func TestPowerOffForARoomIsOneEntryAndARecordForEachSealerThere(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	phone.keep("2026-01-13 07:25", "/S/"+code+"/disturbances", "what", "power-off", "room", "true")
	lead.at("2026-01-13 07:40")
	size := lead.Desk.Size()
	phone.send()
	require.Equal(t, size+1, lead.Desk.Size(), "the sealer in the other room is not touched")
	lead.get("/board")
	states := map[string]string{}
	for _, row := range lead.list("sealers") {
		states[row["number"].(string)] = row["standing"].(map[string]any)["state"].(string)
	}
	require.Equal(t, map[string]string{"1": "check-due", "2": "ready"}, states)
}

// jawForAll is a plan with one task that is due today and that technicians do.
func jawForAll(lead *program) {
	plan := lead.post("/maintenance/bar-dial", object{"plan": -1}).done().whole("seq")
	lead.post("/maintenance/bar-dial/tasks/jaw", object{"plan": plan, "name": "Clean the jaw", "days": 14, "fixed": true, "recheck": true,
		"from_day": "2026-01-13", "who": []string{"technician", "lead"}, "source": "IFU, page 12"}).done()
}

func TestMaintenanceDoneWithoutContactIsTakenWhateverHappenedMeanwhile(t *testing.T) {
	cases := map[string]struct {
		meanwhile func(lead *program, code string)
		state     string
	}{
		"nothing": {func(*program, string) {}, "check-due"},
		"somebody else did it, too": {func(lead *program, code string) {
			lead.page(code, "").post("/sealers/"+code+"/tasks/jaw/done", object{}).done()
		}, "check-due"},
		"it was taken out of service": {func(lead *program, code string) {
			lead.page(code, "").post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "place": "left"}).done()
		}, "out-of-service"},
		"it was retired": {func(lead *program, code string) {
			lead.page(code, "").post("/sealers/"+code+"/retire", object{"why": "worn out"}).done()
		}, "retired"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			lead, phone, code, _, _ := newKept(t)
			jawForAll(lead)
			lead.get("/sealers/" + code + "/due")
			row := phone.keep("2026-01-13 07:25", "/S/"+code+"/tasks/jaw/done", "for", lead.text("tasks.0.due"))
			lead.at("2026-01-13 07:40")
			c.meanwhile(lead, code)
			lead.at("2026-01-13 08:00")
			phone.sendRow(row).done()
			require.Equal(t, "/S/"+code+"/due?said=task-done", phone.text("next"))
			phone.sendRow(row).done()
			require.Equal(t, true, phone.reply.at("repeat"), "once, however often it is sent")
			lead.get("/sealers/" + code)
			require.Equal(t, c.state, lead.text("standing.state"))
			lead.get("/sealers/" + code + "/history")
			told := 0
			for _, l := range lead.list("lines") {
				if l["kind"] == "task-done" && l["from"] == row["made"] {
					told++
				}
			}
			require.Equal(t, 1, told, "as of the time it was done: %s", lead.reply.raw)
		})
	}
}

func TestMaintenanceThatNobodyKnownDidWaitsForALead(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	jawForAll(lead)
	row := phone.keep("2026-01-13 07:25", "/S/"+code+"/tasks/jaw/done")
	row["ticket"], row["says"] = "", "T. Osei"
	lead.at("2026-01-13 08:00")
	phone.sendRow(row).done()
	lead.sees("/waiting", "Sealer 1: maintenance done", "T. Osei")
	lead.requireStands(code, "ready", "")
}

func TestALeadSeesWhatAPhoneMadeAndDidNotSend(t *testing.T) {
	lead, phone, code, _, _ := newKept(t)
	first := phone.keep("2026-01-13 07:22", "/S/"+code+"/bad-seal", "kind", "crease")
	lost := phone.keep("2026-01-13 07:23", "/S/"+code+"/bad-seal", "kind", "crease")
	third := phone.keep("2026-01-13 07:24", "/S/"+code+"/bad-seal", "kind", "crease")
	third["hand"] = true // it waits for a lead, and has come
	lead.at("2026-01-13 07:30")
	phone.sendRow(first).done()
	phone.sendRow(third).done()
	require.Empty(t, lead.get("/waiting").reply.at("missing"), "it may be on its way")
	lead.at("2026-01-13 07:36")
	said := "this phone made 3, 2 came; missed since 07:30"
	lead.sees("/waiting", said)
	lead.sees("/hand-over", said)
	phone.sendRow(third).done()
	phone.sendRow(lost).done()
	require.Empty(t, lead.get("/waiting").reply.at("missing"), "it came")
}
