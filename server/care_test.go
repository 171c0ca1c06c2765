package server_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// filesWith lists the files of a folder that hold some bytes.
func filesWith(t *testing.T, dir string, what []byte) (found []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(b, what) {
			found = append(found, path)
		}
		return err
	}))
	return found
}

func (p *program) pageText(path string) string {
	p.t.Helper()
	p.browse(http.MethodGet, path, "", strings.NewReader(""))
	return string(p.reply.raw)
}

func TestWhatIsRemovedIsInNoFileAndStaysRemovedAfterAnOlderBackup(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa") // an administrator, too
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch, "note": "seen by Quillbrook at the bench"}).done()
	report, problem := lead.text("id"), lead.text("problem")
	entry := strconv.Itoa(lead.whole("seq"))
	file, err := os.ReadFile("../testdata/photos/location.jpg")
	require.NoError(t, err)
	lead.photograph(report, file)
	lead.done()
	tech := lead.hire("T. Osei", nil, "technician")
	gone := lead.post("/people", object{"name": "Zephyrine Amberquist", "mail": "z.amberquist@lanternfield.example", "roles": []string{"technician"}}).
		done().text("subject")
	require.Contains(t, lead.pageText("/problems/"+problem), "seen by Quillbrook")
	photo := photographs(t, o.dir)
	require.Len(t, photo, 1)
	var backup bytes.Buffer
	_, err = o.Backup(&backup)
	require.NoError(t, err)
	older := bytes.Clone(backup.Bytes())

	// First nothing is removed without a reason, of somebody who is still here, or by others.
	lead.post("/care/removals", object{"entry": entry, "why": " "}).refused(http.StatusUnprocessableEntity, "invalid")
	lead.post("/care/removals", object{"person": gone, "why": "w"}).refused(http.StatusUnprocessableEntity, "invalid")
	tech.post("/care/removals", object{"entry": entry, "why": "w"}).refused(http.StatusForbidden, "forbidden")

	lead.post("/people/"+gone, object{"name": "Zephyrine Amberquist", "roles": []string{"technician"}, "left": true}).done()
	lead.post("/care/removals", object{"person": gone, "why": "two years are over"}).done()
	lead.post("/care/removals", object{"entry": entry, "why": "a patient's name"}).done()
	requireRemoved := func(p *program, dir string) {
		t.Helper()
		require.Empty(t, filesWith(t, dir, []byte("Quillbrook")))
		require.Empty(t, filesWith(t, dir, []byte("mberquist")))
		require.Empty(t, photographs(t, dir))
		text := p.pageText("/problems/" + problem)
		require.Contains(t, text, "removed on 3 Mar 2026")
		require.Contains(t, text, "photograph removed on 3 Mar 2026")
		require.NotContains(t, text, "<img src=\"/photographs")
	}
	requireRemoved(lead, o.dir)
	require.Contains(t, lead.pageText("/care"), "two years are over")

	// A newer backup holds nothing of it; an older one does, until the list is applied.
	backup.Reset()
	_, err = o.Backup(&backup)
	require.NoError(t, err)
	require.NotContains(t, backup.String(), "Quillbrook")
	list, err := os.ReadFile(filepath.Join(o.dir, "removed"))
	require.NoError(t, err)
	require.NotContains(t, string(list), "Quillbrook")
	dir := filepath.Join(t.TempDir(), "restored")
	_, err = server.Restore(bytes.NewReader(older), dir, "", list)
	require.NoError(t, err)
	require.NotEmpty(t, filesWith(t, dir, []byte("Quillbrook")), "the test has teeth")
	o.takeKeysTo(dir)
	again := lead.signsInAt(o.reopened(dir), pin)
	require.Empty(t, filesWith(t, dir, []byte("Quillbrook")))
	require.Empty(t, photographs(t, dir))
	require.Contains(t, again.pageText("/problems/"+problem), "removed on 3 Mar 2026")
}

// photographs lists those in a data folder.
func photographs(t *testing.T, dir string) (names []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(filepath.Join(dir, "photographs"), func(_ string, e fs.DirEntry, err error) error {
		if err == nil && e.Type().IsRegular() {
			names = append(names, e.Name())
		}
		return err
	}))
	return names
}

func TestAClockThatRanAheadIsPutRightByAnAdministrator(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	o.at("2026-03-05 06:00")
	lead = lead.signsInAt(o, pin)
	lead.addPouch("Paper/film 20 cm", "paper-film")
	o.at("2026-03-03 08:00")
	status, text := o.ready()
	require.Equal(t, http.StatusServiceUnavailable, status)
	require.Contains(t, text, "behind the newest record")
	require.Contains(t, lead.pageText("/"), "The server&#39;s clock is 46 hours behind its newest record")
	lead.addPouch("Nonwoven", "nonwoven") // writes go on
	require.Contains(t, lead.pageText("/care"), "46 hours behind")
	lead.get("/care")
	lead.post("/care/clock", object{"was": lead.text("latest")}).done()
	status, _ = o.ready()
	require.Equal(t, http.StatusOK, status)
	require.NotContains(t, lead.pageText("/"), "behind its newest record")
	lead.get("/care")
	lead.post("/care/clock", object{"was": lead.text("latest")}).refused(http.StatusConflict, "stale")
}

