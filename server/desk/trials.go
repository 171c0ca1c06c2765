package desk

import (
	"context"
	"fmt"
	"strings"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// tryOut records what was measured or tried out on a sealer.
func (d *Desk) tryOut(ctx context.Context, who Caller, what use, in From, code string,
	read func(*rules.Sealer) (record.Body, *sealing.Curve, error)) (Done, error) {
	if _, err := d.may(who, what); err != nil {
		return Done{}, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in)
	if err != nil {
		return Done{}, err
	}
	body, curve, err := read(s)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in, e, sealerSubject(s), body,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Trial(v, rules.SaidTrial{Entry: e, Sealer: s.ID, Trial: body, Curve: curve}, now)
		})
}

// InstrumentIn names a reference instrument and its certificate.
type InstrumentIn struct {
	Instrument  string      `form:"instrument" json:"instrument,omitempty"`
	Certificate string      `form:"certificate" json:"certificate,omitempty"`
	Due         record.Date `form:"due" json:"due,omitzero"` // when the certificate ends
}

func (in InstrumentIn) instrument() record.Instrument {
	return record.Instrument{Name: strings.TrimSpace(in.Instrument), Certificate: in.Certificate, Due: in.Due}
}

// KnownIn is how well temperatures are known: "1 °C", and how that was stated.
type KnownIn struct {
	Known  string `form:"known" json:"known"`
	Stated string `form:"stated" json:"stated"` // standard, expanded or accuracy
}

func (in KnownIn) uncertainty(scale sealing.Unit) (record.Uncertainty, error) {
	q, err := typed("known", in.Known, scale)
	return record.Uncertainty{Quantity: q, Stated: in.Stated}, err
}

// ReadingIn is one temperature measured at the sealing face at one setting.
type ReadingIn struct {
	From
	Code    string       `param:"code" json:"-"`
	Setting string       `form:"setting" json:"setting"` // as on the control
	Shown   string       `form:"shown" json:"shown,omitempty"`
	Place   record.Place `form:"place" json:"place,omitempty"`
	Face    string       `form:"face" json:"face"`
	Scale   sealing.Unit `form:"scale" json:"scale,omitempty"` // of what was typed without one
	KnownIn
	InstrumentIn
	Sure bool `form:"sure" json:"sure,omitempty"` // what looks odd is meant so
}

// RecordReading records a temperature of a series over time.
func (d *Desk) RecordReading(ctx context.Context, who Caller, in ReadingIn) (Done, error) {
	return d.tryOut(ctx, who, "RecordReading", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			b, err := in.reading(s, d.scale(who, in.Scale))
			if err == nil && !in.Sure {
				err = d.questionReading(who, &in, b)
			}
			return b, nil, err
		})
}

func (in *ReadingIn) reading(s *rules.Sealer, scale sealing.Unit) (*record.Reading, error) {
	b := &record.Reading{Place: in.Place, Instrument: in.instrument()}
	var err error
	if b.Set, err = typed("setting", in.Setting, controlUnit(s.Type, scale)); err != nil {
		return nil, err
	}
	if in.Shown != "" {
		if b.Shown, err = typed("shown", in.Shown, scale); err != nil {
			return nil, err
		}
	}
	if b.Face, err = typed("face", in.Face, scale); err != nil {
		return nil, err
	}
	b.Uncertainty, err = in.uncertainty(scale)
	return b, err
}

func (d *Desk) questionReading(who Caller, in *ReadingIn, b *record.Reading) error {
	face, err := rules.Read(b.Face)
	if err != nil {
		return err
	}
	var asked []string
	if w := sealing.QuestionScale(face); w != nil {
		asked = append(asked, w.Message)
	}
	return ask(append(asked, d.overdue(who, in.From, in.InstrumentIn)...))
}

// LadderIn is a trial of rising steps. The results of a form come in columns,
// one entry for each row.
type LadderIn struct {
	From
	Code    string    `param:"code" json:"-"`
	Pouch   record.ID `form:"pouch" json:"pouch"`
	Lot     string    `form:"lot" json:"lot,omitempty"`
	Kit     string    `form:"kit" json:"kit,omitempty"`
	Hold    string    `form:"hold" json:"hold,omitempty"`
	Speed   string    `form:"speed" json:"speed,omitempty"`
	Unit    string    `form:"unit" json:"unit,omitempty"` // of settings typed without one
	Steps   []StepIn  `form:"-" json:"steps"`
	Setting []string  `form:"setting" json:"-"`
	Dye     []string  `form:"dye" json:"-"`
	Peel    []string  `form:"peel" json:"-"`
	Look    []string  `form:"look" json:"-"`
}

// StepIn is one seal at one setting.
type StepIn struct {
	Setting string          `json:"setting"`
	Dye     record.Outcome  `json:"dye,omitempty"` // pass or fail
	Peel    record.Outcome  `json:"peel,omitempty"`
	Look    record.SealLook `json:"look,omitempty"` // even, open, burnt or torn
}

// RecordLadder records a ladder trial, whatever came of it.
func (d *Desk) RecordLadder(ctx context.Context, who Caller, in LadderIn) (Done, error) {
	return d.tryOut(ctx, who, "RecordLadder", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			b, err := in.trial(s, d.scale(who, sealing.Unit(in.Unit)))
			return b, nil, err
		})
}

func (in *LadderIn) trial(s *rules.Sealer, scale sealing.Unit) (*record.LadderTrial, error) {
	b := &record.LadderTrial{Pouch: in.Pouch, Lot: in.Lot, Kit: in.Kit, Hold: in.Hold, Speed: in.Speed,
		Steps: []record.LadderStep{}}
	unit := controlUnit(s.Type, scale)
	if in.Unit == string(sealing.Seconds) {
		unit = sealing.Seconds
	}
	for _, step := range in.steps() {
		q, err := typed(step.field, step.Setting, unit)
		if err != nil {
			return nil, err
		}
		b.Steps = append(b.Steps, record.LadderStep{Setting: q, Dye: step.Dye, Peel: step.Peel, Look: step.Look})
	}
	return b, nil
}

// stepRow is a step and the form field of its setting.
type stepRow struct {
	StepIn
	field string
}

// steps are the steps of the JSON, or the rows of the form that have a setting.
func (in *LadderIn) steps() (list []stepRow) {
	for i, s := range in.Steps {
		list = append(list, stepRow{s, fmt.Sprintf("steps.%d.setting", i+1)})
	}
	for i, text := range in.Setting {
		if strings.TrimSpace(text) != "" {
			s := StepIn{Setting: text, Dye: record.Outcome(at(in.Dye, i)),
				Peel: record.Outcome(at(in.Peel, i)), Look: record.SealLook(at(in.Look, i))}
			list = append(list, stepRow{s, fmt.Sprintf("setting-%d", i+1)})
		}
	}
	return list
}
