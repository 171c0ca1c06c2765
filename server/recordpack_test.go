package server_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/people"
	"tidemark/server/proof"
	"tidemark/server/record"
)

// fortnight is a bench with some days of work behind it: from Tuesday 13 January
// to Monday 19, of which two were checked in time, one late, one not at all, one
// was not used; on the last a check failed.
func fortnight(t *testing.T) *bench {
	t.Helper()
	b := newBench(t)
	b.at("2026-01-14 06:05")
	b.signIn()
	b.check(b.code, b.pouch, "pass", object{"note": "=HYPERLINK(\"x\")"}).done()
	b.at("2026-01-16 06:30")
	b.signIn() // nobody checked on the 15th
	b.page(b.code, b.pouch)
	b.post("/sealers/"+b.code+"/checks", object{"pouch": b.pouch, "approval": b.approval, "outcome": "pass", "happened": "2026-01-16T05:50"}).done()
	b.at("2026-01-17 06:00")
	b.signIn()
	b.post("/not-used", object{"codes": []string{b.code}, "from": "2026-01-17", "why": "no work for it"}).done()
	b.at("2026-01-18 06:00")
	b.signIn()
	b.check(b.code, b.pouch, "pass", nil).done()
	b.at("2026-01-19 06:00")
	b.signIn()
	b.check(b.code, b.pouch, "fail", object{"kind": "channel", "place": "left"}).done()
	return b
}

// recordPack asks for a pack and opens it with the ledger's key.
func (b *bench) recordPack(query string) (*proof.Pack, []byte) {
	b.t.Helper()
	b.send(http.MethodGet, "/record-pack"+query, "", nil)
	require.Equal(b.t, http.StatusOK, b.reply.status, "%s", b.reply.raw)
	raw := b.reply.raw
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(b.t, err)
	f, err := z.Open(proof.KeysName)
	require.NoError(b.t, err)
	keys, err := io.ReadAll(f)
	require.NoError(b.t, err)
	key, err := proof.NewVerifier(strings.TrimSpace(string(keys)))
	require.NoError(b.t, err)
	p, err := proof.OpenPack(bytes.NewReader(raw), int64(len(raw)), key)
	require.NoError(b.t, err)
	return p, raw
}

const theWeek = "?from=2026-01-13&to=2026-01-19"

func TestPagePDFTablesAndInterfaceTellTheSameNumbers(t *testing.T) {
	b := fortnight(t)
	b.get("/completeness" + theWeek)
	count := map[string]string{}
	for name, n := range b.reply.at("sealers.0.count").(map[string]any) {
		count[name] = strconv.Itoa(int(n.(float64)))
	}
	require.Equal(t, map[string]string{"checked": "4", "late": "1", "missing": "1", "not-used": "1"}, count)
	// In the order of the columns: in use, checked, late, missing, not used, closed.
	want := []string{"2", "6", "4", "1", "1", "1", "0"}

	b.get("/record-pack/completeness" + theWeek)
	require.Equal(t, want, texts(b.reply.at("blocks.1.rows.0")), "the section as JSON")

	b.browse("GET", "/records/pack/completeness"+theWeek, "", nil)
	b.requirePage(http.StatusOK, "Was each sealer checked before it was used?", "Thu 15 Jan 2026", "nobody said it was not used")
	require.Equal(t, want, cellsOf(string(b.reply.raw))[:len(want)], "the page to print")

	b.browse("GET", "/records"+theWeek, "", nil)
	b.requirePage(http.StatusOK, "Thu 15 Jan 2026")
	require.Equal(t, want[:6], cellsOf(string(b.reply.raw))[:6], "the page")

	pack, _ := b.recordPack(theWeek)
	require.Regexp(t, `(?m)^`+strings.Join(want, `\s+`)+`$`, readPDF(t, pack, "record-pack-1.pdf"), "the PDF")
	checks := readCSV(t, pack, "csv/check.csv")
	require.Len(t, checks, 1+5, "five checks in the table")
	late := 0
	for _, line := range checks[1:] {
		if line[5] == "yes" {
			late++
		}
	}
	require.Equal(t, count["late"], strconv.Itoa(late))
}

// texts are the strings of a list of JSON.
func texts(v any) (list []string) {
	for _, s := range v.([]any) {
		list = append(list, s.(string))
	}
	return list
}

var numberCell = regexp.MustCompile(`<t[hd] role="(?:rowheader|cell)"[^>]*>(?:<a[^>]*>)?(?:Sealer )?(\w+)(?:</a>)?</t[hd]>`)

// cellsOf lists the one-word cells of a page's tables.
func cellsOf(page string) (list []string) {
	for _, m := range numberCell.FindAllStringSubmatch(page, -1) {
		list = append(list, m[1])
	}
	return list
}

