package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Two people settle the same packs at once: one wins, the other is told.
func TestPacksHaveOneEnd(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	entry, other := h.newID(), h.newID()
	settle := func(packs record.ID, count, listed, logged int) error {
		e := h.direct()
		_, err := h.write(t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: p, Listed: listed,
				Logged: logged, Who: rules.GetPerson(v, e.By),
				Step: &record.PackSettled{Packs: packs, Count: count, End: "repackaged"}}, now)
		})
		return err
	}
	require.NoError(t, settle(entry, 7, 10, 8))
	require.Equal(t, fault.Stale, fault.CodeOf(settle(entry, 2, 10, 8)), "one of the entry is left")
	require.Equal(t, fault.Stale, fault.CodeOf(settle(other, 4, 10, 5)), "three of the list are left")
	require.NoError(t, settle(entry, 1, 10, 8))
	require.NoError(t, settle(record.ID{}, 2, 10, 0))
	require.Equal(t, fault.Stale, fault.CodeOf(settle(record.ID{}, 1, 10, 0)))
	require.NoError(t, settle(record.ID{}, 3, 0, 0), "without a pack log nobody knows how many there are")
	require.Len(t, h.problem(p).Settled, 4)
}

func TestNotFoundIsForTheLeadToSign(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	lost := &record.PackSettled{Count: 2, End: "not-found", Reason: "no trace in store"}
	_, err := h.stepBy(h.direct(), p, lost)
	require.Equal(t, fault.Forbidden, fault.CodeOf(err))
	h.step(p, lost)
	require.Equal(t, h.lead, h.problem(p).Settled[0].By)
}

func TestWhatIsSeenOnBehalfOfSomebodyIsTheirs(t *testing.T) {
	h, _, p := startAt(t, "out of service")
	e := h.direct()
	e.By, e.OnBehalfOf = h.lead, h.newID()
	_, err := h.stepBy(e, p, &record.Seen{})
	require.NoError(t, err)
	require.Equal(t, e.OnBehalfOf, h.problem(p).Seen[0].By)
}
