package server_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"net/http"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/labels"
)

// bench is an office at work: its lead, one pouch, and sealer 2, ready for it.
type bench struct {
	*program
	code, pouch string
	approval    int
}

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{program: newOffice(t, "2026-01-13 07:05").begin("V. Costa")}
	b.pouch = b.addPouch("Paper/film 20 cm", "paper-film")
	b.code = b.addSealer("2", "bar-dial", object{"asset": "20417", "width_cm": 45})
	b.approval = b.approve(b.code, b.pouch, "7 1/2", "mark")
	b.check(b.code, b.pouch, "pass", nil).done()
	b.requireReady(b.code, b.pouch)
	return b
}

// size is the number of records.
func (b *bench) size() int { return int(b.Desk.Size()) }

// requirePage wants a page with a status and some words on it.
func (b *bench) requirePage(status int, words ...string) {
	b.t.Helper()
	require.Equal(b.t, status, b.reply.status, "%s", b.reply.raw)
	require.Contains(b.t, b.reply.header.Get("Content-Type"), "text/html")
	for _, w := range words {
		require.Contains(b.t, string(b.reply.raw), w)
	}
}

func TestMistypedCodeGetsAPageThatSaysWhatToDo(t *testing.T) {
	b := newBench(t)
	b.browse("GET", "/S/"+b.code[:6]+other(b.code[6]), "", nil)
	b.requirePage(http.StatusNotFound, "Look at the letters under the square", `name="code"`)
	b.browse("GET", "/S/NONSENSE", "", nil)
	b.requirePage(http.StatusNotFound, "This is not a code of a label", `name="code"`)
	b.send("GET", "/sealers/NONSENSE", "", nil)
	b.refused(http.StatusNotFound, "unknown")
}

// other is a character that is not c.
func other(c byte) string {
	if c == '7' {
		return "8"
	}
	return "7"
}

func TestLabelOfAnotherSiteIsToldLikeAnUnknownOne(t *testing.T) {
	b := newBench(t)
	elsewhere, err := labels.NewCode(bytes.NewReader(make([]byte, 64)))
	require.NoError(t, err)
	b.browse("GET", "/S/"+string(elsewhere), "", nil)
	b.requirePage(http.StatusNotFound, "No sealer here has this label", `name="code"`)
	b.send("GET", "/sealers/"+string(elsewhere), "", nil)
	b.refused(http.StatusNotFound, "unknown")
}

func TestRetiredSealerKeepsItsPageAndTakesNoCheck(t *testing.T) {
	b := newBench(t)
	b.post("/sealers/"+b.code+"/retire", object{"why": "worn out"}).done()
	size := b.size()
	b.browse("GET", "/S/"+b.code, "", nil)
	b.requirePage(http.StatusOK, "Not in use any more", "Its records stay")
	b.post("/sealers/"+b.code+"/checks", object{"pouch": b.pouch, "approval": b.approval, "outcome": "pass"})
	b.refused(http.StatusGone, "gone")
	require.Equal(t, size, b.size())
}

func TestMovedSealerIsCheckedWhereItStandsNow(t *testing.T) {
	b := newBench(t)
	b.post("/sealers/"+b.code+"/move", object{"place": "bench 3"}).done()
	b.requireStands(b.code, "check-due", "check")
	b.browse("GET", "/S/"+b.code, "", nil)
	b.requirePage(http.StatusOK, "it was moved")
}

func TestFormSentTwiceIsOneRecord(t *testing.T) {
	b := newBench(t)
	fields := []string{"id", newID(), "seen", strconv.Itoa(b.seen), "pouch", b.pouch, "approval", strconv.Itoa(b.approval),
		"outcome", "pass"}
	b.form("/S/"+b.code+"/checks", fields...)
	require.Equal(t, http.StatusSeeOther, b.reply.status)
	where, size := b.reply.header.Get("Location"), b.size()
	b.form("/S/"+b.code+"/checks", fields...)
	require.Equal(t, http.StatusSeeOther, b.reply.status)
	require.Equal(t, where, b.reply.header.Get("Location"))
	require.Equal(t, size, b.size())
}

func TestSameFormWithOtherContentIsAConflict(t *testing.T) {
	b := newBench(t)
	body := object{"id": newID(), "seen": b.seen, "pouch": b.pouch, "approval": b.approval, "outcome": "pass"}
	b.say("/sealers/"+b.code+"/checks", body).done()
	size := b.size()
	body["outcome"], body["kind"] = "fail", "channel"
	b.say("/sealers/"+b.code+"/checks", body).refused(http.StatusConflict, "conflict")
	require.Equal(t, size, b.size())
}

