package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// AssessIn gives all packs of a calibration's hold one end, as the first of two
// names.
type AssessIn struct {
	ProblemIn
	End    string `form:"end" json:"end"`
	Reason string `form:"reason" json:"reason"`
}

// AssessInBulk records the first name. Nothing is settled by it.
func (d *Desk) AssessInBulk(ctx context.Context, who Caller, in AssessIn) (Done, error) {
	if _, err := d.may(who, "AssessInBulk"); err != nil {
		return Done{}, err
	}
	body := &record.BulkAssessed{}
	if before, ok := d.written(in.ID).(*record.BulkAssessed); ok {
		*body = *before
	} else if err := d.listOf(who, in.Problem, body); err != nil {
		return Done{}, err
	}
	body.End, body.Reason = in.End, strings.TrimSpace(in.Reason)
	return d.step(ctx, who, "AssessInBulk", in.ProblemIn, body, nil)
}

// ConfirmIn is the second name under an assessment.
type ConfirmIn struct {
	ProblemIn
	Assessed record.Seq `form:"assessed" json:"assessed"`
}

// ConfirmBulk records the second name, of another person: the packs are settled.
func (d *Desk) ConfirmBulk(ctx context.Context, who Caller, in ConfirmIn) (Done, error) {
	if _, err := d.may(who, "ConfirmBulk"); err != nil {
		return Done{}, err
	}
	body := &record.BulkConfirmed{Assessed: in.Assessed}
	if before, ok := d.written(in.ID).(*record.BulkConfirmed); ok {
		body.Digest = before.Digest
	} else {
		var list record.BulkAssessed
		if err := d.listOf(who, in.Problem, &list); err != nil {
			return Done{}, err
		}
		body.Digest = list.Digest
	}
	return d.step(ctx, who, "ConfirmBulk", in.ProblemIn, body, nil)
}

// listOf fills in the hold list as it stands: its bounds, what is left of it, and
// its sum.
func (d *Desk) listOf(who Caller, problem record.ID, b *record.BulkAssessed) error {
	p, err := d.problemOf(who, problem)
	if err != nil {
		return err
	}
	if p.What != rules.WhatCalibration {
		return fault.New(fault.Invalid, "Only packs after a calibration are assessed in bulk.")
	}
	hold, err := d.hold(p)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(fmt.Append(nil, hold.Packs, p.Settled))
	b.From, b.To, b.Digest, b.Size = hold.Counts.From, hold.Counts.To, hex.EncodeToString(sum[:]), d.ledger.Size()
	b.Packs, _ = leftOf(p, hold)
	return nil
}

// calibrationOf is the calibration that opened a problem, None if none did.
func (d *Desk) calibrationOf(p *rules.Problem) (record.Seq, error) {
	if p.What != rules.WhatCalibration {
		return record.None, nil
	}
	opened, err := d.ledger.Read(p.Opened)
	if err != nil {
		return record.None, err
	}
	r, found, err := d.ledger.Find(opened.Of)
	if err != nil || !found {
		return record.None, err
	}
	return r.Seq, nil
}
