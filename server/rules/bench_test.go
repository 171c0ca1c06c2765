package rules_test

import (
	"testing"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// busy is a sealer with a year behind it: as many touches as are remembered, forty
// problems that are over, both pouches approved.
func busy(b *testing.B) (*house, record.ID) {
	h := newHouse(b)
	s := h.shared("5")
	for day := range 40 {
		h.clock = local("2026-02-01 07:00").Add(minutes(day * 24 * 60))
		h.pass(s, h.paper)
		p := h.found(s, record.Channel).ID
		h.later(minutes(5))
		h.handBack(p)
		h.later(minutes(5))
		h.pass(s, h.paper)
		h.step(p, &record.PacksSettled{})
		h.step(p, &record.ProblemClosed{})
	}
	return h, s
}

// RULES.md R2: deciding runs in the ledger's one writer and may take 20
// microseconds. Compare with BenchmarkFold and BenchmarkWrite of the same record.
func BenchmarkDecideCheck(b *testing.B) {
	h, s := busy(b)
	for name, e := range map[string]rules.Entry{"direct": h.direct(), "queued": h.phone().keptAt(h.clock)} {
		e.Seen = h.size()
		c := rules.SaidCheck{Entry: e, Sealer: s, Check: record.Check{Pouch: h.paper, Approval: h.its(s).Approvals[0].Seq,
			Outcome: record.Pass, Places: threePlaces, Tests: []record.Test{record.Look, record.Dye}, Shown: "180 °C"}}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := rules.Check(h, c, h.now()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkDecideFail(b *testing.B) {
	h, s := busy(b)
	e := h.phone().keptAt(h.clock)
	c := rules.SaidCheck{Entry: e, Sealer: s, Check: record.Check{Pouch: h.paper, Outcome: record.Fail}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := rules.Check(h, c, h.now()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecidePacks(b *testing.B) {
	h, s := busy(b)
	c := rules.SaidPacks{Entry: h.direct(), Sealer: s, Packs: record.Packs{Pouch: h.paper, Count: 3}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := rules.PacksSealed(h, c, h.now()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFold(b *testing.B) {
	h, s := busy(b)
	r := h.pass(s, h.paper)
	b.ReportAllocs()
	for b.Loop() {
		rules.Evolve(h, &r)
	}
}

func BenchmarkWrite(b *testing.B) {
	h, s := busy(b)
	r := h.pass(s, h.paper)
	var line []byte
	b.ReportAllocs()
	for b.Loop() {
		line = r.Append(line[:0])
	}
}

func BenchmarkStanding(b *testing.B) {
	h, s := busy(b)
	b.ReportAllocs()
	for b.Loop() {
		rules.Standing(h, h.its(s), h.now())
	}
}
