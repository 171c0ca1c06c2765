package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// pouch is one of the pouches in use.
type pouch int

const (
	paper pouch = iota
	nonwoven
	gusseted
)

// pouches have the windows that are usual for their materials (common practice,
// no source; the pouch maker's IFU decides).
var pouches = [...]desk.PouchIn{
	paper: {
		Name: "Paper/film 25 cm", Material: record.PaperFilm, Low: "165 °C", High: "200 °C",
		Dwell: "1.5 s", SealWidth: "8 mm", MinStrength: "1.5 N/15mm",
		Processes: []string{"steam"},
		IFUIn:     ifu("Paper/film pouches, instructions for use", "6", "3"),
	},
	nonwoven: {
		Name: "Nonwoven 20 cm", Material: record.Nonwoven, Low: "120 °C", High: "130 °C",
		Dwell: "1 s", SealWidth: "6 mm", MinStrength: "1.2 N/15mm",
		Processes: []string{"hydrogen peroxide"},
		IFUIn:     ifu("HDPE nonwoven pouches, instructions for use", "2", "4"),
	},
	gusseted: {
		Name: "Gusseted 30 cm", Material: record.Gusseted, Low: "170 °C", High: "190 °C",
		Dwell: "2 s", SealWidth: "8 mm", MinStrength: "1.5 N/15mm",
		Processes: []string{"steam"},
		IFUIn:     ifu("Gusseted pouches, instructions for use", "3", "5"),
	},
}

func ifu(title, revision, page string) desk.IFUIn {
	return desk.IFUIn{Title: title, Revision: revision, Page: page}
}

func (p pouch) entry() record.ID { return entryID("add " + pouches[p].Name) }
func (p pouch) id() record.ID    { return p.entry().Derive("pouch") }

// stock brings the pouches in.
func (p hand) stock() {
	for kind, in := range pouches {
		in.From = desk.From{ID: pouch(kind).entry()}
		_, err := p.desk.AddPouch(p.ctx, p.caller, in)
		p.keep("add pouch "+in.Name, err)
	}
}
