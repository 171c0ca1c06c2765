package report

import (
	"iter"
	"slices"
	"strconv"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Section is a part of a pack with a title of its own.
type Section struct {
	ID, Title string
	write     func(*Book, Words, Pen) error
}

// Sections are all of them, in order.
var Sections = []Section{
	{"scope", "What this is", scope},
	{"tests", "How heat sealers are tested here", tests},
	{"equipment", "Heat sealers and pouches", equipment},
	{"settings", "Approved settings", settings},
	{"completeness", "Was each sealer checked before it was used?", completeness},
	{"failures", "What failed, and what came of it", failures},
	{"upkeep", "Maintenance, calibration and measurements", upkeep},
	{"people", "People", staff},
	{"late", "Written down late, and corrections", late},
	{"checks", "Every check", checks},
}

var errNoSection = fault.New(fault.Unknown, "A record pack has no such section.")

// Caution stands on every page of a pack.
const Caution = "The IFU, local policy and local codes come first."

// scope says what the pack is, and what it is not.
func scope(b *Book, _ Words, p Pen) error {
	p.Table("Scope", Column{Text: "What", Width: 2}, Column{Text: "This pack", Width: 5})
	p.Row("Department", b.Place)
	p.Row("Operating days", day(b.From)+" to "+day(b.To))
	p.Row("Heat sealers", strings.Join(numbers(b.Sealers), ", "))
	p.Row("Drawn from", b.Mark)
	p.Row("Last record written", b.AsOf)
	p.Text("Everything here is taken from records that were only ever added to. What was written down late says so; a correction " +
		"stands beside what it corrects. A problem that reaches beyond the period is shown with its whole chain.")
	p.Text("It shows: these records are, unchanged, those of the ledger whose size and root stand on every page, and who entered them. " +
		"It does not show: that a record is true, that nothing was left out on purpose, or that a pack was sterile. A passing check " +
		"proves only the places and the kinds of fault that it tested.")
	p.Text("The pouch maker's and the sealer's instructions for use (IFU), local policy, local codes and licensed practice come first.")
	if b.Demo {
		p.Text("DEMO: the hospital and everything in it is invented.")
	}
	return nil
}

func tests(b *Book, _ Words, p Pen) error {
	p.Table("What a check consists of", Column{Text: "Type of sealer", Width: 3}, Column{Text: "Test", Width: 6}, Column{Text: "Policy, IFU", Width: 4})
	for _, plan := range b.Plans {
		p.Row(plan.Type, plan.Test, plan.Policy)
	}
	p.Table("IFU that are referred to", Column{Text: "Of", Width: 3}, Column{Text: "Document", Width: 8})
	for _, s := range b.Sealers {
		p.Row("Sealer "+s.Number, orNone(s.IFU))
	}
	for _, k := range b.Pouches {
		p.Row(k.Name, orNone(k.IFU))
	}
	return list(b, p, Tests, "Changes of department and plans", "No change on record.")
}

func equipment(b *Book, _ Words, p Pen) error {
	p.Table("Heat sealers", Column{Text: "Number", Width: 2}, Column{Text: "Type", Width: 4}, Column{Text: "Asset tag, serial, model", Width: 5},
		Column{Text: "Place", Width: 3}, Column{Text: "Here since", Width: 3}, Column{Text: "At the end", Width: 4})
	for _, s := range b.Sealers {
		p.Row(s.Number, s.Type, joined(s.Asset, s.Serial, s.Model, s.Contract), s.Place, day(s.Since), s.State)
	}
	p.Table("Pouches", Column{Text: "Pouch", Width: 3}, Column{Text: "Material", Width: 3}, Column{Text: "Sealing temperature, as its IFU gives it", Width: 4},
		Column{Text: "IFU", Width: 5})
	for _, k := range b.Pouches {
		p.Row(k.Name, k.Material, orNone(k.Window), orNone(k.IFU))
	}
	return list(b, p, Facts, "Changes", "No change on record.")
}

func settings(b *Book, _ Words, p Pen) error {
	p.Text("A setting is approved by a named lead for one sealer and one pouch, with what it rests on. It is the only number that technicians see.")
	return list(b, p, Settings, "Approvals given, ended and questioned", "No approval on record.")
}

func upkeep(b *Book, _ Words, p Pen) error {
	return list(b, p, Upkeep, "Maintenance, calibration and measurements", "Nothing on record in this period.")
}

// staff lists who may do what. It counts nothing: a pack says nothing about how
// people work.
func staff(b *Book, _ Words, p Pen) error {
	p.Table("People of the department", Column{Text: "Name", Width: 4}, Column{Text: "Roles", Width: 5}, Column{Text: "Trained for the first-line fix", Width: 3},
		Column{Text: "Now", Width: 2})
	for _, who := range b.People {
		trained, now := "no", "here"
		if who.FirstLine {
			trained = "yes"
		}
		if who.Left {
			now = "has left"
		}
		p.Row(who.Name, who.Roles, trained, now)
	}
	return list(b, p, Staff, "Changes and training", "No change on record.")
}

func late(b *Book, _ Words, p Pen) error {
	if err := list(b, p, Late, "Written down late", "Nothing was written down late."); err != nil {
		return err
	}
	return list(b, p, Mended, "Corrections and what was taken back", "No correction on record.")
}

func checks(b *Book, _ Words, p Pen) error {
	return list(b, p, Checks, "Every check, in order of record", "No check on record.")
}

// entryColumns head a list of records.
var entryColumns = []Column{{Text: "When", Width: 5}, {Text: "Sealer", Width: 2}, {Text: "What", Width: 12}, {Text: "Who", Width: 4},
	{Text: "Record", Width: 2, Num: true}}

// list draws the records of a part.
func list(b *Book, p Pen, part Part, caption, none string) error {
	return entries(p, b.Entries(part), caption, none)
}

func entries(p Pen, all iter.Seq2[Entry, error], caption, none string) error {
	begun := false
	for e, err := range all {
		if err != nil {
			return err
		}
		if !begun {
			p.Table(caption, entryColumns...)
			begun = true
		}
		p.Row(e.when(), e.Sealer, e.what(), e.Who, strconv.FormatInt(int64(e.Seq), 10))
	}
	if !begun && none != "" {
		p.Text(caption + ": " + none)
	}
	return nil
}

func (e *Entry) when() string {
	if e.Written == "" {
		return e.When
	}
	return e.When + ", written down late " + e.Written
}

func (e *Entry) what() string {
	text := e.Title
	for _, more := range []string{e.Text, e.Marks} {
		if more != "" {
			text += ". " + capital(more)
		}
	}
	return text
}

func numbers(sealers []Sealer) (list []string) {
	for _, s := range sealers {
		list = append(list, s.Number)
	}
	return list
}

func joined(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}

func orNone(text string) string {
	if text == "" {
		return "not on record"
	}
	return text
}

func day(d record.Date) string { return d.UTC().Format("2 Jan 2006") }

func whole(n int) string { return strconv.Itoa(n) }
