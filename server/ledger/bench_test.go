package ledger

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"

	"tidemark/server/record"
)

// roundTime is how long each side of a round runs.
const roundTime = 700 * time.Millisecond

// BenchmarkAppend compares the whole append of a check (envelope, tree, ids of
// phones whose clocks are off by up to a minute, one message in twenty, state)
// with a bare bbolt group append of the same bytes by the same adaptive writer.
// The body's JSON is ready on one side as the whole line is on the other.
// Each iteration is one round of both sides on new files; the metric
// full/bare is the median of the rounds' ratios:
//
//	go test -run xxx -bench Append -benchtime 9x ./server/ledger
func BenchmarkAppend(b *testing.B) {
	for _, callers := range []int{1, 16, 64, 256} {
		b.Run(fmt.Sprintf("callers=%d", callers), func(b *testing.B) {
			var ratios, fulls, bares []float64
			for b.Loop() {
				full := perSecond(callers, appendFull(b))
				bare := perSecond(callers, appendBare(b))
				fulls, bares = append(fulls, full), append(bares, bare)
				ratios = append(ratios, full/bare)
			}
			b.ReportMetric(median(ratios), "full/bare")
			b.ReportMetric(median(fulls), "full/s")
			b.ReportMetric(median(bares), "bare/s")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func median(all []float64) float64 {
	slices.Sort(all)
	return all[len(all)/2]
}

// side is one of the two that are compared.
type side struct {
	one func(caller, n int) // appends one record
	end func()
}

// perSecond runs a side from many goroutines and returns its records a second.
func perSecond(callers int, s side) float64 {
	defer s.end()
	var done atomic.Int64
	var wait sync.WaitGroup
	began := time.Now()
	for caller := range callers {
		wait.Go(func() {
			for n := 0; time.Since(began) < roundTime; n++ {
				s.one(caller, n)
				done.Add(1)
			}
		})
	}
	wait.Wait()
	return float64(done.Load()) / time.Since(began).Seconds()
}

// benchState is the value of a sealer in the benchmarks, of a realistic size.
type benchState struct {
	Readiness record.Readiness
	Checks    int
	Last      record.Seq
}

func benchFold() Fold {
	return Fold{Shape: 1,
		Evolve: func(s record.Stage, r *record.Record) {
			next := benchState{}
			if old, ok := s.Value(r.Subject).(*benchState); ok {
				next = *old
			}
			next.Readiness, next.Last = *r.Effect.Readiness, r.Seq
			next.Checks++
			s.Set(r.Subject, &next)
		},
		Decode: func(_ record.Type, b []byte) (any, error) {
			s := new(benchState)
			return s, json.Unmarshal(b, s)
		}}
}

// phoneID is an id whose first 6 bytes are a phone's clock, as UUIDv7 has it.
func phoneID(at time.Time) (id record.ID) {
	skew := time.Duration(rand.Int64N(int64(2*time.Minute))) - time.Minute
	binary.BigEndian.PutUint64(id[:], uint64(at.Add(skew).UnixMilli())<<16)
	binary.BigEndian.PutUint64(id[8:], rand.Uint64())
	return id
}

// benchBody is a check as the caller hands it over, its body already encoded.
var benchBody = func() record.Record {
	r, err := record.New(&record.Check{Pouch: record.ID{7}, Approval: 3, Outcome: record.Pass,
		Places: []record.Place{record.Left, record.Middle, record.Right},
		Tests:  []record.Test{record.Look, record.Dye}, Shown: "180", Kit: "D2207"})
	must(err)
	return r
}()

// benchCheck is a check of one of 40 sealers as the desk and the rules make it.
func benchCheck(at time.Time, n int) record.Record {
	r := benchBody
	now := record.TimeOf(at)
	r.ID = phoneID(at)
	r.Day, r.Dept, r.By, r.Via = record.DateOf(at), record.ID{2}, record.ID{3, byte(n)}, record.ViaPIN
	r.Subject = record.Subject{Type: record.Sealer, ID: record.ID{4, byte(n % 40)}}
	r.Dev, r.DevN, r.Made, r.Sent = record.ID{5, byte(n)}, int64(n), now, now
	r.Happened, r.Meaning = record.Moment(now), record.Did
	r.Effect.Readiness = &record.Readiness{State: record.Ready, Pouch: record.ID{7}, Approval: 3,
		Day: r.Day, From: now, Check: 12, CheckAt: now}
	return r
}

func benchOpen(b testing.TB, dir string) *Ledger {
	l, err := Open(Options{Dir: dir, Fold: benchFold()})
	require.NoError(b, err)
	return l
}

func appendFull(b *testing.B) side {
	l := benchOpen(b, b.TempDir())
	one := func(caller, n int) {
		at := time.Now()
		r := benchCheck(at, caller+n)
		r.Seen = int64(l.Head(r.Subject))
		_, err := l.Append(context.Background(), Command{ID: r.ID, Content: &r,
			Decide: func(v record.View, now record.Time) ([]Draft, error) {
				if s, ok := v.Value(r.Subject).(*benchState); ok && s.Readiness.State == record.Retired {
					return nil, context.Canceled
				}
				d := Draft{Record: r}
				if n%20 == 0 {
					d.Outbox = []Message{{Route: "told", To: r.By}}
				}
				return []Draft{d}, nil
			}})
		if err != nil {
			b.Error(err)
		}
	}
	return side{one, func() { require.NoError(b, l.Close()) }}
}

// appendBare stores ready-made lines under their sequence numbers, in groups
// made by the same queue, and nothing else.
func appendBare(b *testing.B) side {
	type line struct {
		bytes []byte
		done  chan struct{}
	}
	db, err := bolt.Open(filepath.Join(b.TempDir(), "bare.db"), 0o600, boltOptions())
	require.NoError(b, err)
	require.NoError(b, db.Update(func(tx *bolt.Tx) error {
		_, err := tx.CreateBucket(inRecords)
		return err
	}))
	q, stopped, seq := newQueue[line](), make(chan struct{}), int64(0)
	go func() {
		defer close(stopped)
		var group []line
		for {
			group = slices.AppendSeq(group[:0], q.group())
			if len(group) == 0 {
				return
			}
			began := time.Now()
			err := db.Update(func(tx *bolt.Tx) error {
				bucket := growing(tx, inRecords)
				for i := range group {
					if err := bucket.Put(key(seq), group[i].bytes); err != nil {
						return err
					}
					seq++
				}
				return nil
			})
			if err != nil {
				b.Error(err)
			}
			for i := range group {
				close(group[i].done)
			}
			q.report(time.Since(began))
		}
	}()
	lines := benchLines(b)
	one := func(caller, n int) {
		l := line{lines[(caller+n)%len(lines)], make(chan struct{})}
		q.people <- l
		<-l.done
	}
	return side{one, func() {
		close(q.done)
		<-stopped
		require.NoError(b, db.Close())
	}}
}

// benchLines are lines as the full side makes them.
func benchLines(b testing.TB) [][]byte {
	lines := make([][]byte, 1024)
	for i := range lines {
		r := benchCheck(time.Now(), i)
		r.Seq, r.Prev, r.At = record.Seq(3000+i), record.Seq(2900+i), r.Made
		r.Seen = int64(2900 + i)
		lines[i] = r.Append(nil)
	}
	return lines
}
