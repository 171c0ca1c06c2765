package rules

import "tidemark/server/record"

// Problem is the state of a problem.
type Problem struct {
	ID          record.ID    `json:"id"`
	Number      int          `json:"number"`
	Dept        record.ID    `json:"dept"`
	Sealer      record.ID    `json:"sealer"`
	Pouch       record.ID    `json:"pouch"`
	Lot         string       `json:"lot"`
	What        string       `json:"what"` // one of What...
	Kind        record.Fault `json:"kind"`
	Place       record.Place `json:"place"`
	AtCM        string       `json:"at_cm"`
	Found       string       `json:"found"`
	Opened      record.Seq   `json:"opened"`
	OpenedAt    record.Time  `json:"opened_at"` // when it happened
	OpenedBy    record.ID    `json:"opened_by"`
	Sealed      *record.Span `json:"sealed"`  // when the bad pack was sealed, as said
	Anchors     []Anchor     `json:"anchors"` // what its hold windows hang on, the first fault's first
	Joined      []record.Seq `json:"joined"`  // later checks and faults that belong to it
	Tagged      record.Time  `json:"tagged"`
	Stage       string       `json:"stage"` // "" | at-work | vendor | handed-back | first-line
	Seen        []SeenBy     `json:"seen"`
	Order       string       `json:"order"`
	Vendor      string       `json:"vendor"`
	Expected    record.Date  `json:"expected"`
	Loaner      string       `json:"loaner"`
	Finding     string       `json:"finding"`
	Action      string       `json:"action"`
	HandedBack  record.Time  `json:"handed_back"`
	Fixed       record.Time  `json:"fixed"`   // handed back or fixed: a return proves only what follows
	Ends        record.Time  `json:"ends"`    // nobody sealed on after it, 0 if that is not known
	OnlyCE      bool         `json:"only_ce"` // a first-line fix is not enough any more
	Returned    record.Time  `json:"returned"`
	ReturnedBy  record.ID    `json:"returned_by"`
	Blame       record.Blame `json:"blame"`
	Hold        *HoldSpan    `json:"hold"`   // as the lead widened or narrowed it
	Answer      *HoldAnswer  `json:"answer"` // to the difference of the windows
	Settled     []Settled    `json:"settled"`
	Assessed    *Assessed    `json:"assessed,omitempty"` // in bulk, and waits for a second name
	SettledAt   record.Time  `json:"settled_at"`
	SettledFrom record.Time  `json:"settled_from"` // the window that was settled
	SettledTo   record.Time  `json:"settled_to"`
	SettledBy   record.ID    `json:"settled_by"`
	Closed      record.Time  `json:"closed"`
	ClosedBy    record.ID    `json:"closed_by"`
	Photos      []Photo      `json:"photos"`
	Versions    Versions     `json:"versions,omitempty"` // of its own records that were corrected
	Out         bool         `json:"out"`                // it keeps the sealer out of service until it is handed back
	Round       Round        `json:"round"`              // of telling clinical engineering
	Told        []ToldTo     `json:"told"`
	Taken       *Taken       `json:"taken"` // who is at work on it
}

// Round is how far the route has been gone since something set it going: what
// opened the problem, or a return check that failed.
type Round struct {
	Cause record.ID   `json:"cause"`
	At    record.Time `json:"at"`   // of the last step, of Cause before the first
	Next  int         `json:"next"` // place on the route that comes next
}

// ToldTo is somebody who was told.
type ToldTo struct {
	record.Called
	At record.Time `json:"at"`
}

// Taken is who took a problem in hand, last.
type Taken struct {
	SeenBy
	Seq record.Seq `json:"seq"`
}

// What opened a problem.
const (
	WhatBadSeal     = "bad-seal"
	WhatFailedCheck = "failed-check"
	WhatNotValid    = "not-valid"
	WhatUnready     = "sealed-not-ready"
	WhatMakers      = "makers-seal"
	WhatCalibration = "calibration" // a calibration found a pouch's window missed
)

// Anchor is a fault that belongs to a problem, as far as a hold window hangs on
// it: the bad pack was sealed between From and To. From is 0 if nobody knows. One
// that was taken back keeps its window until somebody has settled the packs: they
// may be on hold by then, and only a person says that they are well.
type Anchor struct {
	Seq   record.Seq   `json:"seq"`
	Gone  bool         `json:"gone,omitempty"` // taken back
	From  record.Time  `json:"from"`
	To    record.Time  `json:"to"`
	Pouch record.ID    `json:"pouch"`
	Load  string       `json:"load,omitempty"`
	Kind  record.Fault `json:"kind,omitempty"`
	Place record.Place `json:"place,omitempty"`
}

// SeenBy is somebody of clinical engineering who knows.
type SeenBy struct {
	By   record.ID         `json:"by"`
	Name record.Commitment `json:"name"` // as typed, by link
	Via  record.Via        `json:"via"`
	At   record.Time       `json:"at"`
}

// HoldSpan is a window that a lead set.
type HoldSpan struct {
	From   record.Time `json:"from"`
	To     record.Time `json:"to"`
	Reason string      `json:"reason"`
	By     record.ID   `json:"by"`
	Stale  bool        `json:"stale,omitempty"` // another fault came after it
}

// HoldAnswer is a lead's answer to the difference of two windows.
type HoldAnswer struct {
	Accept bool      `json:"accept"`
	Reason string    `json:"reason"`
	By     record.ID `json:"by"`
}

// Settled are packs of a hold that found an end.
type Settled struct {
	record.PackSettled
	Seq record.Seq  `json:"seq"`
	By  record.ID   `json:"by"`
	At  record.Time `json:"at"`
}

// Assessed is the first of two names under an end for all packs of a hold.
type Assessed struct {
	record.BulkAssessed
	Seq record.Seq  `json:"seq"`
	By  record.ID   `json:"by"`
	At  record.Time `json:"at"`
}

// Photo is a photograph of a problem.
type Photo struct {
	Record record.ID `json:"record"`
	Of     record.ID `json:"of"`
	SHA256 string    `json:"sha256"`
}

// HasWindow reports whether packs are on hold from one time to another.
func (p *Problem) HasWindow() bool { return p.NeedsEngineering() || p.What == WhatCalibration }

// NeedsEngineering reports whether the problem is about a sealer that clinical
// engineering may have to look at.
func (p *Problem) NeedsEngineering() bool {
	return p.What == WhatBadSeal || p.What == WhatFailedCheck || p.What == WhatNotValid
}
