package server_test

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// formFile sends a form with a file, as a browser does.
func (b *bench) formFile(path, name, text string) {
	body, kind := multipartForm(b.t, "file", name, []byte(text), "id", newID())
	b.browse(http.MethodPost, path, kind, body)
}

func TestAListOfPacksIsLookedAtBeforeItIsTaken(t *testing.T) {
	b := newBench(t)
	size := b.size()
	b.formFile("/pack-lists/files", "packs.csv", "Sealer,Sealed,Load\n2,01/02/2026,<script>alert(1)</script>\nHS-9,01/02/2026,x\n")
	require.Equal(t, http.StatusSeeOther, b.reply.status, "%s", b.reply.raw)
	page := b.reply.header.Get("Location")
	b.browse(http.MethodGet, page, "", nil)
	b.requirePage(http.StatusOK, "&lt;script&gt;", `<option value="Sealer" selected>`, `<option value="Sealed" selected>`)
	require.NotContains(t, string(b.reply.raw), "<script>alert")
	require.NotContains(t, string(b.reply.raw), `class="summary"`, "nothing was stated yet, so nothing is wrong")
	file := strings.TrimPrefix(page, "/pack-lists/new?file=")
	stated := []string{"file", file, "separator", ",", "sealer_column", "Sealer", "date_column", "Sealed", "load_column", "Load",
		"which", "sterilizing", "zone", "America/New_York", "encoding", "utf-8"}
	b.form("/pack-lists/preview", stated...)
	b.requirePage(http.StatusOK, "Say how dates are written: the list does not show it for sure.")
	stated = append(stated, "order", "mdy")
	b.form("/pack-lists/preview", stated...)
	b.requirePage(http.StatusOK, "1 pack in 1 row", "30 Dec 2025 00:00 to 2 Jan 23:59", "no sealer here is called &#34;HS-9&#34;", "HS-9, 1 row")
	stated = append(stated, "id", newID())
	b.form("/pack-lists", stated...)
	b.requirePage(http.StatusUnprocessableEntity, "1 rows cannot be read")
	require.Equal(t, size, b.size(), "nothing is recorded so far")
	b.form("/pack-lists", append(stated, "good_only", "true")...)
	require.Equal(t, "/pack-lists?said=listed", b.reply.header.Get("Location"), "%s", b.reply.raw)
	require.Equal(t, size+1, b.size())

	// The next list of this kind needs nothing said.
	b.formFile("/pack-lists/files", "packs.csv", "Sealer,Sealed,Load\n2,01/03/2026,y\n")
	b.browse(http.MethodGet, b.reply.header.Get("Location"), "", nil)
	b.requirePage(http.StatusOK, "1 pack in 1 row", "Take 1 pack", `id="order-mdy" value="mdy" checked`, `id="which-sterilizing" value="sterilizing" checked`)
}

func TestListsThatAreNoneAreRefusedWithTheReason(t *testing.T) {
	b := newBench(t)
	b.formFile("/pack-lists/files", "", "")
	b.requirePage(http.StatusUnprocessableEntity, "Choose a file.")
	b.formFile("/pack-lists/files", "big.csv", strings.Repeat("x", 20<<20+1))
	require.Contains(t, []int{http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity}, b.reply.status)
	b.browse(http.MethodGet, "/pack-lists/new?file="+strings.Repeat("0", 64), "", nil)
	b.requirePage(http.StatusGone, "This list is not here any more")
	b.browse(http.MethodGet, "/pack-lists/new?file=../ledger.db", "", nil)
	require.Equal(t, http.StatusGone, b.reply.status)
}

// A list belongs to the backup and to what verify looks at, like a photograph.
func TestAListIsInTheBackupAndVerified(t *testing.T) {
	b := newBench(t)
	b.send(http.MethodPost, "/pack-lists/files", "text/csv", []byte("Sealer,Sealed\n2,2026-01-12\n"))
	file := b.text("file")
	b.get("/board")
	b.post("/pack-lists", object{"file": file, "sealer_column": "Sealer", "date_column": "Sealed", "order": "ymd", "which": "sealing"}).done()
	require.NoError(t, b.Close())
	var backup bytes.Buffer
	require.NoError(t, server.Backup(b.dir, "", &backup))
	dir := filepath.Join(t.TempDir(), "restored")
	report, err := server.Restore(&backup, dir, "", nil)
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
	requireVerified(t, dir)
	stored := filepath.Join(dir, "pack-lists", file[:2], file)
	require.NoError(t, os.WriteFile(stored, []byte("Sealer,Sealed\n3,2026-01-12\n"), 0o600))
	report, err = server.Verify(dir, "", nil)
	require.NoError(t, err)
	require.Len(t, report.Wrong, 1)
	require.Contains(t, report.Wrong[0], "The list of packs of record")
}

func TestAListIsTakenBackOnItsOwnPage(t *testing.T) {
	b := newBench(t)
	b.send(http.MethodPost, "/pack-lists/files", "text/csv", []byte("Sealer,Sealed\n2,2026-01-12\n"))
	file := b.text("file")
	b.get("/board")
	b.post("/pack-lists", object{"file": file, "sealer_column": "Sealer", "date_column": "Sealed", "order": "ymd", "which": "sealing"}).done()
	b.browse(http.MethodGet, "/pack-lists", "", nil)
	path := regexp.MustCompile(`/pack-lists/\d+`).FindString(string(b.reply.raw))
	require.NotEmpty(t, path)
	b.browse(http.MethodGet, path, "", nil)
	b.requirePage(http.StatusOK, "Take this list back", "sealing", "America/New_York")
	b.form(path+"/take-back", "id", newID(), "why", "")
	b.requirePage(http.StatusUnprocessableEntity, "Give the reason: it stays with your name.")
	b.form(path+"/take-back", "id", newID(), "why", "the wrong column")
	require.Equal(t, "/pack-lists?said=unlisted", b.reply.header.Get("Location"), "%s", b.reply.raw)
	b.browse(http.MethodGet, "/pack-lists", "", nil)
	b.requirePage(http.StatusOK, "taken back")
	b.browse(http.MethodGet, path, "", nil)
	b.requirePage(http.StatusOK, "Taken back: no hold list looks into it.", "the wrong column")
	require.NotContains(t, string(b.reply.raw), "Take this list back")
}
