package desk

import (
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// Unproved is what rests on the last good check of a sealer that is ready: should
// the next check fail, it is in doubt. A plan that asks for a check before each
// changeover, or for a closing check, asks for one while there is any.
type Unproved struct {
	Since record.Time `json:"since"` // the last good check began
	Packs int         `json:"packs"` // known to be sealed since, of the pouch it is ready for
}

// justChecked is how old a check may be that needs no other before a changeover
// or at the end of sealing (common practice, no source).
const justChecked = 15 * time.Minute

// unprovedRead is through how many records of a sealer is looked.
const unprovedRead = 500

// unproved counts what rests on the last good check, nil if no plan asks or the
// check was made just now.
func (d *Desk) unproved(s *rules.Sealer, view *SealerView) (*Unproved, error) {
	if !view.Plan.Closing && !view.Plan.Changeover || view.Standing.State != record.Ready || view.Phone != nil {
		return nil, nil
	}
	var good *rules.Good
	for i := range s.Good {
		if s.Good[i].Pouch == view.Standing.Pouch {
			good = &s.Good[i]
		}
	}
	if good == nil {
		return nil, nil
	}
	u, read := &Unproved{Since: good.Began}, 0
	for r, err := range d.ledger.Chain(sealerSubject(s)) {
		if err != nil {
			return nil, err
		}
		if read++; r.Seq <= good.Seq || read > unprovedRead {
			break
		}
		if r.Kind != "packs" {
			continue
		}
		b, err := bodyOf[*record.Packs](&r)
		if err != nil {
			return nil, err
		}
		if b.Pouch == good.Pouch && r.Happened.To >= good.Began {
			u.Packs += b.Count
		}
	}
	if u.Packs == 0 && view.Now.Sub(good.Began) <= justChecked {
		return nil, nil
	}
	return u, nil
}
