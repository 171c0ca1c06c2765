package rules

import (
	"encoding/json"
	"fmt"
	"slices"

	"tidemark/server/record"
)

// Shape is the number of this layout of the state. Raise it by hand with every
// change to the structs here or to Evolve: snapshots of another shape are
// ignored and the records replayed. A test keeps the sum of the structs.
const Shape = 1

// Site is the state of the whole installation.
type Site struct {
	Departments []record.ID          `json:"departments"`
	Codes       map[string]record.ID `json:"codes"`   // label code, also a replaced one, to sealer
	Numbers     map[string]record.ID `json:"numbers"` // sealer number in use to sealer
	Problems    int                  `json:"problems"`
}

// Department is the state of one department.
type Department struct {
	ID   record.ID `json:"id"`
	Name string    `json:"name"`
	record.DepartmentSettings
	Plans   map[record.SealerType]record.Plan `json:"plans"`
	Sealers []record.ID                       `json:"sealers"`
	Pouches []record.ID                       `json:"pouches"`
	People  []record.ID                       `json:"people"`
	Devices map[record.ID]Device              `json:"devices"`
	Open    []record.ID                       `json:"open"`     // problems not closed
	LastDay record.Date                       `json:"last_day"` // newest operating day seen
	NotUsed []NotUsed                         `json:"not_used"` // the newest 64
}

// Device is a phone, tablet or computer that was let in.
type Device struct {
	Name    record.Commitment `json:"name"`
	Revoked bool              `json:"revoked,omitempty"`
}

// NotUsed says that sealers were not used, or the department was closed.
type NotUsed struct {
	Sealers  []record.ID `json:"sealers"`
	From, To record.Date
	Seq      record.Seq `json:"seq"`
}

// Person is the state of a person.
type Person struct {
	ID        record.ID         `json:"id"`
	Dept      record.ID         `json:"dept"`
	Roles     []record.Role     `json:"roles"`
	FirstLine bool              `json:"first_line,omitempty"`
	Left      bool              `json:"left,omitempty"`
	Name      record.Commitment `json:"name"`
	Mail      record.Commitment `json:"mail"`
}

// Has reports whether the person has one of the roles and has not left.
func (p *Person) Has(roles ...record.Role) bool {
	return !p.Left && slices.ContainsFunc(roles, func(r record.Role) bool { return slices.Contains(p.Roles, r) })
}

// Pouch is the state of a pouch.
type Pouch struct {
	ID   record.ID `json:"id"`
	Dept record.ID `json:"dept"`
	record.PouchFacts
	Recheck record.Seq            `json:"recheck"` // approvals before this record do not stand; None
	Facts   record.Seq            `json:"facts"`   // the record its facts come from
	Held    map[string]record.Seq `json:"held"`    // lots on hold
}

// Approval is an approval that was given and not ended.
type Approval struct {
	record.ApprovalGiven
	Seq record.Seq  `json:"seq"`
	By  record.ID   `json:"by"`
	On  record.Date `json:"on"`
}

// Good is the last good check of a pouch.
type Good struct {
	Pouch record.ID   `json:"pouch"`
	Seq   record.Seq  `json:"seq"`
	Began record.Time `json:"began"`
	By    record.ID   `json:"by"`
}

// Touch is a record that takes, decides or checks on a sealer.
type Touch struct {
	Seq   record.Seq  `json:"seq"`
	Dev   record.ID   `json:"dev"`
	DevN  int64       `json:"dev_n"`
	From  record.Time `json:"from"`
	To    record.Time `json:"to"`
	Takes bool        `json:"takes,omitempty"`
	Gives record.ID   `json:"gives,omitzero"` // the pouch it made the sealer ready for
	Day   record.Date `json:"day,omitzero"`   // through which operating day
	Until record.Time `json:"until,omitzero"` // and until when, with a check per shift
}

const keptTouches = 16

// Sealer is the state of a sealer.
type Sealer struct {
	ID   record.ID `json:"id"`
	Dept record.ID `json:"dept"`
	record.SealerFacts
	Code      string           `json:"code"`
	Since     record.Date      `json:"since"`
	Begins    record.Time      `json:"begins"` // no record of it is older
	Approvals []Approval       `json:"approvals"`
	Readiness record.Readiness `json:"readiness"`
	Good      []Good           `json:"good"`
	Touches   []Touch          `json:"touches"`   // the newest, oldest first
	TakenTo   record.Time      `json:"taken_to"`  // latest end of a take that is no longer among Touches
	Forgotten record.Seq       `json:"forgotten"` // newest touch no longer among Touches, None
	Problems  []record.ID      `json:"problems"`  // all, oldest first
	Fixes     []Fix            `json:"fixes"`     // first-line fixes, the newest 16
}