func readPDF(t *testing.T, p *proof.Pack, name string) string {
	t.Helper()
	data, err := p.Read(name)
	require.NoError(t, err)
	tool, err := exec.LookPath("pdftotext")
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("NOT TESTED: pdftotext is not installed (apt-get install poppler-utils)")
	}
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "pack.pdf")
	require.NoError(t, os.WriteFile(file, data, 0o600))
	out, err := exec.Command(tool, "-layout", file, "-").Output()
	require.NoError(t, err)
	return string(out)
}

func readCSV(t *testing.T, p *proof.Pack, name string) [][]string {
	t.Helper()
	data, err := p.Read(name)
	require.NoError(t, err)
	lines, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff")))).ReadAll()
	require.NoError(t, err)
	return lines
}

func TestARecordPackMadeAgainAtItsSizeIsTheSameToTheByte(t *testing.T) {
	b := fortnight(t)
	size := strconv.Itoa(b.size())
	_, first := b.recordPack(theWeek)
	b.at("2026-01-20 06:00")
	b.signIn()
	b.get("/problems")
	problem := b.text("open.0.problem.id")
	b.post("/problems/"+problem+"/notes", object{"note": "the cover is worn"}).done()
	b.addSealer("9", "impulse", nil)
	_, later := b.recordPack(theWeek)
	require.NotEqual(t, first, later)
	_, again := b.recordPack(theWeek + "&size=" + size)
	require.True(t, bytes.Equal(first, again))

	b.send(http.MethodGet, "/record-pack"+theWeek+"&size=100000", "", nil)
	b.refused(http.StatusNotFound, "unknown")
	b.send(http.MethodGet, "/record-pack"+theWeek+"&sealer=NOSUCH1", "", nil)
	b.refused(http.StatusUnprocessableEntity, "invalid")
}

func TestTheRecordsOfAPackAreProvedAndItsNamesFitThem(t *testing.T) {
	b := fortnight(t)
	pack, _ := b.recordPack(theWeek)
	n, err := pack.CheckRecords()
	require.NoError(t, err)
	require.Greater(t, n, 10)
	require.EqualValues(t, b.size(), pack.Size)

	data, err := pack.Read(proof.RecordsName)
	require.NoError(t, err)
	sealed := map[int64]record.Sealed{}
	for line := range strings.Lines(string(data)) {
		r, err := record.Parse([]byte(strings.TrimSuffix(line, "\n")))
		require.NoError(t, err)
		sealed[int64(r.Seq)] = r.Sealed
	}
	data, err = pack.Read(proof.SealedName)
	require.NoError(t, err)
	found := map[string]bool{}
	for line := range strings.Lines(string(data)) {
		var s proof.SealedLine
		require.NoError(t, json.Unmarshal([]byte(line), &s))
		salt, err := hex.DecodeString(s.Salt)
		require.NoError(t, err)
		require.EqualValues(t, sealed[s.Seq][s.Field],
			people.Commitment(people.Value{Domain: s.Domain, Bytes: []byte(s.Value)}, [32]byte(salt)))
		found[s.Value] = true
	}
	require.True(t, found["V. Costa"])
	require.True(t, found[`=HYPERLINK("x")`])
	require.Equal(t, `'=HYPERLINK("x")`, readCSV(t, pack, "csv/check.csv")[2][14])
}

func TestARecordPackTellsTheDayItFailedAndWhoApprovedTheSetting(t *testing.T) {
	b := fortnight(t)
	pack, _ := b.recordPack(theWeek)
	text := strings.Join(strings.Fields(readPDF(t, pack, "record-pack-1.pdf")), " ")
	for _, words := range []string{"Failed check: channel, left", "Sealer returned: not yet. Packs settled: not yet. Problem closed: not yet.",
		"Approved for Paper/film 20 cm: 7½. IFU of the sealer, V. Costa", "16 Jan 2026 05:50,",
		"The IFU, local policy and local codes come first.", "Thu 15 Jan 2026 2 no check on record"} {
		require.Contains(t, text, words)
	}
	require.NotContains(t, text, "DEMO")
}

func TestOnlyALeadOrASurveyorMakesAPack(t *testing.T) {
	b := fortnight(t)
	for role, status := range map[string]int{"technician": http.StatusForbidden, "engineering": http.StatusForbidden, "surveyor": http.StatusOK} {
		p := b.hire("A "+role, nil, role)
		for _, path := range []string{"/api/v1/record-pack", "/api/v1/record-pack/scope", "/records/pack", "/records/pack.zip", "/records/pack/people"} {
			p.browse(http.MethodGet, path+theWeek, "", nil)
			require.Equal(t, status, p.reply.status, "%s: %s", role, path)
		}
	}
	s := b.stranger()
	s.send(http.MethodGet, "/record-pack", "", nil)
	s.refused(http.StatusUnauthorized, "sign-in")
}
