package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Box is a box in use: the newest one opened of its kind.
type Box struct {
	record.BoxOpened
	Seq record.Seq  `json:"seq"`
	On  record.Date `json:"on"`
}

// Expired reports whether the box may not be used on a day.
func (b *Box) Expired(day record.Date) bool { return b != nil && b.Expires != 0 && b.Expires < day }

// Box returns the box in use, nil if nobody opened one. The pouch is asked for a
// box of pouches only.
func (d *Department) Box(what record.Supply, pouch record.ID) *Box {
	for i := range d.Boxes {
		if b := &d.Boxes[i]; b.What == what && (what != record.PouchBox || b.Pouch == pouch) {
			return b
		}
	}
	return nil
}

// open puts a new box in the place of the one before.
func (d *Department) open(b *record.BoxOpened, r *record.Record) {
	d.Boxes = slices.DeleteFunc(slices.Clone(d.Boxes), func(old Box) bool { return old.What == b.What && old.Pouch == b.Pouch })
	d.Boxes = append(d.Boxes, Box{BoxOpened: *b, Seq: r.Seq, On: r.Day})
}

// supplies are what a test is made with.
var supplies = map[record.Test]record.Supply{record.Dye: record.DyeBox, record.Indicator: record.IndicatorBox}

// Kit is the box that a check was made with, nil if it is not known here: the one
// in use, if no other lot was named.
func (d *Department) Kit(k *record.Check) *Box {
	for _, t := range k.Tests {
		b := d.Box(supplies[t], record.ID{})
		if b != nil && (k.Kit == "" || k.Kit == b.Lot) {
			return b
		}
	}
	return nil
}

func boxIsSound(v record.View, d *Department, b *record.BoxOpened) error {
	switch b.What {
	case record.DyeBox, record.IndicatorBox:
		if !b.Pouch.IsZero() {
			return fault.Field("pouch", "Only a box of pouches belongs to a pouch.")
		}
	case record.PouchBox:
		p := GetPouch(v, b.Pouch)
		if p == nil || p.Dept != d.ID || p.Retired {
			return fault.Field("pouch", "Choose the pouch.")
		}
		if _, held := p.Held[b.Lot]; held {
			return fault.Field("lot", "This lot is on hold: do not use it.")
		}
	default:
		return fault.Field("what", "Choose what the box holds.")
	}
	if strings.TrimSpace(b.Lot) == "" {
		return fault.Field("lot", "Type the lot that stands on the box.")
	}
	return nil
}

// boxIsGood refuses a box that is past its date when it is opened.
func boxIsGood(b *record.BoxOpened, day record.Date) error {
	if b.Expires != 0 && b.Expires < day {
		return fault.Field("expires", "This box is past its date. Do not use it.")
	}
	return nil
}
