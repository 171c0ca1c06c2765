package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Why packs were sealed on a sealer that was not ready for them: ProblemRef.Why.
const (
	UnreadyChangeover = "changeover"     // it was being set for another pouch, or was set for one
	UnreadyOut        = "out-of-service" //
	UnreadyUnchecked  = "no-check"       // nothing had proved it since
)

// told fills in what of a problem lies in the sealer's records.
func (d *Desk) told(ref *ProblemRef, p *rules.Problem) (rules.Hold, error) {
	hold, err := d.hold(p)
	if err != nil {
		return hold, err
	}
	ref.Packs = hold.Total
	return hold, d.explain(ref, p)
}

// explain fills in why packs were sealed on a sealer that was not ready.
func (d *Desk) explain(ref *ProblemRef, p *rules.Problem) (err error) {
	if p.What == rules.WhatUnready {
		ref.Why, ref.Set, err = d.unready(p)
	}
	return err
}

// unready looks back from packs to what had taken Ready away when they were
// sealed, and at what setting they were.
func (d *Desk) unready(p *rules.Problem) (why, set string, err error) {
	packs, err := d.ledger.Read(p.Opened)
	if err != nil {
		return "", "", err
	}
	if body, err := packs.Content(); err == nil {
		if b, ok := body.(*record.Packs); ok {
			set = b.Set
		}
	}
	for seq := packs.Prev; seq != record.None; {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return "", "", err
		}
		if left := r.Effect.Readiness; left != nil && r.Happened.From <= packs.Happened.To {
			return whyOf(left, p.Pouch), set, nil
		}
		seq = r.Prev
	}
	return UnreadyUnchecked, set, nil
}

func whyOf(left *record.Readiness, pouch record.ID) string {
	switch {
	case left.State == record.OutOfService || left.State == record.WithEngineering || left.State == record.Retired:
		return UnreadyOut
	case left.Why == rules.WhyChangeover, left.State == record.Ready && left.Pouch != pouch:
		return UnreadyChangeover
	}
	return UnreadyUnchecked
}
