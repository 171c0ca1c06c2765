package ledger_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/ledger"
)

// inUse is a ledger with people and photographs beside it.
func inUse(t *testing.T) (ledger.Options, *ledger.Ledger, ledger.Backup) {
	o := small(t)
	photos, err := durable.OpenFolder(filepath.Join(o.Dir, "photographs"))
	require.NoError(t, err)
	for n := range 5 {
		_, err := photos.Put(bytes.Repeat([]byte{byte(n)}, 1000*n))
		require.NoError(t, err)
	}
	people := func(w io.Writer) error {
		_, err := w.Write([]byte("names and notes"))
		return err
	}
	return o, open(t, o), ledger.Backup{People: people, Photos: photos}
}

func restoring(o ledger.Options, dir string) ledger.Restoring {
	return ledger.Restoring{Dir: dir, Verification: ledger.Verification{Fold: o.Fold},
		Why: "restored from a backup of 13 January 06:00"}
}

func TestABackupMadeWhileInUseRestoresToASoundFolder(t *testing.T) {
	o, l, parts := inUse(t)
	var wait sync.WaitGroup
	ctx, cancel := context.WithCancel(t.Context())
	wait.Go(func() {
		for n := 1000; ctx.Err() == nil; n++ {
			_, err := l.Append(context.Background(), command(n, note(t, n%3, "x")))
			require.NoError(t, err)
		}
	})
	var file bytes.Buffer
	report, err := l.Backup(&file, parts)
	require.NoError(t, err)
	cancel()
	wait.Wait()
	require.GreaterOrEqual(t, report.Size, int64(75))
	require.Equal(t, 8, report.Files)
	require.Empty(t, report.Damaged)

	dir := filepath.Join(t.TempDir(), "restored")
	got, err := ledger.Restore(bytes.NewReader(file.Bytes()), restoring(o, dir))
	require.NoError(t, err)
	require.Equal(t, report.Size, got.Size)
	people, err := os.ReadFile(filepath.Join(dir, "people.db"))
	require.NoError(t, err)
	require.Equal(t, "names and notes", string(people))
	photos, err := durable.OpenFolder(filepath.Join(dir, "photographs"))
	require.NoError(t, err)
	for n := range 5 {
		_, err := photos.Put(bytes.Repeat([]byte{byte(n)}, 1000*n))
		require.NoError(t, err)
	}

	require.NoFileExists(t, filepath.Join(dir, "keys"))
	opened := options(dir)
	_, err = ledger.Open(opened)
	require.ErrorContains(t, err, "-new-key")
	opened.NewKey = true
	l = open(t, opened)
	pending, err := l.Pending(100)
	require.NoError(t, err)
	require.Empty(t, pending)
	parked, err := l.Parked(100)
	require.NoError(t, err)
	require.Len(t, parked, 75)
	require.Equal(t, "restored from a backup of 13 January 06:00", parked[0].Parked)
	require.False(t, add(t, l, 5000, 1).Repeat)
	require.True(t, add(t, l, 4, 4%3).Repeat, "what is in the backup is not stored again")
}

func TestRestoreOverwritesNothing(t *testing.T) {
	o, l, parts := inUse(t)
	var file bytes.Buffer
	_, err := l.Backup(&file, parts)
	require.NoError(t, err)
	_, err = ledger.Restore(&file, restoring(o, o.Dir))
	require.Equal(t, fault.Conflict, fault.CodeOf(err))
	require.ErrorContains(t, err, "is not empty")
}

// Whatever is changed in a backup: it is refused, or what is restored is what
// was backed up.
func TestADamagedBackupIsNotRestored(t *testing.T) {
	o, l, parts := inUse(t)
	var file bytes.Buffer
	_, err := l.Backup(&file, parts)
	require.NoError(t, err)
	around := t.TempDir()
	random := rand.New(rand.NewPCG(1, 1))
	refused := 0
	for n := range 60 {
		bad := bytes.Clone(file.Bytes())
		if n%3 == 0 {
			bad = bad[:random.IntN(len(bad)-1024)]
		} else {
			bad[random.IntN(len(bad))] ^= 1 << random.IntN(8)
		}
		dir := filepath.Join(around, fmt.Sprint(n))
		report, err := ledger.Restore(bytes.NewReader(bad), restoring(o, dir))
		if err == nil {
			require.EqualValues(t, 75, report.Size)
			require.Empty(t, report.Wrong)
			require.NoError(t, os.RemoveAll(dir))
			continue
		}
		refused++
		var damage *ledger.Damage
		require.ErrorAs(t, err, &damage, "%d: %v", n, err)
	}
	require.Greater(t, refused, 20)
	left, err := os.ReadDir(around)
	require.NoError(t, err)
	require.Empty(t, left, "nothing is left of what was not restored")
}

func TestABackupSaysWhichPhotographsAreDamagedAndHoldsTheRest(t *testing.T) {
	o, l, parts := inUse(t)
	name, err := parts.Photos.Put([]byte("a photograph"))
	require.NoError(t, err)
	bad := filepath.Join(o.Dir, "photographs", name[:2], name)
	require.NoError(t, os.WriteFile(bad, []byte("a phot0graph"), 0o600))
	var file bytes.Buffer
	report, err := l.Backup(&file, parts)
	require.NoError(t, err)
	require.Equal(t, []string{name}, report.Damaged)
	require.Equal(t, 8, report.Files)
}

