package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// Validation is a test of seals and what it shows.
type Validation struct {
	Line     Line            `json:"line"`
	Finding  sealing.Finding `json:"finding,omitempty"` // of a strength test
	Good     bool            `json:"good"`
	Strength *StrengthView   `json:"strength"`
	Total    string          `json:"total,omitempty"` // of a seal width
	Warnings []string        `json:"warnings"`
}

// StrengthView is a strength test in newtons per 15 mm.
type StrengthView struct {
	Strips  int     `json:"strips"`
	Mean    float64 `json:"mean"`
	SD      float64 `json:"sd"`
	Lowest  float64 `json:"lowest"`
	Factor  float64 `json:"factor"`
	Bound   float64 `json:"bound"` // with 95 % confidence, 95 % of all seals are stronger
	Minimum float64 `json:"minimum"`
}

// validation assesses a test of seals; one that cannot be read any more shows
// its record alone.
func validation(l Line) (view Validation) {
	view.Line = l
	switch b := l.Body.(type) {
	case *record.StrengthTested:
		if test, err := rules.StrengthOf(b); err == nil {
			view.strength(test)
		}
	case *record.WidthMeasured:
		ribs, least, err := rules.WidthOf(b)
		if err != nil {
			return view
		}
		if total, enough, err := sealing.SealWidth(ribs, least); err == nil {
			view.Good, view.Total = enough, total.String()
		}
	case *record.AfterSterilizing:
		view.Good = b.AfterGood == b.After && b.BeforeGood == b.Before
	}
	return view
}

func (view *Validation) strength(test sealing.StrengthTest) {
	s, err := test.Assess()
	if err != nil {
		return
	}
	view.Finding, view.Good = s.Finding, s.Finding == sealing.StrongEnough
	view.Strength = &StrengthView{s.Strips, s.Mean, s.SD, s.Lowest, s.Factor, s.Bound, s.Minimum}
	for _, w := range s.Warnings {
		view.Warnings = append(view.Warnings, w.Message)
	}
}
