package ledger

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// verifyAndExit is the child that verifies: 0 for a sound folder, 1 for a damaged
// one. Some garbage takes it down with other numbers.
func verifyAndExit() {
	report, err := Verify(Verification{Dir: os.Getenv(childDir), Fold: benchFold()})
	if err != nil || len(report.Wrong) > 0 {
		fmt.Println(err, report.Wrong)
		os.Exit(1)
	}
	os.Exit(0)
}

// Headers of pages are overwritten at random. Whatever that does to the store's
// own library, a verification in a child process never calls the folder sound if
// a page in use was hit.
func TestGarbageInAPageNeverPassesForSound(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 9))
	tr := newTrial(t)
	for n := 5; n < 200; n++ {
		require.NoError(t, tr.append(n))
	}
	require.NoError(t, tr.l.Close())
	require.Equal(t, 0, verifyInChild(t, tr.o.Dir))
	name := filepath.Join(tr.o.Dir, ledgerFile)
	whole, err := os.ReadFile(name)
	require.NoError(t, err)
	in, err := inspect(name)
	require.NoError(t, err)
	free := freePages(t, name)
	exits := map[int]int{}
	for range 40 {
		page := 2 + random.Int64N(in.newest.pages-2)
		bad := append([]byte(nil), whole[:in.newest.pages*4096]...)
		for i := range 16 {
			if random.IntN(3) == 0 {
				bad[page*4096+int64(i)] = byte(random.Uint32())
			}
		}
		bad[page*4096+int64(8+random.IntN(8))] ^= byte(1 + random.IntN(255))
		require.NoError(t, os.WriteFile(name, bad, 0o600))
		exit := verifyInChild(t, tr.o.Dir)
		exits[exit]++
		if !free[page] {
			require.NotZero(t, exit, "page %d", page)
		}
	}
	t.Logf("exit codes: %v", exits)
}

// freePages are those that nothing hangs on.
func freePages(t *testing.T, name string) map[int64]bool {
	t.Helper()
	db, err := openReadOnly(filepath.Dir(name))
	require.NoError(t, err)
	defer db.Close()
	tx, err := db.Begin(false)
	require.NoError(t, err)
	defer func() { require.NoError(t, tx.Rollback()) }()
	free := map[int64]bool{}
	for page := 0; ; page++ {
		info, err := tx.Page(page)
		require.NoError(t, err)
		if info == nil {
			return free
		}
		free[int64(page)] = info.Type == "free"
	}
}

func verifyInChild(t *testing.T, dir string) int {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childMode+"=verify", childDir+"="+dir)
	if err := child.Run(); child.ProcessState == nil {
		require.NoError(t, err)
	}
	return child.ProcessState.ExitCode()
}
