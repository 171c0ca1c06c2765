package desk

import (
	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Notice is what one person is told of a problem by mail; the words are made
// where all words are. It is drawn when it is sent, from how things stand then.
type Notice struct {
	LinkView
	ID     record.ID // the same however often the message is drawn
	To     string    // mail address
	Link   string    // opens the problem without an account; empty once it is handed back
	Page   string    // the problem's page, for who can sign in
	Mark   string    // size and root of the ledger
	Repeat bool      // the record joined the problem: a return check failed
}

// Notices draws what a message of the outbox says, one for each person of
// clinical engineering with a mail address, the one first who is told first.
// None: nobody can be mailed, and the problem's page says so.
func (d *Desk) Notices(seq record.Seq, m ledger.Message) ([]Notice, error) {
	if m.Route != rules.ToEngineering {
		return nil, fault.New(fault.Internal, "There is no route called %q.", m.Route)
	}
	r, err := d.ledger.Read(seq)
	if err != nil {
		return nil, err
	}
	var to []*rules.Person
	var view *LinkView
	d.ledger.View(func(v record.View) {
		if p := rules.GetProblem(v, m.To); p != nil {
			view, to = d.linkView(v, p), engineersOf(v, rules.GetDepartment(v, p.Dept))
		}
	})
	if view == nil {
		return nil, fault.New(fault.Internal, "There is no problem to tell of.")
	}
	var list []Notice
	for _, person := range to {
		mail := d.mailOf(person)
		if mail == "" {
			continue
		}
		n := Notice{LinkView: *view, ID: r.ID.Derive("mail to " + person.ID.String()),
			To: mail, Page: d.url + "/problems/" + m.To.String(),
			Mark: d.Mark(), Repeat: r.Effect.Joins == m.To}
		if n.Link, err = d.linkFor(view, m.To, person.ID); err != nil {
			return nil, err
		}
		list = append(list, n)
	}
	return list, nil
}

// linkFor makes a one-time link while there is something to do by it.
func (d *Desk) linkFor(view *LinkView, problem, addressee record.ID) (string, error) {
	if !view.Out {
		return "", nil
	}
	token, err := d.people.MakeLink(problem, addressee, d.clock())
	return d.url + "/seen/" + token, err
}
