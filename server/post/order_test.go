package post_test

import (
	"context"
	"errors"
	"os"
	"slices"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/ledger"
	"tidemark/server/post"
	"tidemark/server/record"
)

// The law of the outbox, whatever targets, persons, restarts and ends between
// delivery and its mark do: to one addressee about one problem all arrives in
// the order of the records, nothing is lost, and nothing comes twice unless the
// process ended just then.
func TestTheLawOfOrder(t *testing.T) {
	root := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(root, "")
		require.NoError(t, err)
		rapid.SyncTest(t, func(t *rapid.T) {
			m := &model{house: newHouse(openBox(t, dir)), about: map[string]int{}, count: map[letterOf]int{},
				allowed: map[letterOf]int{}, owed: map[letterOf]bool{}}
			m.people.took = m.took
			defer func() { // even if the law is broken
				m.stop()
				closeBox(t, m.box, dir)
			}()
			m.run()
			t.Repeat(map[string]func(*rapid.T){
				"tell": m.tellSome, "weather": m.weather, "sleep": m.sleep,
				"restart": func(*rapid.T) { m.run() }, "end before the mark": m.end,
				"resend": m.resendSome, "drop": m.drop, "": m.check,
			})
			m.calm(t)
		})
		require.NoError(t, os.RemoveAll(dir))
	})
}

// letterOf names a message by its addressee and subject.
type letterOf struct {
	to      record.ID
	subject string
}

// model is what the law allows.
type model struct {
	*house
	about   map[string]int    // the problem of a subject
	owed    map[letterOf]bool // told and not dropped
	count   map[letterOf]int  // deliveries
	allowed map[letterOf]int  // repeats
	broken  string            // how the law was broken first
	ending  bool              // nothing can be marked
	unsaid  []letterOf        // delivered since then
}

var everybody = []record.ID{ada, bruno, carla}

func (m *model) tellSome(t *rapid.T) {
	p := rapid.IntRange(1, 2).Draw(t, "problem")
	to := rapid.SliceOfNDistinct(rapid.SampledFrom(everybody), 1, 3, rapid.ID[record.ID]).Draw(t, "to")
	subject := strconv.Itoa(int(m.Size()))
	m.mu.Lock()
	m.about[subject] = p
	m.mu.Unlock()
	for _, id := range to {
		m.owed[letterOf{id, subject}] = true
	}
	m.tell(t, p, to...)
	synctest.Wait()
}

// weather changes what an addressee's target does.
func (m *model) weather(t *rapid.T) {
	verdicts := []post.Verdict{post.LeaveAlone, post.TryAgain, post.Refuse}
	v := rapid.SampledFrom(verdicts).Draw(t, "verdict")
	every := rapid.IntRange(0, 4).Draw(t, "of so many one fails")
	m.set(rapid.SampledFrom(everybody).Draw(t, "whose"), func(_ context.Context, l post.Letter) error {
		if every > 0 && number(l.Subject)%every == 0 {
			return &post.Failure{Verdict: v, Why: "bad weather"}
		}
		return nil
	})
}

func (m *model) sleep(t *rapid.T) {
	time.Sleep(time.Duration(rapid.IntRange(1, 2000).Draw(t, "seconds")) * time.Second)
	synctest.Wait() // the worker may have woken at the same instant
}

// end is a process that ends between a delivery and its mark, and the next one.
func (m *model) end(t *rapid.T) {
	m.mu.Lock()
	m.ending = true
	m.mu.Unlock()
	m.failDone(errors.New("ended"))
	m.sleep(t)
	m.stop()
	for _, l := range m.unsaid {
		m.allowed[l]++
	}
	m.ending, m.unsaid = false, nil
	m.failDone(nil)
	m.run()
}

func (m *model) resendSome(t *rapid.T) {
	if list := m.parked(t); len(list) > 0 {
		from := rapid.IntRange(0, len(list)-1).Draw(t, "from")
		m.resend(t, list[from:rapid.IntRange(from, len(list)).Draw(t, "to")]...)
	}
}

func (m *model) drop(t *rapid.T) {
	list := m.parked(t)
	if len(list) == 0 {
		t.Skip("nothing is parked")
	}
	p := rapid.SampledFrom(list).Draw(t, "dropped")
	require.NoError(t, m.Ledger.Done(ledger.Key(p.Key)))
	delete(m.owed, letterOf{p.To, strconv.Itoa(int(p.Seq))})
	m.worker.Wake()
	synctest.Wait()
}

// took is told of each delivery, in order, and what came to the addressee before.
// The lock of people is held.
func (m *model) took(to record.ID, subject string, before []string) {
	l := letterOf{to, subject}
	m.count[l]++
	if m.ending {
		m.unsaid = append(m.unsaid, l)
	}
	if m.count[l] > 1+m.allowed[l] {
		m.broken = subject + " came too often"
	}
	for _, s := range before {
		if m.about[s] == m.about[subject] && number(s) > number(subject) {
			m.broken = subject + " came after " + s
		}
	}
}

func number(subject string) int {
	n, _ := strconv.Atoi(subject)
	return n
}

func (m *model) check(t *rapid.T) {
	m.mu.Lock()
	defer m.mu.Unlock()
	require.Empty(t, m.broken)
}

// calm ends all bad weather and sends all that is parked.
func (m *model) calm(t *rapid.T) {
	for _, to := range everybody {
		m.set(to, nil)
	}
	m.resend(t, m.parked(t)...)
	time.Sleep(16 * time.Minute)
	synctest.Wait()
	m.check(t)
	require.Empty(t, m.pending(t))
	require.Empty(t, m.parked(t))
	for l := range m.owed {
		require.True(t, slices.Contains(m.subjects(l.to), l.subject), "%s is missing", l.subject)
	}
}
