package desk

import (
	"tidemark/server/record"
	"tidemark/server/rules"
)

// WatchView says that a sealer is watched: clinical engineering found no fault in
// it a short while ago.
type WatchView struct {
	Number int         `json:"problem"` // of the problem in which none was found
	ID     record.ID   `json:"problem_id"`
	Until  record.Time `json:"until"`
}

// Following tells how clinical engineering came to know of a problem.
type Following struct {
	Calls   Calls       `json:"calls"`           // how far the route has been gone
	Taken   string      `json:"taken,omitempty"` // who is at work on it
	TakenAt record.Time `json:"taken_at,omitzero"`
	Watched *WatchView  `json:"watched"` // the sealer was watched when it came
}

// watchedNow is the watch that a sealer is under, nil if none.
func watchedNow(v record.View, s *rules.Sealer, now record.Time) *WatchView {
	p, until := rules.Watched(v, s, now)
	if p == nil {
		return nil
	}
	return &WatchView{p.Number, p.ID, until}
}

// watchedAt is the watch that a sealer was under when a problem came.
func watchedAt(v record.View, sealer record.ID, p *rules.Problem) *WatchView {
	s := rules.GetSealer(v, sealer)
	if s == nil || !p.NeedsEngineering() {
		return nil
	}
	w := watchedNow(v, s, p.OpenedAt)
	if w != nil && w.ID == p.ID {
		return nil
	}
	return w
}
