package rules

import (
	"slices"

	"tidemark/server/record"
)

// Tally counts what was seen at a sealer, so that a question about ten years costs
// what one about a week does.
type Tally struct {
	Clean  Clean                `json:"clean"`  // since the last fault of the sealer
	Faults map[record.Fault]int `json:"faults"` // bad seals reported, by kind, of packing too
	Second []record.Time        `json:"second"` // second seals found, the newest 32
}

// Clean counts good test seals in a row by the place where they were laid.
// Whole is a test pouch as wide as the bar: it tests each place.
type Clean struct {
	Since                      record.Time `json:"since"` // of the fault before them, 0 if there was none
	Left, Middle, Right, Whole int
}

// At is how many good test seals in a row a place has seen.
func (c *Clean) At(p record.Place) int {
	switch p {
	case record.Left:
		return c.Left + c.Whole
	case record.Middle:
		return c.Middle + c.Whole
	case record.Right:
		return c.Right + c.Whole
	}
	return c.Whole
}

// count puts a record into a copy of the tally; false if it is not one that counts.
func (t *Tally) count(r *record.Record, body record.Body) bool {
	switch b := body.(type) {
	case *record.Check:
		switch {
		case b.Outcome == record.Fail || r.Effect.Opens > 0:
			t.Clean = Clean{Since: r.Happened.From}
		case b.Outcome == record.Pass && !r.Late && r.Happened.From > t.Clean.Since:
			for _, p := range b.Places {
				t.Clean.add(p)
			}
		default:
			return false
		}
	case *record.BadSeal:
		t.Faults = clone(t.Faults)
		t.Faults[b.Kind]++
		if b.Kind == record.SecondSeal {
			t.Second = last(append(slices.Clone(t.Second), r.Happened.From), 32)
		}
		if !b.MakersSeal && (r.Effect.Opens > 0 || !r.Effect.Joins.IsZero()) {
			t.Clean = Clean{Since: r.Happened.From}
		}
	default:
		return false
	}
	return true
}

func (c *Clean) add(p record.Place) {
	switch p {
	case record.Left:
		c.Left++
	case record.Middle:
		c.Middle++
	case record.Right:
		c.Right++
	case record.Whole:
		c.Whole++
	}
}
