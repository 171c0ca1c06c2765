package rules_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// step lets one thing happen in a world.
func (w *world) step() {
	w.clock = w.clock.Add(w.aWhile())
	p := rapid.SampledFrom(w.phones).Draw(w.rt, "phone")
	switch rapid.SampledFrom([]string{"direct", "direct", "direct", "stale", "keep", "typed", "kept", "kept", "send", "send", "sync", "office", "office", "odd", "back"}).Draw(w.rt, "how") {
	case "direct":
		w.tell(w.any(), w.direct())
	case "stale", "keep":
		e := w.direct()
		e.Seen -= int64(rapid.IntRange(0, 4).Draw(w.rt, "missed"))
		e.Keep = rapid.Bool().Draw(w.rt, "keep")
		w.tell(w.any(), e)
	case "typed":
		e := w.direct()
		to := w.clock.Add(-w.aWhile())
		e.Happened = record.Span{From: to.Add(-time.Duration(rapid.IntRange(0, 5).Draw(w.rt, "span")) * time.Minute), To: to, Said: record.Typed}
		w.tell(w.any(), e)
	case "kept":
		p.queue = append(p.queue, w.any())
	case "send":
		if len(p.queue) > 0 {
			w.send(p)
		}
	case "sync":
		p.seen = w.size()
	case "office":
		w.office()
	case "odd":
		e := w.direct()
		e.Via = rapid.SampledFrom([]record.Via{record.ViaNone, record.ViaImport, record.ViaPIN}).Draw(w.rt, "via")
		if rapid.Bool().Draw(w.rt, "doubtful") {
			e.Queued, e.Happened = true, record.Span{From: w.clock, To: w.clock, Said: record.Doubtful}
		}
		w.tell(w.any(), e)
	case "back":
		w.clock = w.clock.Add(-w.aWhile())
	}
}

// requireAsTheOracleSays compares what the rules say with what the records say.
func (w *world) requireAsTheOracleSays() {
	if len(w.its(w.s).Touches) == 16 {
		return // more than is remembered; TestWhatIsNoLongerRememberedStillStandsInTheWay
	}
	n, now := len(w.oracle.rs), w.now()
	st, story := w.standing(w.s), "\n"+strings.Join(w.acts, "\n")
	out, retired := w.oracle.out(n), w.oracle.retired(n)
	require.Equal(w.rt, retired, st.State == record.Retired, story)
	require.Equal(w.rt, out && !retired, st.State == record.OutOfService || st.State == record.WithEngineering, story)
	for _, pouch := range []record.ID{w.paper, w.nonwoven} {
		for _, later := range []time.Duration{0, time.Hour, 12 * time.Hour, 24 * time.Hour, 30 * time.Hour} {
			at := now.Add(later)
			require.Equal(w.rt, w.oracle.maySeal(pouch, at), rules.MaySeal(w, w.its(w.s), pouch, at), "%s%s", at, story)
		}
	}
	require.Equal(w.rt, w.oracle.need(n, now), st.Need, story)
	require.Equal(w.rt, w.oracle.good(n, now), st.Good, story)
	require.Equal(w.rt, w.oracle.settling(n, now) && !out && !retired, st.State == record.NotReady, story)
}

func TestReadinessIsWhatAllTheRecordsSay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt, t)
		for range rapid.IntRange(1, 24).Draw(rt, "steps") {
			w.step()
			w.requireAsTheOracleSays()
		}
	})
}
