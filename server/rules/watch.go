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

// LastFix returns the first-line fix that was the sealer's last repair when a fault
// came: any fault within 30 days of it is for clinical engineering. Nil if there is
// none, or if the pack was sealed before it.
func LastFix(v record.View, p *Problem) *Fix {
	s := GetSealer(v, p.Sealer)
	if s == nil || !p.NeedsEngineering() {
		return nil
	}
	at := p.OpenedAt
	if p.Sealed != nil {
		at = p.Sealed.To
	}
	var fix *Fix
	for i := range s.Fixes {
		if f := &s.Fixes[i]; f.Problem != p.ID && f.At <= at && at.Sub(f.At) <= fixAgain && (fix == nil || f.At >= fix.At) {
			fix = f
		}
	}
	if fix == nil {
		return nil
	}
	for _, id := range s.Problems {
		if o := GetProblem(v, id); o != nil && o.HandedBack > fix.At && o.HandedBack <= at {
			return nil // engineering has repaired it since
		}
	}
	return fix
}

// OnlyEngineering reports whether a first-line fix is not enough for a problem:
// one was tried and a fault came, or the sealer was being watched.
func OnlyEngineering(v record.View, p *Problem) bool {
	if p.OnlyCE || LastFix(v, p) != nil {
		return true
	}
	s := GetSealer(v, p.Sealer)
	if s == nil || !p.NeedsEngineering() {
		return false
	}
	before, _ := Watched(v, s, p.OpenedAt)
	return before != nil && before.ID != p.ID
}
