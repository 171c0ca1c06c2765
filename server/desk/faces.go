package desk

import (
	"math"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// AtFace is what a temperature table says of the sealing face at one position,
// held against the window of a pouch. Texts are in the scale of the department.
type AtFace struct {
	Position    string         `json:"position"` // as a person reads it: "7½"
	Value       string         `json:"value"`
	Unit        sealing.Unit   `json:"unit"`
	Place       sealing.Place  `json:"place,omitempty"`  // the one that decides
	Face        string         `json:"face"`             // "187.0 °C"
	Expanded    string         `json:"expanded"`         // U, "3.5 °C"
	Hotter      string         `json:"hotter,omitempty"` // than the display says, "+7.0 °C"
	Probability string         `json:"probability"`      // of conformity
	Effect      sealing.Effect `json:"effect"`
	Guarded     sealing.Zone   `json:"guarded"`       // with a guard band of all of U
	NoRoom      bool           `json:"no_guard_room"` // such guard bands would meet
}

// Proposed is the position most probably within a window. It proposes: nothing
// changes by it.
type Proposed struct {
	AtFace
	Verdict  sealing.Verdict `json:"verdict"`
	Sentence string          `json:"sentence"`
}

// weighing holds positions of a sealer's control against the window of a pouch.
type weighing struct {
	curve  *sealing.Curve
	table  *record.TemperatureTable
	window sealing.Window
	scale  sealing.Unit
}

// at weighs one position. It is a fault where the table does not reach.
func (w weighing) at(position sealing.Quantity) (*AtFace, error) {
	faces, err := w.curve.At(position)
	if err != nil {
		return nil, err
	}
	j, err := sealing.JudgeFound(w.window, faces, 0)
	if err != nil {
		return nil, err
	}
	limits, err := w.window.Limits()
	if err != nil {
		return nil, err
	}
	guard := j.Worst.Guarded(limits, 1)
	face := &AtFace{Position: position.String(), Value: position.Value.String(), Unit: position.Unit,
		Place: j.Worst.Place, Face: sealing.Degrees(j.Worst.T, w.scale),
		Expanded:    sealing.Difference(j.Worst.Expanded(), w.scale),
		Probability: sealing.Percent(j.Worst.Probability()),
		Effect:      j.Effect, Guarded: guard.Zone, NoRoom: guard.Empty}
	if shown, err := position.In(sealing.Celsius); err == nil {
		face.Hotter = signed(j.Worst.T-shown, w.scale)
	}
	return face, nil
}

// propose finds the position that suits best.
func (w weighing) propose() (*Proposed, error) {
	limits, err := w.window.Limits()
	if err != nil {
		return nil, err
	}
	p, err := sealing.Request{Curve: w.curve, Limits: limits, Positions: positions(w.curve, w.table)}.Propose()
	if err != nil {
		return nil, err
	}
	face, err := w.at(p.Position)
	if err != nil {
		return nil, err
	}
	return &Proposed{AtFace: *face, Verdict: p.Verdict, Sentence: p.Sentence(w.scale)}, nil
}

// positions are what the control can be set to within what was measured: the
// positions of a switch, halves of a mark on a dial, whole degrees on a display.
func positions(c *sealing.Curve, t *record.TemperatureTable) []sealing.Quantity {
	fits := c.Fits()
	if fits[0].Basis == sealing.EachPosition {
		return measuredPositions(t)
	}
	first, last := fits[0].First, fits[0].Last
	for _, f := range fits[1:] {
		if order, err := f.First.Cmp(first); err == nil && order > 0 {
			first = f.First
		}
		if order, err := f.Last.Cmp(last); err == nil && order < 0 {
			last = f.Last
		}
	}
	perUnit := 1.0
	if first.Unit == sealing.Mark {
		perUnit = 2
	}
	end, err := last.In(first.Unit)
	if err != nil {
		return measuredPositions(t)
	}
	list, err := sealing.Positions(sealing.Rounded(math.Ceil(first.Value.Float()*perUnit)/perUnit, 1),
		sealing.Rounded(end, 6), sealing.Rounded(1/perUnit, 1))
	if err != nil {
		return measuredPositions(t) // two positions closer than one step
	}
	quantities := make([]sealing.Quantity, len(list))
	for i, d := range list {
		quantities[i] = sealing.Quantity{Value: d, Unit: first.Unit}
	}
	return quantities
}

func measuredPositions(t *record.TemperatureTable) (list []sealing.Quantity) {
	seen := map[record.Quantity]bool{}
	for _, p := range t.Points {
		if q, err := rules.Read(p.Position); err == nil && !seen[p.Position] {
			seen[p.Position], list = true, append(list, q)
		}
	}
	return list
}
