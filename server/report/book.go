// Package report writes down what a surveyor asks for: a record pack in
// sections, drawn as PDF or as a sheet for a page, as CSV and as JSON Lines. It
// is pure: values and words come in, writers take what comes out; the same
// values give the same bytes. There are no statistics about people in it, and
// nothing in it says that a pack was sterile.
package report

import (
	"iter"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// Book is what a record pack is about, in words that people read. Everything in
// it is as it was when the ledger had the size in Mark.
type Book struct {
	Place    string // the department
	Mark     string // size and first digits of the root: "record 1204 · 9f3ac21b"
	AsOf     string // when the last of these records was written down
	Demo     bool
	From, To record.Date
	Sealers  []Sealer
	Pouches  []Pouch
	Plans    []Plan
	Days     []Days // of each sealer, in the order of Sealers
	Problems []Problem
	People   []Person

	// Entries gives the records of a part of the pack, oldest first.
	Entries func(Part) iter.Seq2[Entry, error]
	// Chain gives the records of a problem of the list, oldest first.
	Chain func(i int) iter.Seq2[Entry, error]
}

// Sealer is a sealer as it was at the end.
type Sealer struct {
	Number, Type, Asset, Serial, Model, Place string
	Contract, IFU, State                      string
	Since                                     record.Date
}

// Pouch is a pouch as its IFU describes it.
type Pouch struct{ Name, Material, Window, IFU string }

// Plan is how the sealers of a type are tested.
type Plan struct{ Type, Test, Policy string }

// Days are the operating days of a sealer.
type Days struct {
	Number string
	Rows   []rules.DayRow
}

// Problem is a problem in short. An ending that has not come is empty.
type Problem struct {
	Number                    int
	Title, Sealer, Since      string
	Returned, Settled, Closed string
	Stayed                    bool   // the sealer was not taken out of service
	Hold                      string // what was to be kept aside
}

// Person is somebody of the department.
type Person struct {
	Name, Roles string
	FirstLine   bool
	Left        bool
}

// Entry is a record in words.
type Entry struct {
	Seq     record.Seq
	When    string // when it happened
	Written string // when it was written down, if that was late
	Sealer  string // number
	Title   string
	Text    string
	Who     string
	Marks   string // what came later of it: "taken back by record 31"
}

// Part tells which records belong together.
type Part string

const (
	Tests    Part = "tests"    // how sealers are tested
	Facts    Part = "facts"    // equipment and pouches
	Settings Part = "settings" // approvals
	Upkeep   Part = "upkeep"   // maintenance, calibration, measurements
	Staff    Part = "staff"    // people
	Unused   Part = "unused"   // days said not to be used
	Late     Part = "late"     // written down late
	Mended   Part = "mended"   // corrections
	Checks   Part = "checks"   //
	Events   Part = "events"   // in the tables and the records alone
)

// Words say what codes mean; the pages have them.
type Words interface {
	Day(rules.DayStatus) string // "no check on record"
	Gap(rules.DayRow) string    // why a day counts as a gap, "" if it does not
}