func TestStaleFormIsToldTheNewStateAndKeepsWhatWasTyped(t *testing.T) {
	b := newBench(t)
	seen := b.seen
	b.page(b.code, b.pouch)
	b.post("/sealers/"+b.code+"/bad-seals", object{"kind": "channel", "pouch": b.pouch}).done()
	size := b.size()
	fields := []string{"id", newID(), "seen", strconv.Itoa(seen), "pouch", b.pouch, "approval", strconv.Itoa(b.approval)}
	b.form("/S/"+b.code+"/checks", append(fields, "outcome", "pass")...)
	b.requirePage(http.StatusConflict, "Out of service")
	b.form("/S/"+b.code+"/checks", append(fields, "outcome", "fail", "kind", "weak", "at_cm", "31,5")...)
	b.requirePage(http.StatusConflict, `value="31,5"`, "It did happen as I say")
	require.Equal(t, size, b.size(), "nothing half-done")

	b.form("/S/"+b.code+"/checks", append(fields, "outcome", "fail", "kind", "weak", "at_cm", "31,5", "keep", "true")...)
	require.Equal(t, http.StatusSeeOther, b.reply.status, "%s", b.reply.raw)
	require.Equal(t, size+1, b.size(), "it did happen: kept")
}

func TestTextFileCalledJPGKeepsTheReport(t *testing.T) {
	b := newBench(t)
	b.reportWith("seal.jpg", []byte("Dear Sir or Madam"))
	b.requireReportWithout("unsupported")
	b.photograph(b.lastReport(), []byte("Dear Sir or Madam")).refused(http.StatusUnsupportedMediaType, "unsupported")
}

func TestHugePNGOfFewBytesIsRefusedBeforeItIsDecoded(t *testing.T) {
	b := newBench(t)
	bomb := hugePNG(20_000, 10_000)
	require.Less(t, len(bomb), 50<<10)
	b.reportWith("seal.png", bomb)
	b.requireReportWithout("too-large")
	b.photograph(b.lastReport(), bomb).refused(http.StatusRequestEntityTooLarge, "too-large")
}

// hugePNG is a PNG that claims many pixels and holds 40 kB of zeros (PNG
// specification, third edition, 5.3 and 11.2.1).
func hugePNG(width, height uint32) []byte {
	header := binary.BigEndian.AppendUint32(nil, width)
	header = binary.BigEndian.AppendUint32(header, height)
	header = append(header, 8, 2, 0, 0, 0)
	b := []byte("\x89PNG\r\n\x1a\n")
	for _, chunk := range []struct {
		kind string
		data []byte
	}{{"IHDR", header}, {"IDAT", make([]byte, 40<<10)}, {"IEND", nil}} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(chunk.data)))
		start := len(b)
		b = append(append(b, chunk.kind...), chunk.data...)
		b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[start:]))
	}
	return b
}

func TestPhotographLosesWhereItWasTaken(t *testing.T) {
	b := newBench(t)
	file, err := os.ReadFile("../testdata/photos/location.jpg")
	require.NoError(t, err)
	require.Contains(t, string(file), "Exif\x00\x00")
	b.reportWith("seal.jpg", file)
	require.Contains(t, b.reply.header.Get("Location"), "photo=kept")
	b.photograph(b.lastReport(), file).done()
	b.send("GET", "/photographs/"+b.text("id"), "", nil)
	require.Equal(t, http.StatusOK, b.reply.status)
	require.Equal(t, "\xff\xd8\xff", string(b.reply.raw[:3]), "a JPEG")
	require.NotContains(t, string(b.reply.raw), "Exif")
	require.NotContains(t, string(b.reply.raw), "GPS")
}

func TestOversizedBodiesAreRefusedAndRecordNothing(t *testing.T) {
	b := newBench(t)
	size := b.size()
	long := strings.Repeat("a", 300<<10)
	b.form("/S/"+b.code+"/checks", "id", newID(), "outcome", "pass", "note", long)
	b.requirePage(http.StatusRequestEntityTooLarge, "more than is taken at once")
	b.send("POST", "/sealers/"+b.code+"/checks", "application/json", []byte(`{"note":"`+long+`"}`))
	b.refused(http.StatusRequestEntityTooLarge, "too-large")
	b.photograph(newID(), make([]byte, 12<<20)).refused(http.StatusRequestEntityTooLarge, "too-large")
	require.Equal(t, size, b.size())
}

