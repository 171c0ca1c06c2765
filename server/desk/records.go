package desk

import (
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PeriodIn is a span of operating days; without it the last 30.
type PeriodIn struct {
	From record.Date `query:"from"`
	To   record.Date `query:"to"`
}

// maxPeriod is the longest period of one page, in days.
const maxPeriod = 366

// RecordsView tells for a period which days were checked, and names each gap.
type RecordsView struct {
	Frame
	From     record.Date     `json:"from"`
	To       record.Date     `json:"to"`
	Sealers  []SealerRecords `json:"sealers"`
	Problems []ProblemRef    `json:"problems"` // opened in the period, oldest first
	Late     []LateRow       `json:"late"`     // entries written down late
}

// SealerRecords is the part of one sealer.
type SealerRecords struct {
	Code   string                  `json:"code"`
	Number string                  `json:"number"`
	Days   []rules.DayRow          `json:"days"`
	Count  map[rules.DayStatus]int `json:"count"`
}

// LateRow is an entry that was written down late.
type LateRow struct {
	Sealer string `json:"sealer"`
	Line
}

// Records draws the completeness of a period for every sealer of the
// department, retired ones too.
func (d *Desk) Records(who Caller, in PeriodIn) (*RecordsView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &RecordsView{From: in.From, To: in.To}
	var sealers []*rules.Sealer
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, id := range view.Dept.Sealers {
			if s := rules.GetSealer(v, id); s != nil {
				sealers = append(sealers, s)
			}
		}
	})
	if err := view.period(); err != nil {
		return nil, err
	}
	unused, err := d.back(d.ledger.Head(record.Subject{Type: record.Department, ID: who.Dept}), view.start())
	if err != nil {
		return nil, err
	}
	for _, s := range sealers {
		if err := d.sealerRecords(s, unused, view); err != nil {
			return nil, err
		}
	}
	return view, d.problemsOf(sealers, view)
}

// period fills in the last 30 days and refuses what makes no sense.
func (v *RecordsView) period() error {
	if v.To == 0 || v.To > v.Day {
		v.To = v.Day
	}
	if v.From == 0 {
		v.From = v.To - 29
	}
	if v.From > v.To || v.To-v.From >= maxPeriod {
		return fault.Field("from", "Choose a period of one to %d days.", maxPeriod)
	}
	return nil
}

// start is how far back records are read: a phone may have kept an entry for two
// weeks, and a sealer may have been out of service when the period began.
func (v *RecordsView) start() record.Time {
	return rules.Begin(rules.Zone(v.Zone), 0, v.From).Add(-30 * 24 * time.Hour)
}

// back reads a subject's records up to its newest one, from a time on, oldest first.
func (d *Desk) back(newest record.Seq, from record.Time) (list []record.Record, err error) {
	for r, err := range d.ledger.ChainFrom(newest) {
		if err != nil {
			return nil, err
		}
		if r.At < from {
			break
		}
		list = append(list, r)
	}
	slices.Reverse(list)
	return list, nil
}

func (d *Desk) sealerRecords(s *rules.Sealer, unused []record.Record, view *RecordsView) error {
	records, err := d.back(d.ledger.Head(sealerSubject(s)), view.start())
	if err != nil {
		return err
	}
	row := SealerRecords{Code: s.Code, Number: s.Number, Days: view.days(s, records, unused)}
	row.Count = rules.Count(row.Days)
	view.Sealers = append(view.Sealers, row)
	var late []record.Record
	for _, r := range records {
		if r.Late && r.Day >= view.From && r.Day <= view.To {
			late = append(late, r)
		}
	}
	for _, l := range d.lines(late) {
		view.Late = append(view.Late, LateRow{Sealer: s.Number, Line: l})
	}
	return nil
}

// days tells what became of each day of the period, up to the last of a sealer
// that was retired.
func (v *RecordsView) days(s *rules.Sealer, records, unused []record.Record) []rules.DayRow {
	last := v.To
	if s.Readiness.State == record.Retired {
		last = min(last, s.Readiness.Day)
	}
	return rules.Completeness(s, records, unused, v.From, last, v.Day)
}

func (d *Desk) problemsOf(sealers []*rules.Sealer, view *RecordsView) error {
	from := rules.Begin(rules.Zone(view.Zone), view.Dept.DayStart, view.From)
	to := rules.Begin(rules.Zone(view.Zone), view.Dept.DayStart, view.To+1)
	var opened []*rules.Problem
	d.ledger.View(func(v record.View) {
		for _, s := range sealers {
			for _, id := range s.Problems {
				if p := rules.GetProblem(v, id); p != nil && p.OpenedAt >= from && p.OpenedAt < to {
					opened = append(opened, p)
					view.Problems = append(view.Problems, *d.problemRef(v, p))
				}
			}
		}
	})
	for i, p := range opened {
		if err := d.explain(&view.Problems[i], p); err != nil {
			return err
		}
	}
	slices.SortFunc(view.Problems, func(a, b ProblemRef) int { return a.Number - b.Number })
	return nil
}
