package rules_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// world is a house in which things happen at random, at the sealer, on phones
// that are offline and on paper, and an oracle that is told all of it.
type world struct {
	*house
	rt     *rapid.T
	s      record.ID
	oracle *oracle
	phones []*pocket
	acts   []string // what was told, for the message of a failure
	told   int      // records that the oracle has heard
	facts  map[record.Seq]bool
	nows   map[record.Seq]record.Time
}

// pocket is a phone that was offline for a while.
type pocket struct {
	phone
	off   time.Duration
	queue []thing
}

// thing is what somebody did or saw: its entry is made when it is sent.
type thing struct {
	name   string
	at     record.Time // true time
	to     record.Time // true end
	decide func(e rules.Entry) decision
}

func newWorld(rt *rapid.T, t *testing.T) *world {
	w := &world{house: newHouse(t), rt: rt, facts: map[record.Seq]bool{}, nows: map[record.Seq]record.Time{}}
	w.plan(record.BarDisplay, func(p *record.Plan) {
		p.ReturnGood = rapid.IntRange(1, 3).Draw(rt, "return good")
		if rapid.Bool().Draw(rt, "middle only") {
			p.Places = []record.Place{record.Middle}
		}
	})
	w.s = w.shared("5")
	w.clock = local("2026-03-07 06:00") // the clocks go forward in the night
	w.oracle = &oracle{sealer: w.s, plan: rules.GetDepartment(w, w.dept).Plan(record.BarDisplay), ids: map[record.ID]bool{}}
	for range 2 {
		p := &pocket{phone: *w.phone(), off: time.Duration(rapid.IntRange(-60, 60).Draw(rt, "clock")) * time.Second}
		w.phones = append(w.phones, p)
	}
	w.listen()
	return w
}

// listen tells the oracle what is new.
func (w *world) listen() {
	for ; w.told < len(w.records); w.told++ {
		r := w.records[w.told]
		body, err := r.Content()
		require.NoError(w.rt, err)
		now, ok := w.nows[r.Seq]
		if !ok {
			now = r.At
		}
		r.Effect, r.Day, r.Covers, r.Late = record.Effect{}, 0, 0, false // what the rules wrote down is none of its business
		w.oracle.hear(told{Record: r, fact: w.facts[r.Seq], body: body, now: now})
	}
}

// tell writes a thing down under an entry; a refusal leaves no trace.
func (w *world) tell(x thing, e rules.Entry) ([]record.Record, error) {
	now := w.now()
	records, err := w.write(w.rt, e.ID, x.decide(e))
	w.acts = append(w.acts, fmt.Sprintf("%s %-20s happened %s said %s seen %d err %v", w.clock, x.name, e.Happened.From, e.Happened.Said, e.Seen, err))
	for _, r := range records {
		w.nows[r.Seq] = now
		w.facts[r.Seq] = e.Queued || e.Keep || e.Happened.Said == record.Typed
	}
	w.listen()
	return records, err
}

// pouches that a thing may be about.
func (w *world) aPouch() record.ID {
	return rapid.SampledFrom([]record.ID{w.paper, w.paper, w.paper, w.nonwoven}).Draw(w.rt, "pouch")
}

// things are what can happen, with how often.
var things = []struct {
	often int
	name  string
}{
	{10, "pass"}, {3, "one place"}, {1, "no dye"}, {2, "fail"}, {4, "not valid"}, {2, "not ready"}, {4, "changeover"},
	{4, "disturb"}, {2, "crease"}, {2, "channel"}, {2, "old pack"}, {1, "second seal"}, {1, "maker's seal"}, {4, "packs"},
}

// any draws a thing that anybody may tell, at the sealer or from a phone.
func (w *world) any() thing {
	var names []string
	for _, x := range things {
		for range x.often {
			names = append(names, x.name)
		}
	}
	x := thing{name: rapid.SampledFrom(names).Draw(w.rt, "thing"), at: w.clock, to: w.clock}
	pouch := w.aPouch()
	switch x.name {
	case "changeover":
		c := record.Changeover{Pouch: pouch, Minutes: rapid.SampledFrom([]int{1, 5, 40}).Draw(w.rt, "minutes")}
		x.decide = func(e rules.Entry) decision {
			return func(v record.View, now record.Time) ([]rules.Draft, error) {
				return rules.Changeover(v, rules.SaidChangeover{Entry: e, Sealer: w.s, Changeover: c}, now)
			}
		}
	case "disturb":
		c := record.Disturbance{What: rapid.SampledFrom([]string{record.PowerOff, record.KnobMoved, record.Element}).Draw(w.rt, "what"),
			Minutes: rapid.SampledFrom([]int{0, 0, 7}).Draw(w.rt, "minutes")}
		x.decide = func(e rules.Entry) decision {
			return func(v record.View, now record.Time) ([]rules.Draft, error) {
				return rules.Disturb(v, rules.SaidDisturbance{Entry: e, Sealers: []record.ID{w.s}, Disturbance: c}, now)
			}
		}
	case "packs":
		x.at = x.at.Add(-w.aWhile())
		packs := record.Packs{Pouch: pouch, Count: 1}
		x.decide = func(e rules.Entry) decision {
			return func(v record.View, now record.Time) ([]rules.Draft, error) {
				return rules.PacksSealed(v, rules.SaidPacks{Entry: e, Sealer: w.s, Packs: packs}, now)
			}
		}
	case "crease", "channel", "old pack", "second seal", "maker's seal":
		x.decide = w.aBadPack(x.name, pouch)
	default:
		x.decide = w.aCheck(x.name, pouch)
	}
	return x
}

