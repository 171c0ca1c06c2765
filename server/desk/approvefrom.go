package desk

import (
	"context"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// ApproveFromIn is a lead's decision that rests on what was measured or tried
// out: Evidence is the record of the newest temperature table or of a ladder
// trial.
type ApproveFromIn struct {
	From
	Code        string      `param:"code" json:"-"`
	Pouch       record.ID   `param:"pouch" json:"-"`
	Evidence    record.Seq  `form:"evidence" json:"evidence"`
	Value       string      `form:"value" json:"value"`
	Unit        string      `form:"unit" json:"unit"`
	Hold        string      `form:"hold" json:"hold,omitempty"`
	Speed       string      `form:"speed" json:"speed,omitempty"`
	Provisional record.Date `form:"provisional" json:"provisional,omitzero"`
	Sure        bool        `form:"sure" json:"sure,omitempty"` // although the evidence speaks against it
}

// ApproveFrom records the setting a technician will see, with what it rests on
// as it was shown.
func (d *Desk) ApproveFrom(ctx context.Context, who Caller, in ApproveFromIn) (Done, error) {
	if _, err := d.may(who, "ApproveFrom"); err != nil {
		return Done{}, err
	}
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	p := d.pouch(in.Pouch)
	if p == nil || p.Dept != who.Dept {
		return Done{}, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	q, err := typed("value", in.Value, sealing.Unit(in.Unit))
	if err != nil {
		return Done{}, err
	}
	b := &record.ApprovalGiven{Pouch: p.ID, Value: q.Value, Unit: q.Unit, Hold: strings.TrimSpace(in.Hold),
		Speed: strings.TrimSpace(in.Speed), IFU: p.IFU, Provisional: in.Provisional, Table: &in.Evidence}
	r, err := d.ofSealer(s, in.Evidence)
	if err != nil {
		return Done{}, err
	}
	doubts, err := d.restOn(&r, s, p, b)
	if err == nil && !in.Sure {
		err = ask(doubts)
	}
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "ApproveFrom", in.From, sealerSubject(s), b, nil)
}

// restOn completes an approval by the evidence that it rests on, and tells what
// speaks against it.
func (d *Desk) restOn(r *record.Record, s *rules.Sealer, p *rules.Pouch, b *record.ApprovalGiven) (against []string, err error) {
	content, err := r.Content()
	if err != nil {
		return nil, err
	}
	set, err := sealing.Q(b.Value, sealing.Unit(b.Unit))
	if err != nil {
		return nil, err
	}
	switch evidence := content.(type) {
	case *record.TemperatureTable:
		return d.restOnTable(r.Seq, evidence, s, p, set, b)
	case *record.LadderTrial:
		b.Basis = record.FromLadder
		if evidence.Pouch != p.ID {
			return nil, noSuchRecord()
		}
		return againstLadder(evidence, set), nil
	}
	return nil, noSuchRecord()
}

func (d *Desk) restOnTable(seq record.Seq, t *record.TemperatureTable, s *rules.Sealer, p *rules.Pouch,
	set sealing.Quantity, b *record.ApprovalGiven) ([]string, error) {
	b.Basis = record.FromTable
	w, ok := rules.WindowOf(&p.PouchFacts)
	if !ok {
		return nil, fault.Field("value",
			"No sealing window is on record for %s. Add it from the pouch's IFU first.", p.Name)
	}
	curve, err := d.curve(s.Type, seq)
	if err != nil {
		return nil, err
	}
	if curve == nil {
		return nil, fault.New(fault.Stale, "The temperature table does not fit this type of sealer any more.")
	}
	face, err := weighing{curve, t, w, d.department(s.Dept).Scale()}.at(set)
	if err != nil {
		return nil, pointAt("value", err)
	}
	b.Confidence, b.FaceDegrees = face.Probability, face.Face+" ± "+face.Expanded
	if face.Effect == sealing.WindowKept {
		return nil, nil
	}
	return []string{"At " + face.Position + " the face is at " + b.FaceDegrees + ": within " +
		w.Low.String() + " to " + w.High.String() + " with a probability of only " + face.Probability + "."}, nil
}

func againstLadder(l *record.LadderTrial, set sealing.Quantity) []string {
	ladder, err := rules.LadderOf(l)
	if err != nil {
		return []string{messageOf(err)}
	}
	c, err := ladder.Assess()
	if err != nil {
		return []string{messageOf(err)}
	}
	if !slices.ContainsFunc(c.Passed, set.Same) {
		return []string{set.String() + " is not among the settings that passed."}
	}
	return nil
}
