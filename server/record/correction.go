package record

// Corrections name in Corrects the newest version of what they correct and in
// RestsOn the original, first of all. They belong to the chain of the original's
// subject; what they mean for a problem elsewhere is one more record of the same
// command in that problem's chain.

// Corrected replaces what was written down wrongly in one record. Of what a
// record can hold, the one that the original holds is given, whole; who said it,
// of which sealer and with which outcome stays.
type Corrected struct {
	Why      string       `json:"why"`
	Happened *Span        `json:"happened,omitempty"` // when it happened, if that was wrong
	Check    *Check       `json:"check,omitempty"`
	BadSeal  *BadSeal     `json:"bad_seal,omitempty"`
	Packs    *Packs       `json:"packs,omitempty"`
	Settled  *PackSettled `json:"settled,omitempty"`
	Note     bool         `json:"new_note,omitempty"` // the note is what is sealed here as "note"
}

// Voided takes back a record that should never have been made. That of a stop
// waits for a second name: its Effect.Nothing says so.
type Voided struct {
	Why string `json:"why"`
}

// VoidConfirmed is the second name: RestsOn names the original and the Voided.
type VoidConfirmed struct{}

func (*Corrected) kind() (Kind, int)     { return "corrected", 1 }
func (*Voided) kind() (Kind, int)        { return "voided", 1 }
func (*VoidConfirmed) kind() (Kind, int) { return "void-confirmed", 1 }

// Original is the record that a correction is about, whichever version it names.
func (r *Record) Original() Seq {
	if len(r.RestsOn) > 0 {
		return r.RestsOn[0]
	}
	return r.Corrects
}

// Says returns what is said instead of the original's body.
func (c *Corrected) Says(original Body) Body {
	switch original.(type) {
	case *Check:
		if c.Check != nil {
			return c.Check
		}
	case *BadSeal:
		if c.BadSeal != nil {
			return c.BadSeal
		}
	case *Packs:
		if c.Packs != nil {
			return c.Packs
		}
	case *PackSettled:
		if c.Settled != nil {
			return c.Settled
		}
	}
	return original
}
