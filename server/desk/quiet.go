package desk

import (
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// QuietRow is something of the last day that changed nothing and that somebody
// should know of all the same: a good word that could give no readiness, a
// setting that was lost.
type QuietRow struct {
	Sealer Ref `json:"sealer"`
	Line
	Nothing string `json:"nothing,omitempty"` // why it gave nothing
}

// quietFor is how long it is told.
const quietFor = 24 * time.Hour

// settingLost is the cause that clinical engineering is to hear of.
const settingLost = "setting-lost"

// quiet looks through the newest records of every sealer of a department,
// retired ones too.
func (d *Desk) quiet(f *Frame) (rows []QuietRow, err error) {
	for _, id := range f.Dept.Sealers {
		var s *rules.Sealer
		d.ledger.View(func(v record.View) { s = rules.GetSealer(v, id) })
		if s == nil {
			continue
		}
		records, err := d.back(d.ledger.Head(sealerSubject(s)), f.Now.Add(-quietFor))
		if err != nil {
			return nil, err
		}
		var told []record.Record
		for _, r := range records {
			if saysNothing(r.Effect.Nothing) || r.Cause == settingLost {
				told = append(told, r)
			}
		}
		for _, l := range d.lines(told) {
			rows = append(rows, QuietRow{Sealer: Ref{Code: s.Code, Text: s.Number}, Line: l, Nothing: l.Effect.Nothing})
		}
	}
	return rows, nil
}

// saysNothing leaves out what is as it should be.
func saysNothing(why string) bool {
	switch why {
	case "", rules.NothingAnswered, rules.NothingOldDay, rules.NothingImported:
		return false
	}
	return true
}
