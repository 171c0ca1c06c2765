package desk

import (
	"context"
	"fmt"
	"strings"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// CalibrationIn is what a calibration measured. A program gives points; a form
// gives columns, as of a temperature table: as found and, where something was
// adjusted, as left.
type CalibrationIn struct {
	From
	Code      string       `param:"code" json:"-"`
	For       record.Date  `form:"for" json:"for,omitzero"` // the due day that it answers
	Scale     sealing.Unit `form:"scale" json:"scale,omitempty"`
	Apart     bool         `form:"apart" json:"apart,omitempty"`
	Found     []PointIn    `form:"-" json:"found"`
	Left      []PointIn    `form:"-" json:"left,omitempty"` // none: nothing was adjusted
	Tolerance string       `form:"tolerance" json:"tolerance,omitempty"`
	Report    string       `form:"report" json:"report,omitempty"`
	Firm      string       `form:"firm" json:"firm,omitempty"`
	KnownIn
	InstrumentIn
	Sure bool `form:"sure" json:"sure,omitempty"` // what looks odd is meant so

	FoundAt
	LeftAt
}

// FoundAt are the columns of a form as found: positions, and what was measured at
// each.
type FoundAt struct {
	Position    []string `form:"position" json:"-"`
	FoundLeft   []string `form:"left" json:"-"`
	FoundMiddle []string `form:"middle" json:"-"`
	FoundRight  []string `form:"right" json:"-"`
	FoundWhole  []string `form:"whole" json:"-"`
}

// LeftAt are the columns of a form as left.
type LeftAt struct {
	AfterPosition []string `form:"after_position" json:"-"`
	AfterLeft     []string `form:"after_left" json:"-"`
	AfterMiddle   []string `form:"after_middle" json:"-"`
	AfterRight    []string `form:"after_right" json:"-"`
	AfterWhole    []string `form:"after_whole" json:"-"`
}

func (in *CalibrationIn) found() pointRows {
	t := TableIn{Points: in.Found, Position: in.Position, Left: in.FoundLeft, Middle: in.FoundMiddle, Right: in.FoundRight,
		Whole: in.FoundWhole}
	return t.points()
}

func (in *CalibrationIn) left() pointRows {
	t := TableIn{Points: in.Left, Position: in.AfterPosition, Left: in.AfterLeft, Middle: in.AfterMiddle, Right: in.AfterRight,
		Whole: in.AfterWhole}
	rows := t.points()
	for i := range rows {
		rows[i].position, rows[i].face = "after_"+rows[i].position, "after_"+rows[i].face
	}
	return rows
}

// Calibrate records a calibration and what it means for each pouch. It approves
// nothing.
func (d *Desk) Calibrate(ctx context.Context, who Caller, in CalibrationIn) (Done, error) {
	person, err := d.may(who, "Calibrate")
	if err != nil {
		return Done{}, err
	}
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	if in.ID.IsZero() {
		in.ID = d.NewID()
	}
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	said := rules.SaidCalibration{Sealer: s.ID, Who: person}
	if err := d.readCalibration(who, &in, s, &said); err != nil {
		return Done{}, err
	}
	if said.Earlier, err = d.earlierSettings(s); err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in.From, e, sealerSubject(s), &said.Calibrated,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			said.Entry = e
			return rules.Calibrate(v, said, now)
		})
}

func (d *Desk) readCalibration(who Caller, in *CalibrationIn, s *rules.Sealer, said *rules.SaidCalibration) error {
	scale := d.scale(who, in.Scale)
	due, err := d.dueFor(in.From, s, record.CalibrationTask, in.For)
	if err != nil {
		return err
	}
	b := record.Calibrated{For: due, Apart: in.Apart, Instrument: in.instrument(), Report: strings.TrimSpace(in.Report),
		Firm: strings.TrimSpace(in.Firm)}
	if b.Found, said.Found, err = in.measured(s, in.found(), scale); err != nil {
		return err
	}
	if b.Left, said.Left, err = in.measured(s, in.left(), scale); err != nil {
		return err
	}
	if b.Uncertainty, err = in.uncertainty(scale); err != nil {
		return err
	}
	if in.Tolerance != "" {
		if b.Tolerance, err = typed("tolerance", in.Tolerance, scale); err != nil {
			return err
		}
	}
	said.Calibrated = b
	if in.Sure {
		return nil
	}
	var asked []string
	table := sealing.Table{}
	for _, p := range append(b.Found[:len(b.Found):len(b.Found)], b.Left...) {
		if face, err := rules.Read(p.Face); err == nil {
			table.Points = append(table.Points, sealing.Point{Face: face})
		}
	}
	for _, w := range table.Questions() {
		asked = append(asked, w.Message)
	}
	return ask(append(asked, d.overdue(who, in.From, in.InstrumentIn)...))
}

// measured reads points and, if there are two positions, makes their curve. What
// makes none is still judged position by position.
func (in *CalibrationIn) measured(s *rules.Sealer, points pointRows, scale sealing.Unit) ([]record.TablePoint, *sealing.Curve, error) {
	if len(points) == 0 {
		return nil, nil, nil
	}
	t := TableIn{Apart: in.Apart, KnownIn: in.KnownIn, InstrumentIn: in.InstrumentIn}
	b, err := t.table(s, points, scale)
	if err != nil {
		return nil, nil, err
	}
	table, err := rules.TableOf(s.Type, b)
	if err != nil {
		return nil, nil, points.pointAt(err)
	}
	curve, err := table.Compile()
	if err != nil && positionsOf(b) >= 2 {
		return nil, nil, points.pointAt(err)
	}
	return b.Points, curve, nil
}

