package rules

import (
	"errors"
	"fmt"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// What package sealing makes of what records hold. Records keep texts and units
// as typed; each function here reads them once more, and refuses, as a
// fault.Invalid that names the form field, what cannot be read.

// KindOf is a type of sealer in the words of package sealing.
func KindOf(t record.SealerType) sealing.Kind {
	return map[record.SealerType]sealing.Kind{
		record.BarDial: sealing.DialBar, record.BarDisplay: sealing.DisplayBar,
		record.Impulse: sealing.ImpulseBar, record.Continuous: sealing.Feed,
	}[t]
}

// Read reads a quantity of a record; an empty one is missing, not a mistake.
func Read(q record.Quantity) (sealing.Quantity, error) {
	if q == (record.Quantity{}) {
		return sealing.Quantity{}, nil
	}
	return sealing.Q(q.Value, sealing.Unit(q.Unit))
}

// Setting is the approved setting as a quantity.
func (a *Approval) Setting() (sealing.Quantity, error) {
	return sealing.Q(a.Value, sealing.Unit(a.Unit))
}

// WindowOf is the sealing window that a pouch's IFU gives; ok is false if none
// was written down.
func WindowOf(p *record.PouchFacts) (w sealing.Window, ok bool) {
	low, err1 := sealing.ParseQuantity(p.Low, sealing.Celsius)
	high, err2 := sealing.ParseQuantity(p.High, sealing.Celsius)
	w = sealing.Window{Pouch: p.Name, Low: low, High: high, IFU: sealing.Reference{
		Document: p.IFU.Title, Revision: p.IFU.Revision, Page: p.IFU.Page}}
	if err1 != nil || err2 != nil {
		return w, false
	}
	_, err := w.Limits()
	return w, err == nil
}

// TableOf is a temperature table, ready to be compiled. Faults of a point name
// "points.N.field", N counting from 1.
func TableOf(t record.SealerType, r *record.TemperatureTable) (sealing.Table, error) {
	table := sealing.Table{Kind: KindOf(t), Apart: r.Apart}
	for i, p := range r.Points {
		point, err := pointOf(p, r.Uncertainty)
		if err != nil {
			return table, numbered("points", "Point", i, err)
		}
		table.Points = append(table.Points, point)
	}
	return table, nil
}

func pointOf(p record.TablePoint, common record.Uncertainty) (point sealing.Point, err error) {
	point.Place = sealing.Place(p.Place)
	if point.Position, err = Read(p.Position); err != nil {
		return point, named("position", err)
	}
	if point.Face, err = Read(p.Face); err != nil {
		return point, named("face", err)
	}
	if p.Uncertainty == (record.Uncertainty{}) {
		p.Uncertainty = common
	}
	point.Uncertainty, err = UncertaintyOf(p.Uncertainty)
	return point, err
}

// UncertaintyOf is how well a temperature is known.
func UncertaintyOf(u record.Uncertainty) (sealing.Uncertainty, error) {
	value, err := Read(u.Quantity)
	return sealing.Uncertainty{Value: value, Stated: sealing.Statement(u.Stated)},
		named("uncertainty", err)
}

// MeasuredAt is a reading as a prediction of the face at its setting.
func MeasuredAt(r *record.Reading) (sealing.Prediction, error) {
	face, err := Read(r.Face)
	if err != nil {
		return sealing.Prediction{}, named("face", err)
	}
	u, err := UncertaintyOf(r.Uncertainty)
	if err != nil {
		return sealing.Prediction{}, err
	}
	return sealing.Measured(sealing.Place(r.Place), face, u)
}

// LadderOf is a ladder trial, ready to be assessed.
func LadderOf(r *record.LadderTrial) (l sealing.Ladder, err error) {
	for i, s := range r.Steps {
		step := sealing.Step{Dye: sealing.Result(s.Dye), Peel: sealing.Result(s.Peel),
			Look: sealing.Look(s.Look)}
		if step.Setting, err = Read(s.Setting); err != nil {
			return l, numbered("steps", "Step", i, named("setting", err))
		}
		l.Steps = append(l.Steps, step)
	}
	return l, nil
}

// StrengthOf is a test of seal strength, ready to be assessed.
func StrengthOf(r *record.StrengthTested) (t sealing.StrengthTest, err error) {
	if t.Strips, err = readAll("strips", r.Strips, r.Unit); err != nil {
		return t, err
	}
	t.Minimum, err = Read(r.Minimum)
	return t, named("minimum", err)
}

// WidthOf is the ribs of a seal and the least width in all.
func WidthOf(r *record.WidthMeasured) (ribs []sealing.Quantity, least sealing.Quantity, err error) {
	if ribs, err = readAll("ribs", r.Ribs, r.Unit); err != nil {
		return nil, least, err
	}
	least, err = Read(r.Least)
	return ribs, least, named("least", err)
}

func readAll(field string, texts []string, unit string) (list []sealing.Quantity, err error) {
	for _, text := range texts {
		q, err := sealing.Q(text, sealing.Unit(unit))
		if err != nil {
			return nil, named(field, err)
		}
		list = append(list, q)
	}
	return list, nil
}

// named points a fault at a form field, if it does not name one itself.
func named(field string, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) || f.Field != "" {
		return err
	}
	return fault.Field(field, "%s", f.Message)
}

// numbered points a fault at the field of one of several points or steps, N
// counting from 1.
func numbered(list, word string, i int, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	return fault.Field(fmt.Sprintf("%s.%d.%s", list, i+1, f.Field), "%s %d: %s", word, i+1, f.Message)
}
