package rules_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// whichSealer answers for all sealers of the department as the desk asks it.
func (h *house) whichSealer() []rules.Served {
	d := rules.GetDepartment(h, h.dept)
	var sealers []*rules.Sealer
	var standing []record.Readiness
	for _, id := range d.Sealers {
		sealers = append(sealers, h.its(id))
		standing = append(standing, rules.Standing(h, h.its(id), h.now()))
	}
	return rules.WhichSealer(h, d, sealers, standing, h.now())
}

// in writes what is served as "ready 1 check 4 change 5:40 out 2 not 3".
func in(s rules.Served) (text string) {
	list := func(word string, sealers []*rules.Sealer) {
		for _, x := range sealers {
			text += word + " " + x.Number + " "
		}
	}
	list("ready", s.Ready)
	list("check", s.Check)
	for _, w := range s.Changeover {
		text += fmt.Sprintf("change %s:%d ", w.Sealer.Number, w.Minutes)
	}
	list("out", s.Out)
	list("not", s.Unapproved)
	return text
}

func TestWhichSealerForWhichPouchAndThoseWithNoneFirst(t *testing.T) {
	h := newHouse(t)
	gusseted := h.newID()
	h.setUp(pouchOf(gusseted), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "Gusseted", Material: record.Gusseted}})
	one, two, five := h.bar("1"), h.bar("2"), h.shared("5")
	h.at("2026-01-13 07:00")
	h.pass(one, h.paper)
	h.pass(five, h.paper)
	h.found(two, record.Channel)

	served := h.whichSealer()
	require.Equal(t, gusseted, served[0].Pouch.ID, "nothing can seal it: first")
	require.Equal(t, rules.CannotSeal, served[0].Urgency())
	require.Equal(t, "not 1 not 2 not 5 ", in(served[0]))
	require.Equal(t, h.nonwoven, served[1].Pouch.ID)
	require.Equal(t, rules.NoneReady, served[1].Urgency())
	require.Equal(t, "change 5:40 not 1 not 2 ", in(served[1]), "cooling takes the 40 minutes of the plan")
	require.Equal(t, h.paper, served[2].Pouch.ID)
	require.Equal(t, rules.SomeReady, served[2].Urgency())
	require.Equal(t, "ready 1 ready 5 out 2 ", in(served[2]))

	_, err := h.changeover(h.direct(), five, h.nonwoven)
	require.NoError(t, err)
	h.later(minutes(10))
	served = h.whichSealer()
	require.Equal(t, "change 5:31 not 1 not 2 ", in(served[1]), "what is left of the 40 minutes, and not a minute too early")
	h.later(minutes(31))
	require.Equal(t, "check 5 not 1 not 2 ", in(h.whichSealer()[1]))

	h.at("2026-01-14 06:00")
	served = h.whichSealer()
	require.Equal(t, "check 1 change 5:15 out 2 ", in(served[1]), "a new day: a check for the same pouch, warming up for another")
}

// What has to happen first is told for each sealer by itself.
func TestWhichSealerTellsWhatStandsInTheWay(t *testing.T) {
	h := newHouse(t)
	third := h.newID()
	gusseted := record.PouchFacts{Name: "Gusseted", Material: record.Gusseted}
	h.setUp(pouchOf(third), &record.PouchAdded{PouchFacts: gusseted})
	five, six, seven := h.shared("5"), h.shared("6"), h.shared("7")
	for _, s := range []record.ID{five, six, seven} {
		h.approve(s, third, "150")
	}
	for _, served := range h.whichSealer() {
		require.Equal(t, "check 5 check 6 check 7 ", in(served), "nobody has decided yet what they stand for")
	}

	h.at("2026-01-13 07:00")
	h.pass(five, h.paper)
	h.pass(six, h.nonwoven)
	h.disturb(h.direct(), record.PowerOff, seven)
	by := func(pouch record.ID) string {
		for _, served := range h.whichSealer() {
			if served.Pouch.ID == pouch {
				return in(served)
			}
		}
		return "not listed"
	}
	require.Equal(t, "change 5:40 change 6:15 change 7:40 ", by(third),
		"down from 180, up from 125, and from nobody knows where")
	h.disturb(h.direct(), record.PowerOff, five)
	require.Equal(t, "change 5:16 change 6:15 change 7:40 ", by(h.paper), "warming up, and not a minute too early")
	require.Equal(t, "ready 6 change 5:40 change 7:40 ", by(h.nonwoven), "that warming up is for paper")

	h.setUp(record.Subject{Type: record.Sealer, ID: six}, &record.ApprovalEnded{Pouch: h.paper, Why: "none left"})
	require.Equal(t, "change 5:16 change 7:40 not 6 ", by(h.paper), "no setting is approved any more")
	gusseted.Retired = true
	h.setUp(pouchOf(third), &record.PouchRevised{PouchFacts: gusseted, Reason: "used up"})
	require.Equal(t, "not listed", by(third))
	require.Equal(t, "change 5:16 change 7:40 not 6 ", by(h.paper), "its approvals count for no other pouch")
}

// What it says of a pouch and a sealer is what MaySeal says of them.
func TestReadyOnTheBoardIsReadyAtTheSealer(t *testing.T) {
	h := newHouse(t)
	for i := range 12 {
		s := h.shared(fmt.Sprint(i))
		switch i % 4 {
		case 1:
			h.pass(s, h.paper)
		case 2:
			h.pass(s, h.nonwoven)
		case 3:
			h.pass(s, h.paper)
			h.found(s, record.Weak)
		}
	}
	for _, served := range h.whichSealer() {
		for _, id := range rules.GetDepartment(h, h.dept).Sealers {
			s := h.its(id)
			require.Equal(t, rules.MaySeal(h, s, served.Pouch.ID, h.now()), slices.Contains(served.Ready, s))
		}
	}
}

// 200 sealers, each approved for all 30 pouches, half of them ready: the answer
// beside one pass over the same approvals that only counts them.
func BenchmarkWhichSealer(b *testing.B) {
	h := newHouse(b)
	for i := range 28 {
		h.setUp(pouchOf(h.newID()), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: fmt.Sprint("Pouch ", i), Material: record.PaperFilm}})
	}
	d := rules.GetDepartment(h, h.dept)
	var sealers []*rules.Sealer
	var standing []record.Readiness
	for i := range 200 {
		s := h.sealer(fmt.Sprint(i), record.BarDisplay)
		for k, p := range d.Pouches {
			h.approve(s, p, fmt.Sprint(120+k))
		}
		if i%2 == 0 {
			h.pass(s, d.Pouches[i%30])
		}
	}
	d = rules.GetDepartment(h, h.dept)
	for _, id := range d.Sealers {
		sealers = append(sealers, h.its(id))
		standing = append(standing, rules.Standing(h, h.its(id), h.now()))
	}
	b.Run("answer", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.Len(b, rules.WhichSealer(h, d, sealers, standing, h.now()), 30)
		}
	})
	b.Run("one-pass", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			n, day := 0, d.Day(h.now())
			for _, s := range sealers {
				for _, p := range d.Pouches {
					if a, _ := s.Approval(h, p, day); a != nil {
						n++
					}
				}
			}
			require.Equal(b, 6000, n)
		}
	})
}
