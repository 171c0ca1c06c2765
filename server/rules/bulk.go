package rules

import (
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Packs of a calibration's hold may be assessed in bulk: weeks of them, most used
// long ago. It takes two names, of two people, each under a record of their own;
// it holds only with the second.

// assesses keeps a first name within its limits.
func (c *SaidOfProblem) assesses(p *Problem, b *record.BulkAssessed) error {
	switch {
	case p.What != WhatCalibration:
		return fault.New(fault.Invalid, "Only packs after a calibration are assessed in bulk.")
	case p.SettledAt != 0:
		return unless(false, "The packs of this problem are settled already.")
	case !known(b.End, "repackaged", "discarded", "used", "released", "not-found"):
		return fault.Field("end", "Say what becomes of the packs.")
	case strings.TrimSpace(b.Reason) == "":
		return fault.Field("reason", "Give the reason: it stays with your name.")
	}
	return nil
}

// confirms wants another person, who saw the same list.
func (c *SaidOfProblem) confirms(p *Problem, b *record.BulkConfirmed) error {
	a := p.Assessed
	switch {
	case a == nil || a.Seq != b.Assessed:
		return unless(false, "This assessment is not waiting for a second name any more.")
	case c.By.IsZero() || c.By == a.By:
		return fault.New(fault.Forbidden, "The second name has to be another person's.")
	case a.Digest != b.Digest:
		return unless(false, "The hold list has changed since the first name. It has to be assessed again.")
	}
	return nil
}
