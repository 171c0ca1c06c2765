package server_test

import (
	"bytes"
	"image"
	_ "image/jpeg"
	"net/http"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestTheEvidenceSheetHasAllThatMendingNeeds tells of a bar that fails at one
// place, is mended, fails there again and then at the other end.
func TestTheEvidenceSheetHasAllThatMendingNeeds(t *testing.T) {
	b := newBench(t)
	fails := func(at, place, cm string) string {
		b.at(at)
		b.check(b.code, b.pouch, "fail", object{"kind": "channel", "place": place, "at_cm": cm, "shown": "178", "set": "7"}).done()
		return b.text("problem")
	}
	mended := func(at, problem, finding string) {
		b.at(at)
		b.get("/problems/" + problem)
		b.post("/problems/"+problem+"/hand-back", object{"finding": finding, "action": "replaced", "on_behalf_of": b.engineer()}).done()
		for b.get("/sealers/" + b.code); b.text("standing.state") != "ready"; b.get("/sealers/" + b.code) {
			b.check(b.code, b.pouch, "pass", nil).done()
		}
	}
	mended("2026-01-13 08:00", fails("2026-01-13 07:30", "middle", "26"), "cover")
	mended("2026-01-13 13:00", fails("2026-01-13 12:00", "left", "3"), "pad")
	problem := fails("2026-01-13 15:00", "middle", "28")
	report := b.text("id")

	b.get("/problems/" + problem + "/evidence")
	require.Equal(t, true, b.reply.at("again"))
	earlier := b.list("earlier")
	require.Len(t, earlier, 2)
	came := func(i int, name string) any { return earlier[i]["held"].(map[string]any)[name] }
	require.Equal(t, []any{float64(2), "pad", float64(0), float64(1)}, []any{earlier[0]["number"], earlier[0]["finding"], came(0, "same"), came(0, "other")})
	require.Equal(t, []any{float64(1), "cover", float64(1), float64(1), true},
		[]any{earlier[1]["number"], earlier[1]["finding"], came(1, "same"), came(1, "other"), earlier[1]["again"]})
	require.Len(t, b.list("spots"), 3)
	require.Equal(t, "178", b.text("found.0.shown"))

	photo, err := os.ReadFile("../testdata/photos/rotated.jpg")
	require.NoError(t, err)
	shot := b.photograph(report, photo).done().text("id")
	b.get("/problems/" + problem)
	b.form("/problems/"+problem+"/marks", "id", newID(), "seen", b.text("size"), "photo", shot, "height", "320", "at.x", "80", "at.y", "240")
	require.Equal(t, http.StatusSeeOther, b.reply.status, "%s", b.reply.raw)
	b.get("/problems/" + problem + "/evidence")
	require.Equal(t, []int{250, 750}, []int{b.whole("photographs.0.x"), b.whole("photographs.0.y")})
	page := "/problems/" + problem + "/evidence"
	b.browse(http.MethodGet, page, "", nil)
	b.requirePage(http.StatusOK, "/photographs/"+shot+"/cut-out?x=250&amp;y=750", "The same place again", "28 cm from the left", "178",
		"no: the same place again after 7 hours", "no fault there; elsewhere after 2 hours")
	b.browse(http.MethodGet, "/photographs/"+shot+"/cut-out?x=250&y=750", "", nil)
	require.Equal(t, "image/jpeg", b.reply.header.Get("Content-Type"))
	cut, _, err := image.DecodeConfig(bytes.NewReader(b.reply.raw))
	require.NoError(t, err)
	require.GreaterOrEqual(t, max(cut.Width, cut.Height), 800, "enlarged")
	b.browse(http.MethodGet, "/photographs/"+shot+"/cut-out?x=2500&y=750", "", nil)
	require.Equal(t, http.StatusUnprocessableEntity, b.reply.status)
	stranger := b.stranger()
	stranger.browse(http.MethodGet, "/photographs/"+shot+"/cut-out?x=250&y=750", "", nil)
	require.NotEqual(t, http.StatusOK, stranger.reply.status)
}

// engineer is somebody of clinical engineering.
func (b *bench) engineer() string {
	b.get("/people")
	for _, p := range b.list("people") {
		if p["name"] == "H. Tvedt" {
			return p["id"].(string)
		}
	}
	return b.post("/people", object{"name": "H. Tvedt", "roles": []string{"engineering"}}).done().text("subject")
}