func TestJSONThatCannotBeReadIsRefused(t *testing.T) {
	b := newBench(t)
	size := b.size()
	for name, c := range map[string]struct {
		kind, body, code string
		status           int
	}{
		"a form":           {"application/x-www-form-urlencoded", "outcome=pass", "unsupported", http.StatusUnsupportedMediaType},
		"plain text":       {"text/plain", `{"outcome":"pass"}`, "unsupported", http.StatusUnsupportedMediaType},
		"half an object":   {"application/json", `{"outcome":"pa`, "invalid", http.StatusUnprocessableEntity},
		"an unknown field": {"application/json", `{"result":"pass"}`, "invalid", http.StatusUnprocessableEntity},
		"a bad id":         {"application/json", `{"id":"1"}`, "invalid", http.StatusUnprocessableEntity},
		"two values":       {"application/json", `{"outcome":"pass"} {}`, "invalid", http.StatusUnprocessableEntity},
	} {
		b.send("POST", "/sealers/"+b.code+"/checks", c.kind, []byte(c.body))
		require.Equal(t, c.status, b.reply.status, name)
		require.Equal(t, c.code, b.reply.body["code"], name)
	}
	require.Equal(t, size, b.size())
}

func TestNobodyWithoutASessionSeesOrSaysAnything(t *testing.T) {
	b := newBench(t)
	size := b.size()
	for _, s := range []*program{b.stranger(), {office: b.office, name: "a device alone", http: b.client(), device: b.device},
		{office: b.office, name: "a session alone", http: b.client(), session: b.session}} {
		s.send("GET", "/board", "", nil)
		s.refused(http.StatusUnauthorized, "sign-in")
		s.post("/sealers/"+b.code+"/checks", object{"pouch": b.pouch, "approval": b.approval, "outcome": "pass"})
		s.refused(http.StatusUnauthorized, "sign-in")
		s.browse("GET", "/S/"+b.code, "", nil)
		require.Equal(t, http.StatusSeeOther, s.reply.status, s.name)
		require.Contains(t, s.reply.header.Get("Location"), "/sign-in?next=")
		require.NotContains(t, string(s.reply.raw), "20417")
	}
	require.Equal(t, size, b.size())
}

// reportWith reports a bad seal by the form of the page, with a file.
func (b *bench) reportWith(name string, file []byte) {
	b.t.Helper()
	b.page(b.code, b.pouch)
	body, kind := multipartForm(b.t, "photo", name, file, "id", newID(), "seen", strconv.Itoa(b.seen), "kind", "crease",
		"pouch", b.pouch)
	b.browse("POST", "/S/"+b.code+"/bad-seal", kind, body)
	require.Equal(b.t, http.StatusSeeOther, b.reply.status, "%s", b.reply.raw)
}

// requireReportWithout wants the report to be kept and its photograph not, with
// a word why, and the page to say so.
func (b *bench) requireReportWithout(why string) {
	b.t.Helper()
	where := b.reply.header.Get("Location")
	require.Contains(b.t, where, "photo="+why)
	b.browse("GET", where, "", nil)
	b.requirePage(http.StatusOK, "The report is kept without it")
	b.requireStands(b.code, "check-due", "test-seal")
}

// lastReport is the id of the newest record.
func (b *bench) lastReport() string {
	b.t.Helper()
	b.post("/sealers/"+b.code+"/bad-seals", object{"kind": "dirt", "pouch": b.pouch}).done()
	return b.text("id")
}

// channel is a photograph of a seal.
func channel(t *testing.T) []byte {
	t.Helper()
	b, err := os.ReadFile("../testdata/photos/channel.jpg")
	require.NoError(t, err)
	return b
}

func TestWrongHostIsToldTheRightAddress(t *testing.T) {
	b := newBench(t)
	size := b.size()
	for _, path := range []string{"/", "/S/" + b.code, "/api/v1/board"} {
		r, err := http.NewRequest(http.MethodGet, officeURL+path, nil)
		require.NoError(t, err)
		r.Host = "rebound.example"
		b.do(r)
		require.Equal(t, http.StatusMisdirectedRequest, b.reply.status, path)
		require.Contains(t, string(b.reply.raw), "This server is called tide.test.")
		require.NotContains(t, string(b.reply.raw), "20417")
	}
	r, err := http.NewRequest(http.MethodGet, officeURL+"/", nil)
	require.NoError(t, err)
	r.Host = "rebound.example"
	b.do(r)
	b.requirePage(http.StatusMisdirectedRequest, `<a href="http://tide.test">Open http://tide.test</a>`)
	require.Equal(t, size, b.size())
}
