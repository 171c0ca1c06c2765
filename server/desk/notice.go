package desk

import (
	"tidemark/server/ledger"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Notice is what one person is told of a problem by mail; the words are made
// where all words are. It is drawn when it is sent, from how things stand then.
type Notice struct {
	LinkView
	To     string // mail address
	Link   string // opens the problem without an account; empty once it is handed back
	Page   string // the problem's page, for who can sign in
	Mark   string // size and root of the ledger
	Repeat bool   // the record joined the problem: a return check failed
}

// Notice draws what one person of clinical engineering is told because of a
// record. Nil: there is nobody to tell any more, as when the address was removed.
func (d *Desk) Notice(seq record.Seq, to record.ID) (*Notice, error) {
	r, err := d.ledger.Read(seq)
	if err != nil {
		return nil, err
	}
	problem := problemOfRecord(&r)
	var person *rules.Person
	var view *LinkView
	d.ledger.View(func(v record.View) {
		person = rules.GetPerson(v, to)
		if p := rules.GetProblem(v, problem); p != nil {
			view = d.linkView(v, p)
		}
	})
	if view == nil || person == nil || person.Left || d.mailOf(person) == "" {
		return nil, nil
	}
	n := &Notice{LinkView: *view, To: d.mailOf(person), Page: d.url + "/problems/" + problem.String(),
		Mark: d.Mark(), Repeat: r.Effect.Joins == problem}
	n.Link, err = d.linkFor(view, problem, to)
	return n, err
}

// FoundNotice is what one lead is told when a report has come in.
type FoundNotice struct {
	Frame
	To      string // mail address
	Waiting int    // reports that nobody has taken, now
	Page    string
	Mark    string
}

// FoundNotice draws that a report of a bad pack found elsewhere waits. Nil: none
// waits any more, or there is nobody to tell.
func (d *Desk) FoundNotice(to record.ID) (*FoundNotice, error) {
	p := d.person(to)
	if p == nil || p.Left || d.mailOf(p) == "" {
		return nil, nil
	}
	who := Caller{Dept: p.Dept}
	n := &FoundNotice{To: d.mailOf(p), Page: d.url + "/found", Mark: d.Mark()}
	d.ledger.View(func(v record.View) { n.Frame = d.frame(v, who) })
	var err error
	if n.Waiting, err = d.foundUntaken(who.Dept); err != nil || n.Waiting == 0 {
		return nil, err
	}
	return n, nil
}

// ProblemOf returns the problem that a record is about, zero if none.
func (d *Desk) ProblemOf(seq record.Seq) (problem, id record.ID, err error) {
	r, err := d.ledger.Read(seq)
	return problemOfRecord(&r), r.ID, err
}

func problemOfRecord(r *record.Record) record.ID {
	switch {
	case r.Effect.Opens > 0:
		return r.ID
	case r.Subject.Type == record.Problem:
		return r.Subject.ID
	}
	return r.Effect.Joins
}

// addressees turns whom to tell into messages: one for each person of clinical
// engineering, or each lead, with a mail address, or the one whose turn it is.
func addressees(v record.View, dept record.ID, t rules.Tell) (list []ledger.Message) {
	department := rules.GetDepartment(v, dept)
	if department == nil {
		return nil
	}
	told := engineersOf(v, department)
	switch {
	case t.Route == rules.ToStep:
		return []ledger.Message{{Route: t.Route, To: t.To}}
	case t.Route == rules.ToLeads:
		told = leadsOf(v, department)
	case department.Route != nil:
		return nil // they are told one after the other
	}
	for _, p := range told {
		if p.Mail != (record.Commitment{}) {
			list = append(list, ledger.Message{Route: t.Route, To: p.ID})
		}
	}
	return list
}

// linkFor makes a one-time link while there is something to do by it.
func (d *Desk) linkFor(view *LinkView, problem, addressee record.ID) (string, error) {
	if !view.Out {
		return "", nil
	}
	token, err := d.people.MakeLink(problem, addressee, d.clock())
	return d.url + "/seen/" + token, err
}