func positionsOf(t *record.TemperatureTable) int {
	seen := map[record.Quantity]bool{}
	for _, p := range t.Points {
		seen[p.Position] = true
	}
	return len(seen)
}

// earlierSettings are approved settings that stood since the last good calibration
// of their pouch and do not any more, as far as decisions are remembered.
func (d *Desk) earlierSettings(s *rules.Sealer) (list []rules.EarlierSetting, err error) {
	decisions, err := d.read(s.Filed.Decisions) // newest first
	if err != nil {
		return nil, err
	}
	ended := map[record.ID]record.Time{}
	for i := range decisions {
		r := &decisions[i]
		switch b := bodyIn(r).(type) {
		case *record.ApprovalEnded:
			ended[b.Pouch] = r.At
		case *record.ApprovalGiven:
			if end := ended[b.Pouch]; end > calibrated(s, b.Pouch) {
				list = append(list, rules.EarlierSetting{Ended: end,
					Approval: rules.Approval{ApprovalGiven: *b, Seq: r.Seq, By: r.By, On: r.Day}})
			}
			ended[b.Pouch] = r.At
		}
	}
	return list, nil
}

// calibrated is when a pouch's window was last left kept by a calibration, 0 if
// that is not on record.
func calibrated(s *rules.Sealer, pouch record.ID) record.Time {
	for _, g := range s.Calibrated {
		if g.Pouch == pouch {
			return g.Began
		}
	}
	return 0
}

// CalibrationView is a calibration and what came of it.
type CalibrationView struct {
	Frame
	record.SealerFacts
	Code      string            `json:"code"`
	Line      Line              `json:"line"`
	Said      record.Calibrated `json:"said"`
	Found     []OffRow          `json:"found"`
	Left      []OffRow          `json:"left"`
	Tolerance string            `json:"tolerance,omitempty"`
	Over      bool              `json:"over"` // the display was off by more than that, as found
	Pouches   []JudgedRow       `json:"pouches"`
	Table     record.Seq        `json:"table"` // the temperature table that came out of it, None
}

// OffRow is one temperature: what was shown, what was measured, and how far the
// display was off.
type OffRow struct {
	Position string       `json:"position"`
	Place    record.Place `json:"place,omitempty"`
	Face     string       `json:"face"`
	Off      string       `json:"off,omitempty"` // "+7.0 °C": the face is hotter than shown
}

// JudgedRow is what it means for one setting.
type JudgedRow struct {
	record.FoundJudged
	Name    string      `json:"name"`
	Problem *ProblemRef `json:"problem"` // about its packs, if the window was missed
}

// Calibration draws a calibration of a sealer.
func (d *Desk) Calibration(who Caller, code string, seq record.Seq) (*CalibrationView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	r, err := d.ofSealer(s, seq)
	if err != nil {
		return nil, err
	}
	b, err := bodyOf[*record.Calibrated](&r)
	if err != nil {
		return nil, err
	}
	records := []record.Record{r}
	for next := seq + 1; int64(next) < d.ledger.Size(); next++ {
		more, err := d.ledger.Read(next)
		if err != nil {
			return nil, err
		}
		if more.Of != r.ID {
			break
		}
		records = append(records, more)
	}
	view := &CalibrationView{SealerFacts: s.SealerFacts, Code: s.Code, Said: *b, Table: record.None, Line: d.lines(records[:1])[0]}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.outcome(v, d, records[1:])
	})
	view.measure(s, b)
	return view, nil
}

func (view *CalibrationView) outcome(v record.View, d *Desk, records []record.Record) {
	for i := range records {
		r := &records[i]
		switch b := bodyIn(r).(type) {
		case *record.TemperatureTable:
			view.Table = r.Seq
		case *record.FoundJudged:
			row := JudgedRow{FoundJudged: *b}
			if p := rules.GetPouch(v, b.Pouch); p != nil {
				row.Name = p.Name
			}
			if p := rules.GetProblem(v, r.ID); p != nil {
				row.Problem = d.problemRef(v, p)
			}
			view.Pouches = append(view.Pouches, row)
		}
	}
}

// measure works out how far a display was off, in the scale of the department.
func (view *CalibrationView) measure(s *rules.Sealer, b *record.Calibrated) {
	scale, bound := view.Dept.Scale(), 0.0
	if b.Tolerance != (record.Quantity{}) {
		bound, view.Tolerance = tolerance(b.Tolerance, scale)
	}
	rows := func(points []record.TablePoint, judge bool) (list []OffRow) {
		for _, p := range points {
			row := OffRow{Place: p.Place, Position: p.Position.Value, Face: p.Face.Value}
			position, err1 := rules.Read(p.Position)
			face, err2 := rules.Read(p.Face)
			if err1 == nil && err2 == nil {
				row.Position, row.Face = position.String(), face.String()
			}
			shown, err1 := position.In(sealing.Celsius)
			measured, err2 := face.In(sealing.Celsius)
			if err1 == nil && err2 == nil && position.Unit.Dimension() == sealing.Temperature {
				row.Off = signed(measured-shown, scale)
				view.Over = view.Over || judge && bound > 0 && max(measured-shown, shown-measured) > bound
			}
			list = append(list, row)
		}
		return list
	}
	view.Found, view.Left = rows(b.Found, true), rows(b.Left, false)
}

// tolerance is a difference in degrees Celsius, and as a person reads it. A
// difference converts without the 32.
func tolerance(q record.Quantity, scale sealing.Unit) (float64, string) {
	read, err := rules.Read(q)
	if err != nil {
		return 0, ""
	}
	c := read.Value.Float()
	if read.Unit == sealing.Fahrenheit {
		c = c * 5 / 9
	}
	return c, fmt.Sprintf("± %s", sealing.Difference(c, scale))
}
