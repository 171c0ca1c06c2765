package desk

import (
	"slices"

	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// engineers lists who is of clinical engineering, and who of them has a mail
// address, the one first who is told first.
func (d *Desk) engineers(v record.View, dept *rules.Department) (list []Ref, mailed []string) {
	for _, p := range engineersOf(v, dept) {
		name := d.reveal(p.Name)
		list = append(list, Ref{ID: p.ID, Text: name})
		if d.mailOf(p) != "" {
			mailed = append(mailed, name)
		}
	}
	return list, mailed
}

func engineersOf(v record.View, dept *rules.Department) (list []*rules.Person) {
	for _, id := range dept.People {
		p := rules.GetPerson(v, id)
		switch {
		case p == nil || !p.Has(record.Engineering):
		case id == dept.MailTo:
			list = slices.Insert(list, 0, p)
		default:
			list = append(list, p)
		}
	}
	return list
}

func leadsOf(v record.View, dept *rules.Department) (list []*rules.Person) {
	for _, id := range dept.People {
		if p := rules.GetPerson(v, id); p != nil && p.Has(record.Lead) {
			list = append(list, p)
		}
	}
	return list
}

// mailOf is a person's mail address; empty if there is none any more.
func (d *Desk) mailOf(p *rules.Person) string {
	if p.Mail == (record.Commitment{}) {
		return ""
	}
	if r, err := d.people.Reveal(p.Mail); err == nil && r.Status == people.Present {
		return string(r.Value.Bytes)
	}
	return ""
}