func (w *world) aCheck(name string, pouch record.ID) func(e rules.Entry) decision {
	c := record.Check{Pouch: pouch, Approval: record.None, Places: w.oracle.plan.Places, Tests: w.oracle.plan.Tests}
	for _, a := range w.its(w.s).Approvals {
		if a.Pouch == pouch {
			c.Approval = a.Seq
		}
	}
	c.Outcome, c.Reason = record.Pass, "r"
	switch name {
	case "one place":
		c.Places = []record.Place{rapid.SampledFrom(threePlaces).Draw(w.rt, "place")}
	case "no dye":
		c.Tests = []record.Test{record.Look}
	case "fail":
		c.Outcome = record.Fail
		c.Kind = rapid.SampledFrom([]record.Fault{record.Channel, record.Weak, ""}).Draw(w.rt, "kind")
		c.Place = rapid.SampledFrom([]record.Place{record.Left, record.Middle, record.NoPlace}).Draw(w.rt, "bad place")
	case "not valid":
		c.Outcome = record.NotValid
	case "not ready":
		c.Outcome = record.NotYet
	default:
		if rapid.Bool().Draw(w.rt, "everywhere") {
			c.Places = threePlaces
		}
	}
	return func(e rules.Entry) decision {
		return func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.Check(v, rules.SaidCheck{Entry: e, Sealer: w.s, Check: c}, now)
		}
	}
}

func (w *world) aBadPack(name string, pouch record.ID) func(e rules.Entry) decision {
	b := record.BadSeal{Kind: record.Channel, Pouch: pouch, Lot: "L1"}
	b.Place = rapid.SampledFrom([]record.Place{record.Left, record.NoPlace}).Draw(w.rt, "place")
	switch name {
	case "crease":
		b.Kind = record.Crease
	case "second seal":
		b.Kind = record.SecondSeal
	case "maker's seal":
		b.MakersSeal = true
	case "channel":
		b.Pouch = rapid.SampledFrom([]record.ID{{}, pouch}).Draw(w.rt, "said")
	case "old pack":
		to := w.clock.Add(-w.aWhile())
		b.SealedAt = &record.Span{From: to.Add(-w.aWhile()), To: to, Said: record.Typed}
	}
	return func(e rules.Entry) decision {
		return func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.BadSeal(v, rules.SaidBadSeal{Entry: e, Sealer: w.s, BadSeal: b}, now)
		}
	}
}

// aWhile is seconds, minutes, hours or a day.
func (w *world) aWhile() time.Duration {
	unit := rapid.SampledFrom([]time.Duration{time.Second, time.Minute, time.Minute, time.Minute, time.Hour}).Draw(w.rt, "unit")
	return unit * time.Duration(rapid.IntRange(0, 26).Draw(w.rt, "while"))
}

// office is what a lead or clinical engineering does, at the desk.
func (w *world) office() {
	problem := w.standing(w.s).Problem
	e := w.direct()
	e.By = w.lead
	switch name := rapid.SampledFrom([]string{"hand back", "hand back", "hand back", "fix", "work", "tag", "approve", "end", "revise", "move", "retire"}).Draw(w.rt, "office"); name {
	case "approve":
		w.say(sealerOf(w.s), w.anApproval(w.aPouch()))
	case "end":
		w.say(sealerOf(w.s), &record.ApprovalEnded{Pouch: w.aPouch(), Why: "w"})
	case "revise":
		w.say(pouchOf(w.paper), revised(rapid.Bool().Draw(w.rt, "recheck")))
	case "move":
		w.say(sealerOf(w.s), &record.SealerMoved{Place: "Room 2"})
	case "retire":
		if rapid.IntRange(0, 9).Draw(w.rt, "retire") == 0 {
			w.say(sealerOf(w.s), &record.SealerRetired{})
		}
	default:
		steps := map[string]record.Body{"hand back": &record.HandedBack{Finding: "pad"}, "work": &record.Work{Stage: record.AtWork},
			"fix": &record.FirstLineFix{Did: []string{"set"}, Cause: "setting"}, "tag": &record.Tagged{SwitchedOff: true}}
		w.tell(thing{name: name, decide: func(e rules.Entry) decision {
			return func(v record.View, now record.Time) ([]rules.Draft, error) {
				return rules.Step(v, rules.SaidOfProblem{Entry: e, Problem: problem, Step: steps[name], Who: rules.GetPerson(v, w.lead)}, now)
			}
		}}, e)
	}
}

func (w *world) say(s record.Subject, facts record.Body) {
	w.tell(thing{name: fmt.Sprintf("%T", facts), decide: func(e rules.Entry) decision {
		return func(v record.View, now record.Time) ([]rules.Draft, error) {
			return rules.SetUp(v, rules.SaidSetUp{Entry: e, Dept: w.dept, Subject: s, Facts: facts}, now)
		}
	}}, w.direct())
}

// send drains the oldest entry of a phone.
func (w *world) send(p *pocket) ([]record.Record, error) {
	x := p.queue[0]
	p.queue = p.queue[1:]
	e := p.keptAt(x.at.Add(p.off))
	e.Happened.To = x.to.Add(p.off)
	return w.tell(x, e)
}
