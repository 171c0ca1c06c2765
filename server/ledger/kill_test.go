package ledger

import (
	"bufio"
	"flag"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

var kills = flag.Int("kills", 30, "how often the child is killed with a commit under way")

// A child is killed at random moments, again and again on the same folder. Only
// kills that hit a commit count.
func TestAKilledProcessLosesNothingThatItAcknowledged(t *testing.T) {
	var dir string
	var acknowledged []record.ID
	counted, all, records, unheard := 0, 0, 0, 0
	for ; counted < *kills; all++ {
		require.Less(t, all, 10**kills, "the kills do not hit commits")
		if all%10 == 0 { // so that verifying does not take longer and longer
			dir, acknowledged = filepath.Join(t.TempDir(), "data"), nil
			records = 0
			require.NoError(t, os.Mkdir(dir, 0o700))
		}
		got, underWay := killedChild(t, dir)
		acknowledged = append(acknowledged, got...)
		if underWay {
			counted++
		}
		size := afterKill(t, dir, acknowledged)
		unheard += size - records - len(got)
		records = size
	}
	t.Logf("%d kills, %d%% of them with a commit under way; %d records were stored, "+
		"but not yet acknowledged", all, 100*counted/all, unheard)
}

// killedChild starts a child, kills it while it appends and returns what it had
// acknowledged.
func killedChild(t *testing.T, dir string) (ids []record.ID, underWay bool) {
	shared := openFlag(filepath.Join(dir, "..", "flag"))
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childMode+"=kill", childDir+"="+dir)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := make(chan []record.ID)
	first := make(chan struct{})
	go func() { lines <- readIDs(out, first) }()
	<-first
	time.Sleep(time.Duration(rand.IntN(40_000)) * time.Microsecond)
	end := time.Now().Add(time.Second)
	at := time.Now().Add(time.Duration(rand.IntN(3000)) * time.Microsecond)
	for now := time.Now(); now.Before(end) && (shared[0] != 1 || now.Before(at)); now = time.Now() {
	}
	underWay = shared[0] == 1
	require.NoError(t, child.Process.Kill())
	ids = <-lines
	require.Error(t, child.Wait(), "it was killed")
	return ids, underWay
}

// readIDs reads lines of ids; a last line that was cut is no acknowledgement.
func readIDs(from io.Reader, first chan struct{}) (ids []record.ID) {
	in := bufio.NewReader(from)
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			return ids
		}
		if len(ids) == 0 {
			close(first)
		}
		id, err := record.ParseID(line[:len(line)-1])
		must(err)
		ids = append(ids, id)
	}
}

// afterKill checks the folder and returns how many records it holds.
func afterKill(t *testing.T, dir string, acknowledged []record.ID) int {
	report, err := Verify(Verification{Dir: dir, Fold: benchFold()})
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
	l, err := Open(Options{Dir: dir, Fold: benchFold()})
	require.NoError(t, err)
	for _, id := range acknowledged {
		_, found, err := l.Find(id)
		require.NoError(t, err)
		require.True(t, found, "acknowledged and lost: %s", id)
	}
	require.NoError(t, l.Close())
	return int(report.Size)
}