// Fix is a first-line fix.
type Fix struct {
	Cause   string      `json:"cause"`
	At      record.Time `json:"at"`
	Problem record.ID   `json:"problem"`
}

// Problem is the state of a problem.
type Problem struct {
	ID         record.ID    `json:"id"`
	Number     int          `json:"number"`
	Dept       record.ID    `json:"dept"`
	Sealer     record.ID    `json:"sealer"`
	Pouch      record.ID    `json:"pouch"`
	Lot        string       `json:"lot"`
	What       string       `json:"what"` // one of What...
	Kind       record.Fault `json:"kind"`
	Place      record.Place `json:"place"`
	AtCM       string       `json:"at_cm"`
	Found      string       `json:"found"`
	Opened     record.Seq   `json:"opened"`
	OpenedAt   record.Time  `json:"opened_at"` // when it happened
	OpenedBy   record.ID    `json:"opened_by"`
	Sealed     *record.Span `json:"sealed"` // when the bad pack was sealed, nil: just before
	Joined     []record.Seq `json:"joined"` // later faults that belong to it
	Tagged     record.Time  `json:"tagged"`
	Stage      string       `json:"stage"` // "" | at-work | vendor | handed-back | first-line
	Seen       []SeenBy     `json:"seen"`
	Order      string       `json:"order"`
	Vendor     string       `json:"vendor"`
	Expected   record.Date  `json:"expected"`
	Loaner     string       `json:"loaner"`
	Finding    string       `json:"finding"`
	Action     string       `json:"action"`
	HandedBack record.Time  `json:"handed_back"`
	OnlyCE     bool         `json:"only_ce"` // a first-line fix is not enough any more
	Returned   record.Time  `json:"returned"`
	ReturnedBy record.ID    `json:"returned_by"`
	Blame      record.Blame `json:"blame"`
	Hold       *HoldSpan    `json:"hold"`   // as the lead widened or narrowed it
	Answer     *HoldAnswer  `json:"answer"` // to the difference of the windows
	Settled    []Settled    `json:"settled"`
	SettledAt  record.Time  `json:"settled_at"`
	SettledBy  record.ID    `json:"settled_by"`
	Closed     record.Time  `json:"closed"`
	ClosedBy   record.ID    `json:"closed_by"`
	Photos     []Photo      `json:"photos"`
}

// What opened a problem.
const (
	WhatBadSeal     = "bad-seal"
	WhatFailedCheck = "failed-check"
	WhatNotValid    = "not-valid"
	WhatUnready     = "sealed-not-ready"
	WhatMakers      = "makers-seal"
)

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

// Photo is a photograph of a problem.
type Photo struct {
	Record record.ID `json:"record"`
	Of     record.ID `json:"of"`
	SHA256 string    `json:"sha256"`
}

// NeedsEngineering reports whether the problem is about a sealer that clinical
// engineering may have to look at.
func (p *Problem) NeedsEngineering() bool {
	return p.What == WhatBadSeal || p.What == WhatFailedCheck || p.What == WhatNotValid
}

// GetSite returns the site, an empty one at the very start.
func GetSite(v record.View) *Site { return get(v, record.TheSite, &Site{}) }

// GetDepartment returns a department or nil.
func GetDepartment(v record.View, id record.ID) *Department {
	return get[*Department](v, record.Subject{Type: record.Department, ID: id}, nil)
}

// GetSealer returns a sealer or nil.
func GetSealer(v record.View, id record.ID) *Sealer {
	return get[*Sealer](v, record.Subject{Type: record.Sealer, ID: id}, nil)
}

// GetPouch returns a pouch or nil.
func GetPouch(v record.View, id record.ID) *Pouch {
	return get[*Pouch](v, record.Subject{Type: record.Pouch, ID: id}, nil)
}

// GetPerson returns a person or nil.
func GetPerson(v record.View, id record.ID) *Person {
	return get[*Person](v, record.Subject{Type: record.Person, ID: id}, nil)
}

// GetProblem returns a problem or nil.
func GetProblem(v record.View, id record.ID) *Problem {
	return get[*Problem](v, record.Subject{Type: record.Problem, ID: id}, nil)
}

func get[T any](v record.View, s record.Subject, none T) T {
	if value, ok := v.Value(s).(T); ok {
		return value
	}
	return none
}

// Decode reads a value of the state back from a snapshot.
func Decode(t record.Type, b []byte) (any, error) {
	var value any
	switch t {
	case record.Site:
		value = new(Site)
	case record.Department:
		value = new(Department)
	case record.Sealer:
		value = new(Sealer)
	case record.Pouch:
		value = new(Pouch)
	case record.Person:
		value = new(Person)
	case record.Problem:
		value = new(Problem)
	default:
		return nil, fmt.Errorf("decode state: no subject of type %q", t)
	}
	return value, json.Unmarshal(b, value)
}
