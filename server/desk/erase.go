package desk

import (
	"context"
	"encoding/hex"
	"errors"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// EraseIn names whose private values are removed for good: those of a person who
// has left, or the note, the typed name and the photographs of one record.
type EraseIn struct {
	From
	Entry  string    `form:"entry" json:"entry,omitempty"` // number of a record
	Person record.ID `form:"person" json:"person,omitzero"`
	Why    string    `form:"why" json:"why"`
}

// Erase removes private values. The record that says so is written first: if the
// removal is cut short, the next start finishes it. What was printed, mailed,
// exported or backed up before stays where it is.
func (d *Desk) Erase(ctx context.Context, who Caller, in EraseIn) (Done, error) {
	if _, err := d.may(who, "Erase"); err != nil {
		return Done{}, err
	}
	seqs, err := d.eraseWhat(who, in)
	if err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	subject := record.Subject{Type: record.Department, ID: who.Dept}
	in.Why = strings.TrimSpace(in.Why)
	done, err := d.write(ctx, who, From{}, e, subject, &record.Erased{Records: seqs, Why: in.Why},
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Erase(v, rules.SaidErase{Entry: e, Dept: who.Dept, Records: seqs, Why: in.Why}, now)
		})
	if err != nil {
		return done, err
	}
	return done, d.EraseAll(seqs)
}

// eraseWhat finds the records with private values that a form names.
func (d *Desk) eraseWhat(who Caller, in EraseIn) ([]record.Seq, error) {
	if !in.Person.IsZero() {
		p := d.person(in.Person)
		switch {
		case p == nil || p.Dept != who.Dept:
			return nil, fault.New(fault.Unknown, "There is no such person here.")
		case !p.Left:
			return nil, fault.Field("person", "First say on the person's page that they have left.")
		}
		return d.privateIn(record.Subject{Type: record.Person, ID: p.ID}, func(*record.Record) bool { return true })
	}
	seq, err := typedSeq(in.Entry)
	if err != nil {
		return nil, err
	}
	r, err := d.entryOf(who, seq)
	if err != nil {
		return nil, fault.Field("entry", "There is no such entry here.")
	}
	if r.Subject.Type == record.Person {
		return nil, fault.Field("entry", "This is about a person: choose the person instead.")
	}
	seqs, err := d.privateIn(r.Subject, func(o *record.Record) bool { return d.partOf(o, r) })
	if err != nil || r.Subject.Type == record.Problem {
		return seqs, err
	}
	problem := r.Effect.Joins
	if r.Effect.Opens > 0 {
		problem = r.ID
	}
	more, err := d.privateIn(record.Subject{Type: record.Problem, ID: problem}, func(o *record.Record) bool { return d.partOf(o, r) })
	return append(seqs, more...), err
}

// typedSeq reads the number of a record, as pages show it.
func typedSeq(text string) (record.Seq, error) {
	n := int64(0)
	for _, c := range strings.TrimPrefix(strings.TrimSpace(text), "record ") {
		if c < '0' || c > '9' || n > 1<<50 {
			return 0, fault.Field("entry", "Type the number of the record, or choose a person.")
		}
		n = n*10 + int64(c-'0')
	}
	if strings.TrimSpace(text) == "" {
		return 0, fault.Field("entry", "Type the number of the record, or choose a person.")
	}
	return record.Seq(n), nil
}

// partOf reports whether o is r, a correction of it or a photograph of it.
func (d *Desk) partOf(o, r *record.Record) bool {
	body, _ := o.Content()
	p, photo := body.(*record.Photograph)
	return o.Seq == r.Seq || photo && p.Of == r.ID || o.Corrects != record.None && o.Original() == r.Seq
}

// privateIn lists the records of a chain that hold something private.
func (d *Desk) privateIn(s record.Subject, wanted func(*record.Record) bool) (list []record.Seq, err error) {
	for r, err := range d.ledger.Chain(s) {
		if err != nil {
			return nil, err
		}
		if wanted(&r) && (len(r.Sealed) > 0 || r.Kind == "photograph") {
			list = append(list, r.Seq)
		}
	}
	slices.Sort(list)
	return list, nil
}

// EraseAll removes the private values of records from the files, now.
func (d *Desk) EraseAll(seqs []record.Seq) error {
	var sums [][32]byte
	for _, seq := range seqs {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return err
		}
		for _, c := range r.Sealed {
			sums = append(sums, c)
		}
		if body, _ := r.Content(); r.Kind == "photograph" {
			if err := d.photos.Delete(body.(*record.Photograph).SHA256); err != nil {
				return fault.Wrap(err, fault.Internal, "The photograph could not be removed yet. The next start of the server tries again.")
			}
		}
	}
	if err := d.people.Erase(sums, d.clock()); err != nil {
		return err
	}
	return d.noteErased()
}

// EraseAgain removes again what the ledger says was removed: after a restore, or
// if a removal was cut short. It costs next to nothing where all is done.
func (d *Desk) EraseAgain() error {
	var list []rules.Erasure
	d.ledger.View(func(v record.View) { list = rules.GetSite(v).Erased })
	var open []record.Seq
	for _, e := range list {
		for _, seq := range e.Records {
			r, err := d.ledger.Read(seq)
			if err != nil {
				return err
			}
			there, err := d.stillThere(&r)
			if err != nil {
				return err
			}
			if there {
				open = append(open, seq)
			}
		}
	}
	if len(open) == 0 {
		return nil
	}
	d.log.Info("removing again what was removed before", "records", len(open))
	return d.EraseAll(open)
}

