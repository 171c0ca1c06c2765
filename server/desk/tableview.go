package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// TableView is a temperature table and the curve that was made of it. Numbers
// are degrees Celsius, positions marks or shown degrees Celsius; texts are in
// the scale of the department.
type TableView struct {
	Frame
	Code    string                  `json:"code"`
	Number  string                  `json:"number"`
	Scale   sealing.Unit            `json:"scale"`
	Control sealing.Unit            `json:"control"` // what its positions are typed in
	Line    Line                    `json:"line"`
	Newest  bool                    `json:"newest"`
	Table   record.TemperatureTable `json:"table"`
	Places  []PlaceCurve            `json:"places"`
	Says    []CurveRow              `json:"says"`
	Windows []CurveWindow           `json:"windows"` // of the pouches in use
	Unfit   string                  `json:"unfit,omitempty"`
	curve   *sealing.Curve
}

// PlaceCurve is the curve of one place.
type PlaceCurve struct {
	Place     sealing.Place `json:"place,omitempty"`
	Basis     sealing.Basis `json:"basis"`
	Bent      bool          `json:"bent"` // the straight line does not fit
	Positions int           `json:"positions"`
	Points    []CurvePoint  `json:"points"`
	Samples   []CurvePoint  `json:"samples"`
}

// CurvePoint is a temperature at a position with its expanded uncertainty.
type CurvePoint struct {
	X float64 `json:"x"`
	T float64 `json:"t"`
	U float64 `json:"u"`
}

// CurveRow is what the curve says at one position, place by place: "180.2 °C ±
// 3.5 °C".
type CurveRow struct {
	Position string   `json:"position"`
	Faces    []string `json:"faces"`
}

// CurveWindow is the window of a pouch and where its approved setting lies.
type CurveWindow struct {
	Pouch    string   `json:"pouch"`
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
	Text     string   `json:"text"`
	Approved string   `json:"approved,omitempty"` // as a person reads it
	At       *float64 `json:"at"`                 // the position of it
}

// curveSamples is how many points a curve is drawn from.
const curveSamples = 33

// Table draws a temperature table of a sealer.
func (d *Desk) Table(who Caller, code string, seq record.Seq) (*TableView, error) {
	if _, err := d.may(who, "Settings"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	var f Frame
	d.ledger.View(func(v record.View) { s, f = rules.GetSealer(v, s.ID), d.frame(v, who) })
	return d.table(s, f, seq)
}

// newestTable is the table that counts, nil if there is none.
func (d *Desk) newestTable(s *rules.Sealer, f Frame) (*TableView, error) {
	if s.Filed.Table() == record.None {
		return nil, nil
	}
	return d.table(s, f, s.Filed.Table())
}

func (d *Desk) table(s *rules.Sealer, f Frame, seq record.Seq) (*TableView, error) {
	r, err := d.ofSealer(s, seq)
	if err != nil {
		return nil, err
	}
	body, err := bodyOf[*record.TemperatureTable](&r)
	if err != nil {
		return nil, err
	}
	curve, err := d.curve(s.Type, seq)
	if err != nil {
		return nil, err
	}
	view := &TableView{Frame: f, Code: s.Code, Number: s.Number, Scale: f.Dept.Scale(), Table: *body,
		Newest: seq == s.Filed.Table(), Line: d.lines([]record.Record{r})[0], curve: curve}
	if len(body.Points) > 0 {
		view.Control = sealing.Unit(body.Points[0].Position.Unit)
	}
	d.ledger.View(func(v record.View) { view.Windows = windowsOn(v, s, f.Day, view.Scale) })
	if curve == nil {
		_, err := compile(s.Type, body)
		view.Unfit = messageOf(err)
		return view, nil
	}
	view.Places, view.Says = places(curve, body), says(curve, body, view.Scale)
	return view, nil
}

// mostRows is how many positions a table of the curve lists.
const mostRows = 12

// says lists what the curve says at positions spread over what was measured at
// every place.
func says(c *sealing.Curve, t *record.TemperatureTable, scale sealing.Unit) (list []CurveRow) {
	all := positions(c, t)
	for i := 0; i < len(all); i += (len(all) + mostRows - 1) / mostRows {
		faces, err := c.At(all[i])
		if err != nil {
			continue
		}
		row := CurveRow{Position: all[i].String()}
		for _, p := range faces {
			row.Faces = append(row.Faces, sealing.Degrees(p.T, scale)+" ± "+sealing.Difference(p.Expanded(), scale))
		}
		list = append(list, row)
	}
	return list
}

func places(c *sealing.Curve, t *record.TemperatureTable) (list []PlaceCurve) {
	for _, fit := range c.Fits() {
		p := PlaceCurve{Place: fit.Place, Basis: fit.Basis, Bent: fit.Bent, Positions: fit.Positions}
		for _, point := range t.Points {
			if sealing.Place(point.Place) == fit.Place {
				p.Points = append(p.Points, measured(point, t.Uncertainty))
			}
		}
		for _, s := range c.Samples(fit.Place, curveSamples) {
			p.Samples = append(p.Samples, CurvePoint{s.X, s.T, s.Expanded()})
		}
		list = append(list, p)
	}
	return list
}

// measured is a point as a number; the table was compiled, so it can be read.
func measured(p record.TablePoint, common record.Uncertainty) CurvePoint {
	if p.Uncertainty == (record.Uncertainty{}) {
		p.Uncertainty = common
	}
	u, _ := rules.UncertaintyOf(p.Uncertainty)
	standard, _ := u.Celsius()
	return CurvePoint{X: base(p.Position), T: base(p.Face), U: 2 * standard}
}

// base is a mark, or degrees Celsius.
func base(q record.Quantity) float64 {
	read, err := rules.Read(q)
	if err != nil {
		return 0
	}
	if read.Unit == sealing.Mark {
		return read.Value.Float()
	}
	x, _ := read.In(sealing.Celsius)
	return x
}

func windowsOn(v record.View, s *rules.Sealer, day record.Date, scale sealing.Unit) (list []CurveWindow) {
	for _, a := range s.Approvals {
		p := rules.GetPouch(v, a.Pouch)
		if p == nil || p.Retired {
			continue
		}
		if w, ok := rules.WindowOf(&p.PouchFacts); ok {
			window := windowOf(w, scale)
			set := record.Quantity{Value: a.Value, Unit: a.Unit}
			x := base(set)
			window.At = &x
			if q, err := rules.Read(set); err == nil {
				window.Approved = q.String()
			}
			list = append(list, window)
		}
	}
	return list
}

func windowOf(w sealing.Window, scale sealing.Unit) CurveWindow {
	limits, _ := w.Limits() // rules.WindowOf saw to it
	return CurveWindow{Pouch: w.Pouch, Low: limits.Low, High: limits.High, Text: limits.Text(scale)}
}
