package demo_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/people"
)

// site is a demo on real stores.
type site struct {
	demo.Hospital
	desk   *desk.Desk
	ledger *ledger.Ledger
	now    time.Time
}

// build makes a demo that ends at a moment, and verifies its ledger in the end.
func build(t testing.TB, now time.Time) *site {
	t.Helper()
	dir := t.TempDir()
	clock := demo.NewClock(func() time.Time { return now })
	l, err := ledger.Open(ledger.Options{Dir: dir, Fold: desk.Fold(), Demo: true, Clock: clock.Now})
	require.NoError(t, err)
	p, err := people.Open(filepath.Join(dir, "people.db"), people.Options{Pepper: make([]byte, 32), Argon: demo.Argon})
	require.NoError(t, err)
	photos, err := durable.OpenFolder(filepath.Join(dir, "photos"))
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, p.Close())
		require.NoError(t, l.Close())
		report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: desk.Fold()})
		require.NoError(t, err)
		require.Empty(t, report.Wrong)
	})
	d := desk.New(desk.Options{Ledger: l, People: p, Photos: photos, Clock: clock.Now, Demo: true})
	h, err := demo.Build(t.Context(), d, clock, now)
	require.NoError(t, err)
	require.Equal(t, now, clock.Now())
	return &site{h, d, l, now}
}

func TestX(t *testing.T) {
	s := build(t, time.Date(2026, 11, 25, 14, 3, 0, 0, time.UTC))
	t.Log(s.ledger.Size(), s.Hospital)
}
