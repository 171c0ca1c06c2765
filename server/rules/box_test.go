package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

func (h *house) opened(b record.BoxOpened) error {
	_, err := h.trySetUp(record.Subject{Type: record.Department, ID: h.dept}, &b)
	return err
}

func day(text string) record.Date { return record.DateOf(local(text + " 12:00").Time()) }

func TestAGoodCheckWithAnExpiredTestBoxIsRefusedAndAFailIsNot(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 07:00")
	require.NoError(t, h.opened(record.BoxOpened{What: record.DyeBox, Lot: "D-09", Expires: day("2026-01-13")}))
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)

	h.at("2026-01-14 07:00")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "The test box of lot D-09 expired on 2026-01-13. Open a new one, then test again.")

	p := h.phone()
	r, err := h.check(p.kept("2026-01-14 06:50"), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.NoError(t, err, "what did happen is kept")
	require.Equal(t, "kit-expired", r.Effect.Nothing)
	require.Equal(t, record.CheckDue, h.standing(s).State)

	require.NoError(t, h.opened(record.BoxOpened{What: record.DyeBox, Lot: "D-10", Expires: day("2027-06-30")}))
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)

	h.at("2027-07-02 07:00")
	r = h.tested(s, h.paper, record.Fail)
	require.Equal(t, record.OutOfService, h.standing(s).State, "a fail counts, whatever the date on the box")
	require.NotZero(t, r.Effect.Opens)
}

func TestANewBoxTakesThePlaceOfTheOneBeforeOfItsKind(t *testing.T) {
	h := newHouse(t)
	for _, b := range []record.BoxOpened{
		{What: record.DyeBox, Lot: "D-1"}, {What: record.IndicatorBox, Lot: "I-1"}, {What: record.DyeBox, Lot: "D-2"},
		{What: record.PouchBox, Pouch: h.paper, Lot: "P-1"}, {What: record.PouchBox, Pouch: h.nonwoven, Lot: "N-1"},
	} {
		require.NoError(t, h.opened(b))
	}
	d := rules.GetDepartment(h, h.dept)
	require.Equal(t, "D-2", d.Box(record.DyeBox, record.ID{}).Lot)
	require.Equal(t, "I-1", d.Box(record.IndicatorBox, record.ID{}).Lot)
	require.Equal(t, "N-1", d.Box(record.PouchBox, h.nonwoven).Lot)
	require.Len(t, d.Boxes, 4)
}

func TestABoxThatMayNotBeUsedIsRefused(t *testing.T) {
	h := newHouse(t)
	h.at("2026-01-13 07:00")
	h.setUp(pouchOf(h.paper), &record.LotHeld{Lot: "L-7"})
	for field, b := range map[string]record.BoxOpened{
		"expires": {What: record.DyeBox, Lot: "D-1", Expires: day("2026-01-12")},
		"lot":     {What: record.PouchBox, Pouch: h.paper, Lot: "L-7"},
		"what":    {What: "gloves", Lot: "1"},
		"pouch":   {What: record.PouchBox, Lot: "1"},
	} {
		require.Equal(t, field, fieldOf(h.opened(b)), "%+v", b)
	}
	require.Equal(t, "lot", fieldOf(h.opened(record.BoxOpened{What: record.DyeBox, Lot: " "})))
	require.NoError(t, h.opened(record.BoxOpened{What: record.DyeBox, Lot: "D-1", Expires: day("2026-01-13")}), "to the last day")
}

// A check that names another lot was not made with the box in use.
func TestACheckMadeWithABoxThatIsNotKnownHereIsTaken(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 07:00")
	require.NoError(t, h.opened(record.BoxOpened{What: record.DyeBox, Lot: "D-09", Expires: day("2026-01-13")}))
	h.at("2026-01-14 07:00")
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Kit: "D-09"})
	require.ErrorContains(t, err, "expired")
	_, err = h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass, Kit: "borrowed 4"})
	require.NoError(t, err)
	h.requireReady(s, h.paper)
}

func TestABoxOfAPouchThatIsNotUsedAnyMoreIsRefused(t *testing.T) {
	h := newHouse(t)
	facts := rules.GetPouch(h, h.nonwoven).PouchFacts
	facts.Retired = true
	h.setUp(pouchOf(h.nonwoven), &record.PouchRevised{PouchFacts: facts, Reason: "used up"})
	require.Equal(t, "pouch", fieldOf(h.opened(record.BoxOpened{What: record.PouchBox, Pouch: h.nonwoven, Lot: "N-1"})))
}
