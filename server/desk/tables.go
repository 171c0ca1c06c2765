package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// TableIn is a temperature table. A program gives points; a form gives columns,
// one entry for each row: a position and what was measured there at the left, in
// the middle and at the right, or once for the whole bar.
type TableIn struct {
	From
	Code      string             `param:"code" json:"-"`
	Source    record.TableSource `form:"source" json:"source"` // measured or maker
	Condition record.Condition   `form:"condition" json:"condition,omitempty"`
	Apart     bool               `form:"apart" json:"apart,omitempty"`
	Scale     sealing.Unit       `form:"scale" json:"scale,omitempty"` // of what was typed without one
	Points    []PointIn          `form:"-" json:"points"`
	Position  []string           `form:"position" json:"-"`
	Left      []string           `form:"left" json:"-"`
	Middle    []string           `form:"middle" json:"-"`
	Right     []string           `form:"right" json:"-"`
	Whole     []string           `form:"whole" json:"-"`
	KnownIn
	InstrumentIn
	IFUIn
	Sure bool `form:"sure" json:"sure,omitempty"` // what looks odd is meant so
}

// PointIn is one temperature at the sealing face. Known and Stated are its own
// uncertainty, if it is not that of the table.
type PointIn struct {
	Place    record.Place `json:"place,omitempty"`
	Position string       `json:"position"`
	Face     string       `json:"face"`
	Known    string       `json:"known,omitempty"`
	Stated   string       `json:"stated,omitempty"`
}

// EnterTable records a temperature table. It approves nothing.
func (d *Desk) EnterTable(ctx context.Context, who Caller, in TableIn) (Done, error) {
	return d.tryOut(ctx, who, "EnterTable", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			points := in.points()
			b, err := in.table(s, points, d.scale(who, in.Scale))
			if err != nil {
				return nil, nil, err
			}
			table, err := rules.TableOf(s.Type, b)
			if err != nil {
				return nil, nil, points.pointAt(err)
			}
			curve, err := table.Compile()
			if err == nil && !in.Sure {
				err = d.questionTable(who, &in, table)
			}
			return b, curve, points.pointAt(err)
		})
}

func (d *Desk) questionTable(who Caller, in *TableIn, t sealing.Table) error {
	var asked []string
	for _, w := range t.Questions() {
		asked = append(asked, w.Message)
	}
	return ask(append(asked, d.overdue(who, in.From, in.InstrumentIn)...))
}

func (in *TableIn) table(s *rules.Sealer, points pointRows, scale sealing.Unit) (*record.TemperatureTable, error) {
	b := &record.TemperatureTable{Source: in.Source, Condition: in.Condition, Apart: in.Apart,
		Points: []record.TablePoint{}, Instrument: in.instrument(), Document: in.document()}
	for _, p := range points {
		point, err := p.read(controlUnit(s.Type, scale), scale)
		if err != nil {
			return nil, err
		}
		b.Points = append(b.Points, point)
	}
	var err error
	b.Uncertainty, err = in.uncertainty(scale)
	return b, err
}

// pointRow is a point and the form fields of its position and its face.
type pointRow struct {
	PointIn
	position, face string
}

type pointRows []pointRow

// points are the points of the JSON, or the filled cells of the form.
func (in *TableIn) points() (list pointRows) {
	for i, p := range in.Points {
		field := fmt.Sprintf("points.%d.", i+1)
		list = append(list, pointRow{p, field + "position", field + "face"})
	}
	for i := range in.Position {
		for _, column := range []struct {
			name  string
			place record.Place
			cells []string
		}{{"left", record.Left, in.Left}, {"middle", record.Middle, in.Middle}, {"right", record.Right, in.Right},
			{"whole", record.NoPlace, in.Whole}} {
			if face := at(column.cells, i); face != "" {
				p := PointIn{Place: column.place, Position: in.Position[i], Face: face}
				list = append(list, pointRow{p, fmt.Sprintf("position-%d", i+1), fmt.Sprintf("%s-%d", column.name, i+1)})
			}
		}
	}
	return list
}

func (p pointRow) read(control, scale sealing.Unit) (point record.TablePoint, err error) {
	point.Place = p.Place
	if point.Position, err = typed(p.position, p.Position, control); err != nil {
		return point, err
	}
	if point.Face, err = typed(p.face, p.Face, scale); err != nil || p.Known == "" {
		return point, err
	}
	point.Uncertainty, err = KnownIn{p.Known, p.Stated}.uncertainty(scale)
	return point, err
}

// pointAt makes a fault of a point, "points.3.face", one of the form field that
// the point was typed into.
func (list pointRows) pointAt(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) || !strings.HasPrefix(f.Field, "points") {
		return err
	}
	var n int
	var part string
	if _, scanErr := fmt.Sscanf(f.Field, "points.%d.%s", &n, &part); scanErr != nil || n < 1 || n > len(list) {
		return err
	}
	switch part {
	case "position":
		return pointAt(list[n-1].position, err)
	case "face":
		return pointAt(list[n-1].face, err)
	}
	return pointAt("known", err)
}