func TestAReaderThatGoesAwayLeavesNothingBehind(t *testing.T) {
	o, l, parts := inUse(t)
	r, w := io.Pipe()
	require.NoError(t, r.CloseWithError(errors.New("gone")))
	_, err := l.Backup(w, parts)
	require.ErrorContains(t, err, "gone")
	left, err := filepath.Glob(filepath.Join(o.Dir, ".backup-*"))
	require.NoError(t, err)
	require.Empty(t, left)
}

// The drill of an older backup: what was seen of the ledger since is a witness.
func TestAnOlderBackupIsToldByWhatWasSeenSince(t *testing.T) {
	o, l, parts := inUse(t)
	var file bytes.Buffer
	_, err := l.Backup(&file, parts)
	require.NoError(t, err)
	kept, err := l.Sight()
	require.NoError(t, err)
	add(t, l, 1000, 1)
	seen, err := l.Sight()
	require.NoError(t, err)
	size, root := l.Root()
	r := restoring(o, filepath.Join(t.TempDir(), "restored"))
	r.Witnesses = []string{fmt.Sprintf("%d %x", size, root[:4])}
	_, err = ledger.Restore(bytes.NewReader(file.Bytes()), r)
	require.ErrorContains(t, err, "a witness has seen 76")
	r.Witnesses = nil
	_, err = ledger.Restore(bytes.NewReader(file.Bytes()), r)
	require.NoError(t, err)

	// A phone has seen more than the backup holds: a person has to decide.
	restored := options(r.Dir)
	restored.NewKey = true
	l = open(t, restored)
	require.NoError(t, l.Witness(kept.Token), "seen before the backup")
	err = l.Witness(seen.Token)
	var damage *ledger.Damage
	require.ErrorAs(t, err, &damage)
	require.Equal(t, "The ledger went back: it holds 75 records, and 76 have been seen.", damage.What)
	_, err = l.Append(t.Context(), command(1001, note(t, 7, "after")))
	require.Equal(t, fault.Busy, fault.CodeOf(err), "read-only")
	require.NoError(t, l.Close())

	// A restart does not forget it; verify names it.
	restored.NewKey = false
	l = open(t, restored)
	require.ErrorAs(t, l.WentBack(), &damage)
	require.NoError(t, l.AcceptLoss(0))
	require.NoError(t, l.WentBack())
	require.NoError(t, l.Witness(seen.Token))
	require.NoError(t, l.Close())
	l = open(t, restored)
	require.NoError(t, l.Witness(seen.Token))
	add(t, l, 2000, 3)
	require.NoError(t, l.Witness(seen.Token), "accepted, though others are there now")
}

func TestARestoredLedgerThatWentAnotherWayIsToldByItsRoot(t *testing.T) {
	o, l, parts := inUse(t)
	var file bytes.Buffer
	_, err := l.Backup(&file, parts)
	require.NoError(t, err)
	add(t, l, 1000, 1)
	seen, err := l.Sight()
	require.NoError(t, err)
	r := restoring(o, filepath.Join(t.TempDir(), "restored"))
	_, err = ledger.Restore(bytes.NewReader(file.Bytes()), r)
	require.NoError(t, err)
	restored := options(r.Dir)
	restored.NewKey = true
	l = open(t, restored)
	add(t, l, 2000, 2)
	add(t, l, 2001, 2) // as many records as the phone has seen, and one more

	var damage *ledger.Damage
	require.ErrorAs(t, l.Witness(seen.Token), &damage)
	require.Equal(t, "The ledger went another way: its first 76 records are not those that have been seen.", damage.What)
	require.Contains(t, damage.Do, "tidemark accept-loss -data DIR")
	report := verifyWrong(t, l, restored)
	require.Contains(t, report.Wrong, "The first 76 records are not those that a witness has seen.")
}

// verifyWrong closes a ledger and returns what is found wrong with its folder.
// Afterwards the loss is accepted, so that the folder counts as sound.
func verifyWrong(t *testing.T, l *ledger.Ledger, o ledger.Options) ledger.Report {
	require.NoError(t, l.Close())
	report, err := ledger.Verify(ledger.Verification{Dir: o.Dir, Fold: o.Fold})
	require.NoError(t, err)
	o.NewKey = false
	require.NoError(t, open(t, o).AcceptLoss(0))
	return report
}

func TestAStrangersTokenStopsNothing(t *testing.T) {
	_, l, _ := inUse(t)
	s, err := l.Sight()
	require.NoError(t, err)
	size, rest, _ := strings.Cut(s.Token, ".")
	root, signature, _ := strings.Cut(rest, ".")
	for _, token := range []string{"", ".", "..", "x", "9999." + rest, size + "." + root + ".", size + ".AAAA." + signature,
		"-1." + rest, size + "." + strings.Repeat("A", 43) + "=." + signature, "9223372036854775807." + rest,
		size + "." + root + "\n." + signature, s.Token + "." + s.Token, strings.Repeat("9", 400)} {
		require.NoError(t, l.Witness(token), "%q", token)
	}
	require.NoError(t, l.Witness(s.Token))
	require.NoError(t, l.WentBack())
	for i := range s.Token { // each byte changed in turn
		changed := []byte(s.Token)
		changed[i] ^= 1
		require.NoError(t, l.Witness(string(changed)), "%s", changed)
	}
}
