package post_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/post"
	"tidemark/server/record"
)

// pausesOf returns how long the worker waits after each of the first failures.
func pausesOf(t *testing.T, chance float64, f post.Failure, n int) (list []time.Duration) {
	inHouse(t, func(t *testing.T, h *house) {
		h.o.Rand = func() float64 { return chance }
		waits := make(chan time.Duration, 1)
		var last time.Time
		h.set(ada, func(context.Context, post.Letter) error {
			if !last.IsZero() {
				waits <- time.Since(last)
			}
			last = time.Now()
			return &f
		})
		h.tell(t, 1, ada)
		h.run()
		for range n {
			list = append(list, <-waits)
		}
		h.set(ada, nil)
		synctest.Wait()
	})
	return list
}

func TestPausesDoubleUpToAQuarterOfAnHour(t *testing.T) {
	for _, v := range []post.Verdict{post.LeaveAlone, post.TryAgain} {
		got := pausesOf(t, 0, post.Failure{Verdict: v}, 12)
		for n, seconds := range []int{2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900, 900} {
			require.Equal(t, time.Duration(seconds)*time.Second, got[n])
		}
	}
}

func TestChanceTakesHalfOfAPauseAtMost(t *testing.T) {
	require.Equal(t, []time.Duration{time.Second, 2 * time.Second, 4 * time.Second},
		pausesOf(t, 1, post.Failure{}, 3))
	require.Equal(t, []time.Duration{1500 * time.Millisecond, 3 * time.Second},
		pausesOf(t, 0.5, post.Failure{}, 2))
}

func TestATargetMayAskForMoreTimeButNotForEver(t *testing.T) {
	for asked, want := range map[time.Duration]time.Duration{
		time.Second: 2 * time.Second, 2 * time.Hour: 2 * time.Hour, 90 * time.Hour: 24 * time.Hour,
	} {
		require.Equal(t, []time.Duration{want}, pausesOf(t, 0, post.Failure{After: asked}, 1))
	}
}

func TestWhatAPersonDroppedIsNotShownForEver(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.set(ada, fails(post.TryAgain, "500"))
		h.tell(t, 1, ada)
		h.run()
		time.Sleep(time.Minute)
		require.Len(t, h.worker.Waiting(), 1)
		require.NoError(t, h.Ledger.Done(h.pending(t)[0].Key))
		time.Sleep(time.Hour)
		require.Empty(t, h.worker.Waiting())
	})
}

// damaged is an author who cannot read one record.
type damaged struct {
	author
	seq record.Seq
}

func (d damaged) Problem(seq record.Seq) (record.ID, error) {
	if seq == d.seq {
		return record.ID{}, errors.New("bytes do not hash to their leaf")
	}
	return d.author.Problem(seq)
}

func TestARecordThatCannotBeReadHoldsUpOnlyItsAddressee(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.tell(t, 1, ada)
		h.tell(t, 1, bruno)
		h.tell(t, 1, ada)
		h.runWith(damaged{author{box: h.box}, 0})
		require.Equal(t, []string{"1"}, h.subjects(bruno))
		require.Empty(t, h.subjects(ada), "which comes first cannot be told")
		require.Contains(t, h.worker.Waiting()[0].Why, "cannot be read")
	})
}
