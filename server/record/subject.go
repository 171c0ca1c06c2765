package record

import (
	"fmt"
	"strings"
)

// Type is a kind of subject.
type Type string

const (
	Site       Type = "site"       // the whole installation; its ID is zero
	Department Type = "department" //
	Sealer     Type = "sealer"     //
	Pouch      Type = "pouch"      //
	Person     Type = "person"     //
	Problem    Type = "problem"    // its ID is that of the record that opened it
)

func (t Type) known() bool {
	switch t {
	case Site, Department, Sealer, Pouch, Person, Problem:
		return true
	}
	return false
}

// Subject is what a record is about. Each subject is a chain of records through
// their Prev, and one value of the state. It is written "type:id".
type Subject struct {
	Type Type
	ID   ID
}

// TheSite is the subject of what concerns every department.
var TheSite = Subject{Type: Site}

func (s Subject) String() string { return string(s.Type) + ":" + s.ID.String() }

// MarshalText writes "type:id".
func (s Subject) MarshalText() ([]byte, error) { return s.append(nil), nil }

func (s Subject) append(b []byte) []byte {
	return s.ID.append(append(append(b, s.Type...), ':'))
}

// UnmarshalText reads what MarshalText writes.
func (s *Subject) UnmarshalText(b []byte) error {
	t, id, ok := strings.Cut(string(b), ":")
	if !ok || !Type(t).known() {
		return fmt.Errorf("parse subject %q: want type:id", b)
	}
	parsed, err := ParseID(id)
	if err != nil {
		return fmt.Errorf("parse subject: %w", err)
	}
	*s = Subject{Type: Type(t), ID: parsed}
	return nil
}

// View is the state of all subjects at one size of the ledger. Its values are
// immutable: a change is always a new value.
type View interface {
	// Value returns the value of a subject, nil if it has none yet.
	Value(Subject) any
}

// Stage is a view that is being changed by the records of one group.
type Stage interface {
	View
	// Set replaces the value of a subject.
	Set(Subject, any)
}
