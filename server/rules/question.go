package rules

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"tidemark/server/record"
)

// Question is something in the records that a lead may want to ask about. It
// accuses nobody: it names sealers and times, no person.
type Question struct {
	What    string      `json:"what"` // one of Ask...
	Sealers []record.ID `json:"sealers"`
	From    record.Time `json:"from"`
	To      record.Time `json:"to"`
	Times   int         `json:"times"`          // how often the same was written down
	Same    string      `json:"same,omitempty"` // what was written down each time
}

// What a lead is asked to look at.
const (
	AskBurst = "burst" // several sealers were checked within a minute
	AskSame  = "same"  // what was read stayed the same for weeks
)

// The bounds of a question (common practice, no source).
const (
	burstWithin  = time.Minute
	burstSealers = 3
	sameTimes    = 10
	sameFor      = 14 * 24 * time.Hour
)

// Questions finds what to ask about among records of several sealers, in order of
// time: good checks, and readings of a reference instrument.
func Questions(records []record.Record) []Question {
	list := bursts(records)
	list = append(list, constant(records)...)
	slices.SortStableFunc(list, func(a, b Question) int { return cmp.Compare(b.To, a.To) })
	return list
}

// bursts finds checks of several sealers that one person made within a minute. A
// check with test pouches and dye takes longer.
func bursts(records []record.Record) (list []Question) {
	by := map[record.ID][]*record.Record{}
	for i := range records {
		r := &records[i]
		if body, _ := r.Content(); body != nil {
			if b, ok := body.(*record.Check); ok && b.Outcome == record.Pass && !r.Late && !r.By.IsZero() {
				by[r.By] = append(by[r.By], r)
			}
		}
	}
	for _, made := range by {
		slices.SortStableFunc(made, func(a, b *record.Record) int { return cmp.Compare(a.Happened.From, b.Happened.From) })
		for i := 0; i < len(made); i++ {
			var sealers []record.ID
			j := i
			for ; j < len(made) && made[j].Happened.From.Sub(made[i].Happened.From) <= burstWithin; j++ {
				sealers = with(sealers, made[j].Subject.ID)
			}
			if len(sealers) >= burstSealers {
				list = append(list, Question{What: AskBurst, Sealers: sealers, From: made[i].Happened.From, To: made[j-1].Happened.From, Times: j - i})
				i = j - 1
			}
		}
	}
	return list
}

// constant finds readings that were typed the same, one after the other, for
// weeks: what is measured scatters.
func constant(records []record.Record) (list []Question) {
	runs := map[record.ID]*Question{}
	end := func(id record.ID) {
		if q := runs[id]; q != nil && q.Times >= sameTimes && q.To.Sub(q.From) >= sameFor {
			list = append(list, *q)
		}
		delete(runs, id)
	}
	for i := range records {
		r := &records[i]
		read, ok := typedReading(r)
		if !ok {
			continue
		}
		id := r.Subject.ID
		if q := runs[id]; q != nil && q.Same == read {
			q.To, q.Times = r.Happened.From, q.Times+1
			continue
		}
		end(id)
		runs[id] = &Question{What: AskSame, Sealers: []record.ID{id}, From: r.Happened.From, To: r.Happened.From, Times: 1, Same: read}
	}
	for _, id := range slices.SortedFunc(maps.Keys(runs), func(a, b record.ID) int { return slices.Compare(a[:], b[:]) }) {
		end(id)
	}
	return list
}

// typedReading is what a reference instrument was said to read.
func typedReading(r *record.Record) (string, bool) {
	body, _ := r.Content()
	b, ok := body.(*record.Reading)
	if !ok {
		return "", false
	}
	return b.Face.Value + " " + b.Face.Unit, true
}
