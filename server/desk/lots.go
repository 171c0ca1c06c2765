package desk

import (
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// LotView is a pouch lot that a fault of the maker's seal put on hold: what was
// seen of it, on which sealers it may lie, and who was told. Printed, it is the
// complaint to the supplier.
type LotView struct {
	Frame
	ID      record.ID         `json:"id"` // of the problem
	Ref     ProblemRef        `json:"ref"`
	PouchID record.ID         `json:"pouch_id"`
	Pouch   record.PouchFacts `json:"pouch"`
	Lot     string            `json:"lot"`
	Held    bool              `json:"held"`  // still
	First   record.Time       `json:"first"` // when a record names the lot first
	Sealers []LotSealer       `json:"sealers"`
	Reports []Line            `json:"reports"` // of a bad maker's seal of this lot, newest first
	Told    []HoldTold        `json:"told,omitempty"`
	Photos  []EvidencePhoto   `json:"photographs,omitempty"`
	Found   int               `json:"found"`                      // pouches with the fault, as reported
	Packs   int               `json:"packs"`                      // of this pouch that are known, since First: so many may be of the lot
	Listed  int               `json:"packs_from_lists,omitempty"` // of those, from lists that came in: the pack log may have some of them, too
}

// LotSealer is a sealer that the pouch is approved for, or was tested with a lot.
type LotSealer struct {
	Code   string `json:"code"`
	Number string `json:"number"`
	Packs  int    `json:"packs"` // of the pouch since the lot was first named
	Listed int    `json:"packs_from_lists,omitempty"`
	Checks int    `json:"checks"` // with test pouches of the lot
}

const (
	lotReach = 120 * 24 * time.Hour // how far back a lot is looked for
	lotRead  = 2000                 // and through how many records of a sealer
)

// Lot draws the lot of a problem about a maker's seal.
func (d *Desk) Lot(who Caller, id record.ID) (*LotView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	p, err := d.problemOf(who, id)
	if err != nil {
		return nil, err
	}
	view := &LotView{ID: p.ID, PouchID: p.Pouch, Lot: p.Lot, First: p.OpenedAt}
	var sealers []*rules.Sealer
	d.ledger.View(func(v record.View) {
		view.Frame, view.Ref = d.frame(v, who), *d.problemRef(v, p)
		if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
			view.Pouch = pouch.PouchFacts
			_, view.Held = pouch.Held[p.Lot]
		}
		for _, s := range d.sealersOf(v, view.Dept) {
			if a, _ := s.Approval(v, p.Pouch, view.Day); a != nil || s.ID == p.Sealer {
				sealers = append(sealers, s)
			}
		}
	})
	if p.What != rules.WhatMakers {
		return nil, fault.New(fault.Unknown, "This problem is not about a pouch lot.")
	}
	if err := d.lotRecords(view, sealers); err != nil {
		return nil, err
	}
	lines, err := d.linesOf(p)
	if err != nil {
		return nil, err
	}
	for _, l := range slices.Backward(lines) {
		if b, ok := l.Body.(*record.HoldTold); ok {
			view.Told = append(view.Told, HoldTold{b.Whom, b.Reference, l.Who, l.To})
		}
	}
	shots := &EvidenceView{}
	err = d.evidencePhotos(p, shots)
	view.Photos = shots.Photos
	return view, err
}

// lotRecords looks through the sealers' records for the lot, and then for packs
// of the pouch since it was first named, in the pack log and in lists that came
// in: neither knows lots.
func (d *Desk) lotRecords(view *LotView, sealers []*rules.Sealer) error {
	var reports []record.Record
	packs := map[*rules.Sealer][]record.Record{}
	rows := map[*rules.Sealer]*LotSealer{}
	for _, s := range sealers {
		rows[s] = &LotSealer{Code: s.Code, Number: s.Number}
		read := 0
		for r, err := range d.ledger.Chain(sealerSubject(s)) {
			if err != nil {
				return err
			}
			if read++; read > lotRead || view.Now.Sub(r.At) > lotReach {
				break
			}
			body, err := r.Content()
			if err != nil {
				return err
			}
			named := false
			switch b := body.(type) {
			case *record.Check:
				if named = b.Lot == view.Lot && b.Pouch == view.PouchID; named {
					rows[s].Checks++
				}
			case *record.BadSeal:
				if named = b.Lot == view.Lot && b.Pouch == view.PouchID; named && b.MakersSeal {
					reports = append(reports, r)
				}
			case *record.Packs:
				if b.Pouch == view.PouchID {
					packs[s] = append(packs[s], r)
				}
			}
			if named {
				view.First = min(view.First, r.Happened.From)
			}
		}
	}
	for _, s := range sealers {
		for i := range packs[s] {
			if b, err := bodyOf[*record.Packs](&packs[s][i]); err == nil && packs[s][i].Happened.To >= view.First {
				rows[s].Packs += b.Count
				view.Packs += b.Count
			}
		}
		listed, err := d.listedPacks(s, record.Span{From: view.First, To: view.Now})
		if err != nil {
			return err
		}
		for _, k := range listed {
			if k.Pouch == view.PouchID {
				rows[s].Packs += k.Count
				rows[s].Listed += k.Count
				view.Packs += k.Count
				view.Listed += k.Count
			}
		}
		view.Sealers = append(view.Sealers, *rows[s])
	}
	slices.SortFunc(reports, func(a, b record.Record) int { return int(b.Seq - a.Seq) })
	view.Reports, view.Found = d.lines(reports), len(reports)
	return nil
}