func TestMetricsAreForThisMachineAndAdministratorsAndNameNobody(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	lead.addPouch("Paper/film 20 cm", "paper-film")
	text := o.stranger().pageText("/metrics") // from loopback
	for _, line := range []string{"tidemark_records ", "tidemark_went_back 0", "tidemark_commit_seconds_count ",
		"tidemark_commands_refused_total 0", "tidemark_messages_parked 0", "tidemark_damage_found_total 0"} {
		require.Contains(t, text, line)
	}
	require.NotContains(t, text, "Costa")
	require.NotContains(t, text, "Paper")
	far := o.stranger()
	r, err := http.NewRequest(http.MethodGet, officeURL+"/metrics", nil)
	require.NoError(t, err)
	r.Header.Set("X-Forwarded-For", "192.0.2.7") // through a proxy on this machine
	require.Equal(t, http.StatusSeeOther, far.do(r).reply.status)
}

func TestDamageThatIsReadInPassingMakesTheServerNotReady(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch}).done()
	report := lead.text("id")
	file, err := os.ReadFile("../testdata/photos/location.jpg")
	require.NoError(t, err)
	lead.photograph(report, file)
	lead.done()
	require.NoError(t, o.CareNow(t.Context()))
	status, _ := o.ready()
	require.Equal(t, http.StatusOK, status)

	name := photographs(t, o.dir)[0]
	path := filepath.Join(o.dir, "photographs", name[:2], name)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(bytes.Clone(whole[:len(whole)-1]), whole[len(whole)-1]^1), 0o600))
	require.NoError(t, o.CareNow(t.Context()))
	status, text := o.ready()
	require.Equal(t, http.StatusServiceUnavailable, status)
	require.Contains(t, text, "Photograph "+name+" is not what was stored.")
	require.Contains(t, text, "tidemark restore -from FILE -data DIR")
	require.Contains(t, o.stranger().pageText("/metrics"), "tidemark_damage_found_total 1")
	require.NoError(t, os.WriteFile(path, whole, 0o600)) // the folder is verified at the end
}

func TestWhatNoRecordNamesIsForgottenAfterADay(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	lead.addPouch("Paper/film 20 cm", "paper-film")
	// A note whose record is refused: private first, record second.
	lead.post("/sealers", object{"number": "too long", "type": "bar-dial", "note": "Orphanage 7"}).refused(http.StatusUnprocessableEntity, "invalid")
	orphan := []byte("no record names this picture")
	sum := sha256.Sum256(orphan)
	name := hex.EncodeToString(sum[:])
	require.NoError(t, os.MkdirAll(filepath.Join(o.dir, "photographs", name[:2]), 0o700))
	path := filepath.Join(o.dir, "photographs", name[:2], name)
	require.NoError(t, os.WriteFile(path, orphan, 0o600))
	require.NoError(t, os.Chtimes(path, o.clock(), o.clock()))
	require.NoError(t, o.CareNow(t.Context()))
	require.FileExists(t, path)
	require.NotEmpty(t, filesWith(t, o.dir, []byte("Orphanage 7")))
	o.at("2026-03-04 07:00")
	require.NoError(t, o.CareNow(t.Context()))
	require.NoFileExists(t, path)
	require.Empty(t, filesWith(t, o.dir, []byte("Orphanage 7")))
	lead = lead.signsInAt(o, pin)
	require.Contains(t, lead.pageText("/"), "V. Costa", "what a record names stays")
}

func TestABackupOfAFolderWhoseKeysLieElsewhereLeavesThemThere(t *testing.T) {
	dir, keys := t.TempDir(), t.TempDir()
	s, err := server.New(server.Config{Dir: dir, Keys: keys, PublicURL: officeURL, Argon: cheap})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, server.Backup(dir, keys, io.Discard))
	require.NoDirExists(t, filepath.Join(dir, "keys"))
}

func TestAKeyThatIsCutShortIsRefused(t *testing.T) {
	c := server.Config{Dir: t.TempDir(), PublicURL: officeURL, Argon: cheap}
	s, err := server.New(c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	for _, name := range []string{"pepper", "tickets"} {
		file := filepath.Join(c.Dir, "keys", name)
		whole, err := os.ReadFile(file)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(file, whole[:8], 0o600))
		_, err = server.New(c)
		require.ErrorContains(t, err, "cut short")
		require.NoError(t, os.WriteFile(file, whole, 0o600))
	}
	s, err = server.New(c)
	require.NoError(t, err)
	require.NoError(t, s.Close())
}
