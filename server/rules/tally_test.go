package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

func TestGoodTestSealsAreCountedByPlaceSinceTheLastFault(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	clean := func(p record.Place) int { return h.its(s).Tally.Clean.At(p) }
	h.at("2026-01-13 07:00")
	h.pass(s, h.paper)
	h.at("2026-01-14 07:00")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Places: []record.Place{record.Whole}})
	require.NoError(t, err)
	require.Equal(t, []int{2, 2, 2, 1}, []int{clean(record.Left), clean(record.Middle), clean(record.Right), clean(record.Whole)},
		"a pouch as wide as the bar tests each place")

	_, err = h.check(h.typed("2026-01-14 05:30", "2026-01-14 05:31"), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.NoError(t, err)
	require.Equal(t, 2, clean(record.Left), "written down late: no witness")

	h.later(minutes(30))
	h.found(s, record.Crease)
	require.Equal(t, 2, clean(record.Left), "a fault of packing says nothing about the bar")
	h.badSeal(h.direct(), s, record.BadSeal{Kind: record.Channel, MakersSeal: true, Pouch: h.paper, Lot: "7", Found: record.AtBench})
	require.Equal(t, 2, clean(record.Left), "nor does the maker's seal")
	h.found(s, record.Channel)
	require.Zero(t, clean(record.Left))
	require.Equal(t, h.clock, h.its(s).Tally.Clean.Since)
	require.Equal(t, map[record.Fault]int{record.Crease: 1, record.Channel: 2}, h.its(s).Tally.Faults)
}

// Whatever takes the sealer out ends the row, whether it opens a problem or is one
// more fault of it.
func TestEveryFaultOfTheBarEndsTheRow(t *testing.T) {
	for name, fault := range map[string]func(h *house, s record.ID){
		"a failed check": func(h *house, s record.ID) { h.tested(s, h.paper, record.Fail) },
		"a failed return check": func(h *house, s record.ID) {
			h.handBack(h.found(s, record.Channel).ID)
			h.later(minutes(20))
			h.pass(s, h.paper)
			require.NotZero(h.t, h.its(s).Tally.Clean.At(record.Left))
			h.tested(s, h.paper, record.Fail)
		},
		"a second test that is not valid": func(h *house, s record.ID) {
			for range 2 {
				_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.NotValid, Reason: "dye-crept"})
				require.NoError(h.t, err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.bar("1")
			h.at("2026-01-13 07:00")
			h.pass(s, h.paper)
			h.later(minutes(30))
			fault(h, s)
			require.Equal(t, record.OutOfService, h.standing(s).State)
			require.Zero(t, h.its(s).Tally.Clean.At(record.Left))
			require.Equal(t, h.clock, h.its(s).Tally.Clean.Since)
		})
	}
}

// A good seal of the very moment of the fault does not come after it.
func TestAGoodSealCountsOnlyAfterTheFault(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 07:00")
	h.pass(s, h.paper)
	p := h.phone()
	h.later(minutes(5))
	at := "2026-01-13 07:05"
	h.found(s, record.Channel)
	h.later(minutes(1))
	r, err := h.check(p.kept(at), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.NoError(t, err)
	require.Equal(t, local(at), r.Happened.From)
	require.False(t, r.Late)
	require.Zero(t, h.its(s).Tally.Clean.At(record.Left))
}

func TestSecondSealsAreRememberedByTheirTime(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 07:00")
	h.found(s, record.Crease)
	require.Empty(t, h.its(s).Tally.Second)
	h.later(minutes(1))
	h.found(s, record.SecondSeal)
	require.Equal(t, []record.Time{h.clock}, h.its(s).Tally.Second)
}
