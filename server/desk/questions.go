package desk

import (
	"cmp"
	"slices"
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// QuestionsView lists what a lead may want to ask about. It names no person.
type QuestionsView struct {
	Frame
	Days      int           `json:"days"` // looked at, up to today
	Questions []QuestionRow `json:"questions"`
}

// QuestionRow is one question and the sealers it is about.
type QuestionRow struct {
	rules.Question
	About []Ref `json:"about"`
}

const questionDays = 60

// Questions looks through the newest records for what a lead may want to ask about.
func (d *Desk) Questions(who Caller) (*QuestionsView, error) {
	if _, err := d.may(who, "Questions"); err != nil {
		return nil, err
	}
	view := &QuestionsView{Days: questionDays}
	numbers := map[record.ID]Ref{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, s := range d.sealersOf(v, view.Dept) {
			numbers[s.ID] = Ref{Code: s.Code, Text: s.Number}
		}
	})
	var records []record.Record
	for id := range numbers {
		list, err := d.back(d.ledger.Head(record.Subject{Type: record.Sealer, ID: id}), view.Now.Add(-questionDays*24*time.Hour))
		if err != nil {
			return nil, err
		}
		records = append(records, list...)
	}
	slices.SortFunc(records, func(a, b record.Record) int { return cmp.Compare(a.Happened.From, b.Happened.From) })
	for _, q := range rules.Questions(records) {
		row := QuestionRow{Question: q}
		for _, id := range q.Sealers {
			row.About = append(row.About, numbers[id])
		}
		slices.SortFunc(row.About, func(a, b Ref) int { return cmp.Compare(a.Text, b.Text) })
		view.Questions = append(view.Questions, row)
	}
	return view, nil
}
