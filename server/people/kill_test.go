package people_test

import (
	"bufio"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/people"
)

// victimPath tells this test program, started anew, that it is the process to
// be killed.
const victimPath = "PEOPLE_VICTIM"

// TestVictim is no test unless started by TestKilled: it seals and erases
// without end and says on standard output what was confirmed.
func TestVictim(t *testing.T) {
	path := os.Getenv(victimPath)
	if path == "" {
		t.Skip("started by TestKilled")
	}
	store, err := people.Open(path, options())
	require.NoError(t, err)
	for n := 0; ; n++ {
		commitments, err := store.Seal(morning, name(secretOf(os.Getpid(), n)))
		require.NoError(t, err)
		fmt.Printf("sealed %d %x\n", n, commitments[0])
		require.NoError(t, store.Erase(commitments, evening))
		fmt.Printf("erased %d %x\n", n, commitments[0])
	}
}

func secretOf(pid, n int) string { return fmt.Sprintf("Quillon Vantreight %d/%d.", pid, n) }

// confirmed is what a victim said last about one of its values.
type confirmed struct {
	word       string
	secret     string
	commitment [32]byte
}

func TestKilled(t *testing.T) {
	h := newHouse(t)
	moments := rand.New(rand.NewPCG(20261125, 0))
	for range 8 {
		require.NoError(t, h.Close())
		last := runVictim(t, h.path, time.Duration(20+moments.IntN(60))*time.Millisecond)
		h.open() // needs no repair
		require.Equal(t, []string{"people.db"}, h.files())
		require.NoError(t, h.Verify())
		for _, c := range last {
			status := reveal(t, h, c.commitment).Status
			require.NotEqual(t, people.Missing, status, "a confirmed value is never lost")
			if c.word == "erased" {
				require.Equal(t, people.Erased, status)
			}
			require.Equal(t, status == people.Present, h.inFolder([]byte(c.secret)))
		}
	}
}

// runVictim starts a victim on a file, kills it that long after its first word
// and returns what it had confirmed.
func runVictim(t *testing.T, path string, after time.Duration) (last map[string]confirmed) {
	t.Helper()
	victim := exec.Command(os.Args[0], "-test.run=^TestVictim$")
	victim.Env = append(os.Environ(), victimPath+"="+path)
	out, err := victim.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, victim.Start())
	last = map[string]confirmed{}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if len(last) == 0 {
			time.AfterFunc(after, func() { _ = victim.Process.Kill() })
		}
		words := strings.Fields(lines.Text())
		if len(words) != 3 || len(words[2]) != 64 {
			continue // cut by the kill
		}
		var n int
		_, err := fmt.Sscan(words[1], &n)
		require.NoError(t, err)
		raw, err := hex.DecodeString(words[2])
		require.NoError(t, err)
		last[words[1]] = confirmed{words[0], secretOf(victim.Process.Pid, n), [32]byte(raw)}
	}
	require.NotEmpty(t, last)
	require.Error(t, victim.Wait(), "it was killed")
	return last
}
