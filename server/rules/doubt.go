package rules

import (
	"iter"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// Curves are compiled temperature tables by the records they stand in. Compiling
// takes too long for the ledger's one writer, so a caller brings those of the
// sealers that a decision may put in doubt.
type Curves map[record.Seq]*sealing.Curve

// doubter finds the approvals of a department that new evidence puts outside
// their pouch's window, and drafts a record of each: they are not to be used
// until a lead decides. What is inside, or cannot be told, stays as it is.
type doubter struct {
	v      record.View
	d      *Department
	now    record.Time
	entry  Entry
	drafts []Draft
}

func newDoubter(v record.View, d *Department, e Entry, now record.Time) *doubter {
	e.Happened, e.Sealed = record.Span{}, nil // in doubt from now on, whenever it was measured
	return &doubter{v: v, d: d, now: now, entry: e}
}

// byTable questions the approvals of a sealer at a new table.
func (q *doubter) byTable(s *Sealer, curve *sealing.Curve, why record.Doubt) error {
	for a, w := range q.standing(s) {
		if err := q.question(s, a, w, facesAt(a, curve), why); err != nil {
			return err
		}
	}
	return nil
}

// byReading questions the approvals at whose setting a temperature was measured.
func (q *doubter) byReading(s *Sealer, set sealing.Quantity, face sealing.Prediction) error {
	for a, w := range q.standing(s) {
		if at, err := a.Setting(); err != nil || !at.Same(set) {
			continue
		}
		faces := []sealing.Prediction{face}
		if err := q.question(s, a, w, faces, record.DoubtFound); err != nil {
			return err
		}
	}
	return nil
}

// byWindow questions the approvals for a pouch whose IFU gives another window
// now, on every sealer.
func (q *doubter) byWindow(pouch record.ID, w sealing.Window, curves Curves) error {
	for _, id := range q.d.Sealers {
		s := GetSealer(q.v, id)
		if s == nil || s.Readiness.State == record.Retired && s.Away == "" {
			continue
		}
		a, _ := s.approved(q.v, pouch, q.d.Day(q.now))
		if a == nil {
			continue
		}
		curve, brought := curves[s.Filed.Table()]
		if s.Filed.Table() != record.None && !brought {
			return fault.New(fault.Busy,
				"A temperature table was entered at the same moment. Please send this again.")
		}
		if err := q.question(s, a, w, facesAt(a, curve), record.DoubtIFU); err != nil {
			return err
		}
	}
	return nil
}

// standing lists the approvals of a sealer that stand, each with its pouch's
// window. Pouches without a window are left out.
func (q *doubter) standing(s *Sealer) iter.Seq2[*Approval, sealing.Window] {
	return func(yield func(*Approval, sealing.Window) bool) {
		for _, given := range s.Approvals {
			a, _ := s.approved(q.v, given.Pouch, q.d.Day(q.now))
			p := GetPouch(q.v, given.Pouch)
			if a == nil || p == nil {
				continue
			}
			if w, ok := WindowOf(&p.PouchFacts); ok && !yield(a, w) {
				return
			}
		}
	}
}

// question drafts the record that an approval is in doubt, if the face, at any
// place, lies outside the window.
func (q *doubter) question(s *Sealer, a *Approval, w sealing.Window, faces []sealing.Prediction,
	why record.Doubt) error {
	if len(faces) == 0 {
		return nil
	}
	limits, err := w.Limits()
	if err != nil {
		return err
	}
	j, err := sealing.JudgeFound(w, faces, 0)
	if err != nil || j.Effect != sealing.WindowMissed {
		return err
	}
	b := record.ApprovalQuestioned{Pouch: a.Pouch, Approval: a.Seq, Why: why,
		Face: sealing.Degrees(j.Worst.T, q.d.Scale()), Window: limits.Text(q.d.Scale())}
	if j.Worst.U > 0 {
		b.Confidence = sealing.Percent(j.Worst.Probability())
	}
	dr, err := q.entry.draft(q.d, s.subject(), &b, q.now)
	if err != nil {
		return err
	}
	s.unprove(Standing(q.v, s, q.now), a.Pouch, &dr.Record, WhyQuestioned)
	q.drafts = append(q.drafts, dr)
	return nil
}

// facesAt is what the face is at an approved setting: by the sealer's table or,
// without one, as degrees say that the control shows, whose doubt nobody knows.
// It is empty if nobody can tell: beyond the table, or a mark without one.
func facesAt(a *Approval, curve *sealing.Curve) []sealing.Prediction {
	set, err := a.Setting()
	if err != nil {
		return nil
	}
	if curve != nil {
		faces, _ := curve.At(set)
		return faces
	}
	if set.Unit.Dimension() != sealing.Temperature {
		return nil
	}
	t, err := set.In(sealing.Celsius)
	if err != nil {
		return nil
	}
	return []sealing.Prediction{{T: t}}
}

// Scale is how a department reads temperatures.
func (d *Department) Scale() sealing.Unit {
	if d.Fahrenheit {
		return sealing.Fahrenheit
	}
	return sealing.Celsius
}
