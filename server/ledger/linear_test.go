package ledger

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// refusal is an answer that rests on what it saw.
type refusal struct {
	sealer record.Subject
	saw    benchState
}

func (r refusal) Error() string { return fmt.Sprintf("refused after record %d", r.saw.Last) }

// accepted is an answer, and what its decision saw.
type accepted struct {
	Receipt
	sealer record.Subject
	saw    benchState
}

// Many callers decide on what they see while commits fail now and then. Every
// answer that was given, refusals too, is what a replay of the ledger gives: it
// rests on nothing that never became true.
func TestEveryAnswerIsWhatAReplayGives(t *testing.T) {
	tr := newTrial(t)
	fails := failSome(tr.faultyStore)
	var mu sync.Mutex
	var yes []accepted
	var no []refusal
	full := 0
	var wait sync.WaitGroup
	for caller := range 32 {
		wait.Go(func() {
			random := rand.New(rand.NewPCG(uint64(caller), 5))
			for range 40 {
				got, err := tr.wish(random)
				refused := refusal{}
				mu.Lock()
				switch {
				case err == nil:
					yes = append(yes, got)
				case errors.As(err, &refused):
					no = append(no, refused)
				case fault.Is(err, fault.Full):
					full++
				default:
					t.Error(err)
				}
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	*tr.write = fails.real
	t.Logf("%d accepted, %d refused, %d not stored", len(yes), len(no), full)
	require.Positive(t, full)
	require.NotEmpty(t, no)
	tr.replay(yes, no)
}

// failingSome fails one commit in four: its first write after another commit's
// meta page.
type failingSome struct {
	real func([]byte, int64) (int, error)
}

func failSome(f *faultyStore) failingSome {
	some := failingSome{*f.write}
	random, first := rand.New(rand.NewPCG(3, 3)), true
	*f.write = func(b []byte, off int64) (int, error) {
		if meta := off < 2*4096; meta || !first {
			first = meta
			return some.real(b, off)
		}
		if random.IntN(4) == 0 {
			return 0, unixWrite(unix.ENOSPC)
		}
		first = false
		return some.real(b, off)
	}
	return some
}

// wish adds a check to one of four sealers, or is refused every third time by
// what it sees.
func (tr *trial) wish(random *rand.Rand) (got accepted, err error) {
	r := benchCheck(time.UnixMilli(1768305600000), random.IntN(4))
	r.ID = record.ID{1: byte(random.Uint32()), 8: byte(random.Uint32()), 9: byte(random.Uint32()),
		10: byte(random.Uint32())}
	got.sealer = r.Subject
	got.Receipt, err = tr.l.Append(tr.t.Context(), Command{ID: r.ID, Content: &r,
		Decide: func(v record.View, _ record.Time) ([]Draft, error) {
			if s, ok := v.Value(r.Subject).(*benchState); ok {
				got.saw = *s
			}
			if got.saw.Checks%3 == 2 && random.IntN(2) == 0 {
				return nil, refusal{r.Subject, got.saw}
			}
			return []Draft{{Record: r}}, nil
		}})
	return got, err
}

// replay folds the ledger again and compares every answer with the state that
// its sealer had at that place.
func (tr *trial) replay(yes []accepted, no []refusal) {
	t := tr.t
	before := map[record.Seq]benchState{}           // what a record was decided on
	had := map[record.Subject]map[benchState]bool{} // every state a sealer has had
	fold := folding{&state{subjects: map[record.Subject]entry{}}, map[record.Subject]struct{}{}}
	require.NoError(t, tr.l.Range(0, record.Seq(tr.l.Size()), func(r record.Record) error {
		if had[r.Subject] == nil {
			had[r.Subject] = map[benchState]bool{{}: true}
		}
		if s, ok := fold.Value(r.Subject).(*benchState); ok {
			before[r.Seq] = *s
		}
		err := fold.apply(tr.o.Fold, &r)
		had[r.Subject][*fold.Value(r.Subject).(*benchState)] = true
		return err
	}))
	for _, a := range yes {
		require.False(t, a.Repeat)
		require.Equal(t, before[a.First], a.saw)
	}
	for _, r := range no {
		require.True(t, had[r.sealer][r.saw], "%v rests on what never became true", r)
	}
	require.NoError(t, tr.l.Close())
	report, err := Verify(Verification{Dir: tr.o.Dir, Fold: tr.o.Fold})
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
}
