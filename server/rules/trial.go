package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// SaidTrial is what somebody measured or tried out on a sealer for those who
// approve its settings: a temperature table, a reading, a ladder trial, or a
// validation of seals.
type SaidTrial struct {
	Entry
	Sealer record.ID
	Trial  record.Body
	Curve  *sealing.Curve // of a temperature table, compiled: see Curves
}

// mostPoints bounds the points of a table, the steps of a ladder, the strips of
// a strength test.
const mostPoints = 120

// Trial decides on such a statement. It approves nothing and changes no
// approved setting: if it shows one to lie outside its pouch's window, that one
// is in doubt until a lead decides.
func Trial(v record.View, c SaidTrial, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	if err := c.isSound(v, s); err != nil {
		return nil, err
	}
	dr, err := c.draft(d, s.subject(), c.Trial, now)
	if err != nil {
		return nil, err
	}
	q := newDoubter(v, d, c.Entry, now)
	if err := c.doubts(q, s); err != nil {
		return nil, err
	}
	return append([]Draft{dr}, q.drafts...), nil
}

func (c *SaidTrial) doubts(q *doubter, s *Sealer) error {
	switch b := c.Trial.(type) {
	case *record.TemperatureTable:
		why := record.DoubtTable
		if b.Condition == record.AsFound {
			why = record.DoubtFound
		}
		return q.byTable(s, c.Curve, why)
	case *record.Reading:
		set, err := Read(b.Set)
		if err != nil {
			return err
		}
		face, err := MeasuredAt(b)
		if err != nil {
			return err
		}
		return q.byReading(s, set, face)
	}
	return nil
}

func (c *SaidTrial) isSound(v record.View, s *Sealer) error {
	switch b := c.Trial.(type) {
	case *record.TemperatureTable:
		return c.tableIsSound(b)
	case *record.Reading:
		return readingIsSound(s, b)
	case *record.LadderTrial:
		return ladderIsSound(v, s, b)
	case *record.StrengthTested:
		t, err := StrengthOf(b)
		if err == nil {
			_, err = t.Assess()
		}
		return firstOf(pouchOf(v, s, b.Pouch), settingIsSound(s, b.Setting), err)
	case *record.WidthMeasured:
		ribs, least, err := WidthOf(b)
		if err == nil {
			_, _, err = sealing.SealWidth(ribs, least)
		}
		return firstOf(pouchOf(v, s, b.Pouch), settingIsSound(s, b.Setting), err)
	case *record.AfterSterilizing:
		return firstOf(pouchOf(v, s, b.Pouch), settingIsSound(s, b.Setting), countsAreSound(b))
	}
	return fault.New(fault.Invalid, "This is nothing that is tried out on a sealer.")
}

// tableIsSound leaves to the curve what the curve refused or took.
func (c *SaidTrial) tableIsSound(b *record.TemperatureTable) error {
	switch {
	case c.Curve == nil || len(b.Points) > mostPoints:
		return fault.Field("points", "Give at least two positions and at most %d points.", mostPoints)
	case b.Source == record.Measured && strings.TrimSpace(b.Instrument.Name) == "":
		return fault.Field("instrument", "Name the reference instrument.")
	case b.Source == record.FromMaker && strings.TrimSpace(b.Document.Title) == "":
		return fault.Field("ifu", "Name the manual that the table stands in.")
	case b.Source != record.Measured && b.Source != record.FromMaker:
		return fault.Field("source", "Say where the table comes from.")
	case !slices.Contains([]record.Condition{"", record.AsFound, record.AsLeft}, b.Condition):
		return fault.Field("condition", "Say whether this is as found or as left.")
	}
	return nil
}

func readingIsSound(s *Sealer, b *record.Reading) error {
	if strings.TrimSpace(b.Instrument.Name) == "" {
		return fault.Field("instrument", "Name the reference instrument.")
	}
	if !slices.Contains([]record.Place{record.NoPlace, record.Left, record.Middle, record.Right}, b.Place) {
		return fault.Field("place", "Choose left, middle or right.")
	}
	if _, err := Read(b.Shown); err != nil {
		return named("shown", err)
	}
	_, err := MeasuredAt(b)
	return firstOf(settingIsSound(s, b.Set), err)
}

// ladderIsSound takes a trial as it went, also one that proposes nothing.
func ladderIsSound(v record.View, s *Sealer, b *record.LadderTrial) error {
	if len(b.Steps) > mostPoints {
		return fault.Field("steps", "That is more than %d seals.", mostPoints)
	}
	for i, step := range b.Steps {
		if err := settingIsSound(s, step.Setting); err != nil {
			return numbered("steps", "Step", i, err)
		}
		if !known(step.Dye, "", record.Pass, record.Fail) || !known(step.Peel, "", record.Pass, record.Fail) ||
			!known(step.Look, "", record.Even, record.Open, record.Burnt, record.Torn) {
			return fault.Field("steps", "Step %d: choose the results from the list.", i+1)
		}
	}
	l, err := LadderOf(b)
	if err != nil {
		return err
	}
	return firstOf(pouchOf(v, s, b.Pouch), l.Check())
}

func known[T comparable](value T, list ...T) bool { return slices.Contains(list, value) }

func countsAreSound(b *record.AfterSterilizing) error {
	switch {
	case strings.TrimSpace(b.Process) == "":
		return fault.Field("process", "Name the sterilization process.")
	case b.After < 1:
		return fault.Field("after", "Give how many seals were tested after sterilizing.")
	case b.Before < 0 || b.BeforeGood < 0 || b.BeforeGood > b.Before:
		return fault.Field("before_good", "More were good than were tested.")
	case b.AfterGood < 0 || b.AfterGood > b.After:
		return fault.Field("after_good", "More were good than were tested.")
	}
	return nil
}

// pouchOf refuses a pouch that the sealer's department has not.
func pouchOf(v record.View, s *Sealer, id record.ID) error {
	if p := GetPouch(v, id); p == nil || p.Dept != s.Dept {
		return fault.Field("pouch", "Choose the pouch.")
	}
	return nil
}

// settingIsSound refuses a setting that the sealer's control cannot show.
func settingIsSound(s *Sealer, q record.Quantity) error {
	if _, err := sealing.Q(q.Value, sealing.Unit(q.Unit)); err != nil {
		return named("setting", err)
	}
	if !slices.Contains(settingUnits[s.Type], sealing.Unit(q.Unit)) {
		return fault.Field("setting", "This sealer is not set in that unit.")
	}
	return nil
}

// firstOf is the first of several faults.
func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