// stillThere reports whether something private of a record is in the files.
func (d *Desk) stillThere(r *record.Record) (bool, error) {
	for _, c := range r.Sealed {
		v, err := d.people.Reveal(c)
		if err != nil || v.Status == people.Present {
			return true, err
		}
	}
	if r.Kind != "photograph" {
		return false, nil
	}
	body, err := r.Content()
	if err != nil {
		return false, err
	}
	return d.photos.Has(body.(*record.Photograph).SHA256)
}

// noteErased keeps the list of what was removed beside the stores, as digests
// that tell nothing: an older backup does not know of it yet.
func (d *Desk) noteErased() error {
	if d.erased == nil {
		return nil
	}
	list, err := d.people.Erasures()
	if err != nil {
		return err
	}
	var b strings.Builder
	for _, e := range list {
		b.WriteString("value " + hex.EncodeToString(e.Commitment[:]) + " " + e.At.UTC().Format("2006-01-02T15:04:05Z") + "\n")
	}
	var photos []string
	var erasures []rules.Erasure
	d.ledger.View(func(v record.View) { erasures = rules.GetSite(v).Erased })
	for _, e := range erasures {
		for _, seq := range e.Records {
			r, err := d.ledger.Read(seq)
			if err != nil {
				return err
			}
			if body, _ := r.Content(); r.Kind == "photograph" {
				photos = append(photos, "photograph "+body.(*record.Photograph).SHA256+"\n")
			}
		}
	}
	for _, line := range photos {
		b.WriteString(line)
	}
	return d.erased([]byte(b.String()))
}

// EraseListed removes what a list that noteErased wrote names: that of a newer
// folder, after an older backup was restored.
func (d *Desk) EraseListed(list string) error {
	var values []people.Erasure
	for line := range strings.Lines(list) {
		part := strings.Fields(line)
		switch {
		case len(part) == 3 && part[0] == "value":
			sum, err1 := hex.DecodeString(part[1])
			at, err2 := parseUTC(part[2])
			if err := errors.Join(err1, err2); err != nil || len(sum) != 32 {
				return fault.Wrap(err, fault.Invalid, "The list of what was removed cannot be read: %q.", strings.TrimSpace(line))
			}
			values = append(values, people.Erasure{Commitment: [32]byte(sum), At: at})
		case len(part) == 2 && part[0] == "photograph":
			if err := d.photos.Delete(part[1]); err != nil {
				return fault.Wrap(err, fault.Invalid, "The list of what was removed cannot be read: %q.", strings.TrimSpace(line))
			}
		default:
			return fault.New(fault.Invalid, "The list of what was removed cannot be read: %q.", strings.TrimSpace(line))
		}
	}
	return d.people.ApplyErasures(values)
}

// CareView is the page on which an administrator cares for the records: removes
// private values, puts the clock right.
type CareView struct {
	Frame
	Left []Ref     `json:"left"`    // people who left and still have a name; Code is their id
	Done []Removed `json:"removed"` // newest first
	// Behind is how far the clock is behind the newest record, if it is.
	Behind string      `json:"clock_behind,omitempty"`
	Latest record.Time `json:"latest"` // time of a record
	Ledger int64       `json:"ledger_size"`
	Root   string      `json:"ledger_root"`
}

// Removed is a removal that was done.
type Removed struct {
	Seq     record.Seq   `json:"seq"`
	Records []record.Seq `json:"records"`
	On      record.Date  `json:"on"`
	Who     string       `json:"who"`
	Why     string       `json:"why"`
}

// Care draws that page.
func (d *Desk) Care(who Caller) (*CareView, error) {
	if _, err := d.may(who, "Erase"); err != nil {
		return nil, err
	}
	view := &CareView{}
	view.Latest = d.ledger.Status().Latest
	if gap := view.Latest.Time().Sub(d.clock()); gap > ClockBehind {
		view.Behind = inMinutes(gap)
	}
	size, root := d.ledger.Root()
	view.Ledger, view.Root = size, hex.EncodeToString(root[:])
	var list []rules.Erasure
	var left []*rules.Person
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		list = rules.GetSite(v).Erased
		for _, id := range view.Dept.People {
			if p := rules.GetPerson(v, id); p != nil && p.Left {
				left = append(left, p)
			}
		}
	})
	for _, p := range left {
		if r, err := d.people.Reveal(p.Name); err == nil && r.Status == people.Present {
			view.Left = append(view.Left, Ref{Code: p.ID.String(), Text: string(r.Value.Bytes)})
		}
	}
	for _, e := range slices.Backward(list[max(0, len(list)-50):]) {
		r, err := d.ledger.Read(e.By)
		if err != nil {
			return nil, err
		}
		body, err := r.Content()
		if err != nil {
			return nil, err
		}
		if r.Dept != who.Dept {
			continue
		}
		done := Removed{Seq: e.By, Records: e.Records, On: e.On, Why: body.(*record.Erased).Why}
		d.ledger.View(func(v record.View) { done.Who = d.name(v, r.By) })
		view.Done = append(view.Done, done)
	}
	return view, nil
}
