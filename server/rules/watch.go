package rules

import (
	"slices"
	"time"

	"tidemark/server/record"
)

// WatchDays is how long a sealer is watched after clinical engineering found no
// fault, unless the department says otherwise (common practice, no source).
const WatchDays = 14

// WatchFor is how long the department watches a sealer.
func (d *Department) WatchFor() time.Duration {
	days := WatchDays
	if d != nil && d.Route != nil {
		days = d.Route.WatchDays
	}
	return time.Duration(days) * 24 * time.Hour
}

// Watched returns the problem that ended with no fault found and for whose sake
// a sealer is still watched at t, and until when; nil if there is none.
func Watched(v record.View, s *Sealer, t record.Time) (*Problem, record.Time) {
	span := GetDepartment(v, s.Dept).WatchFor()
	for _, id := range slices.Backward(s.Problems) {
		p := GetProblem(v, id)
		if p == nil || p.Finding != NoneFound || p.Returned == 0 {
			continue
		}
		if until := p.Returned.Add(span); p.Returned <= t && t < until {
			return p, until
		}
	}
	return nil, 0
}

// NoneFound is the finding that begins a watch.
const NoneFound = "none-found"

// OnlyEngineering reports whether a first-line fix is not enough for a problem:
// one was tried and the fault came back, or the sealer was being watched.
func OnlyEngineering(v record.View, p *Problem) bool {
	if p.OnlyCE {
		return true
	}
	s := GetSealer(v, p.Sealer)
	if s == nil || !p.NeedsEngineering() {
		return false
	}
	before, _ := Watched(v, s, p.OpenedAt)
	return before != nil && before.ID != p.ID
}
