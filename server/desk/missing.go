package desk

import (
	"time"

	"tidemark/server/record"
)

// An entry is missed for a lead once a later one of the same phone is there for
// some minutes, and for two weeks: older entries would be doubtful anyhow.
const missedAfter = 5 * time.Minute

// Missing tells that a phone has made entries that did not come.
type Missing struct {
	Device string      `json:"device,omitempty"` // its name
	Made   int64       `json:"made"`             // by the number of the last that came
	Came   int64       `json:"came"`
	Since  record.Time `json:"since"` // when a later one came
}

// missing lists them for the caller's department.
func (d *Desk) missing(f *Frame, who Caller) (list []Missing, err error) {
	storages, err := d.people.Storages(who.Dept)
	for _, s := range storages {
		m := Missing{Device: d.reveal(f.Dept.Devices[s.Device].Name), Made: s.Made, Came: s.Made}
		for _, g := range s.Gaps {
			age := f.Now.Time().Sub(g.Since)
			if age < missedAfter || age > maxAge {
				continue
			}
			m.Came -= g.To - g.From + 1
			if at := record.TimeOf(g.Since); m.Since == 0 || at < m.Since {
				m.Since = at
			}
		}
		if m.Came < m.Made {
			list = append(list, m)
		}
	}
	return list, err
}
