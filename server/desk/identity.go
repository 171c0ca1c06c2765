package desk

import (
	"context"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Whereabouts tell where a sealer is and what stands in its place.
type Whereabouts struct {
	StandIn  *Ref        `json:"stand_in,omitempty"`   // stands here for it
	StandFor *Ref        `json:"stands_for,omitempty"` // it stands in for that one
	Until    record.Date `json:"until,omitzero"`       // when that one is expected back, if somebody said so
	Away     string      `json:"away,omitempty"`       // where it is, if not here
	BackOn   record.Date `json:"back_on,omitzero"`     // when it is expected back
	OldCard  record.Seq  `json:"old_card,omitempty"`   // of a decision that an older card does not show
}

func whereabouts(v record.View, s *rules.Sealer) Whereabouts {
	w := Whereabouts{Away: s.Away, BackOn: s.Back, OldCard: s.OldCard}
	if o := rules.StandIn(v, s); o != nil {
		w.StandIn = &Ref{ID: o.ID, Code: o.Code, Text: o.Number}
	}
	if o := rules.GetSealer(v, s.For); o != nil {
		w.StandFor, w.Until = &Ref{ID: o.ID, Code: o.Code, Text: o.Number}, o.Back
		if p := rules.GetProblem(v, o.Readiness.Problem); p != nil && w.Until == 0 {
			w.Until = p.Expected
		}
	}
	return w
}

// StandInIn says which sealer a sealer stands in for, by the number of that one;
// empty for none any more.
type StandInIn struct {
	From
	Code string `param:"code" json:"-"`
	For  string `form:"for" json:"for"`
	Why  string `form:"stand_why" json:"why,omitempty"`
}

// StandIn records that a sealer stands in for another one, or no longer does.
func (d *Desk) StandIn(ctx context.Context, who Caller, in StandInIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	b := record.StandsIn{Why: in.Why}
	if number := strings.ToUpper(strings.TrimSpace(in.For)); number != "" {
		d.ledger.View(func(v record.View) {
			for _, id := range rules.GetDepartment(v, who.Dept).Sealers {
				if o := rules.GetSealer(v, id); o != nil && o.Number == number && o.ID != s.ID {
					b.For = id // the latest of those that had the number
				}
			}
		})
		if b.For.IsZero() {
			return Done{}, fault.Field("for", "There is no such sealer here.")
		}
	}
	return d.facts(ctx, who, "StandIn", in.From, sealerSubject(s), &b, nil)
}

// AwayIn says where a sealer went.
type AwayIn struct {
	From
	Code string      `param:"code" json:"-"`
	To   string      `form:"to" json:"to"`
	Back record.Date `form:"back" json:"back,omitzero"`
	Why  string      `form:"why" json:"why,omitempty"`
}

// SendAway records that a sealer left for another site or for a vendor.
func (d *Desk) SendAway(ctx context.Context, who Caller, in AwayIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "SendAway", in.From, sealerSubject(s),
		&record.SealerAway{To: strings.TrimSpace(in.To), Back: in.Back, Why: in.Why}, nil)
}

// BringBack records that a sealer is here again.
func (d *Desk) BringBack(ctx context.Context, who Caller, in MoveIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "BringBack", in.From, sealerSubject(s), &record.SealerBack{Place: strings.TrimSpace(in.Place)}, nil)
}

// CardDownIn says that no card hangs that is older than a number.
type CardDownIn struct {
	From
	Code string     `param:"code" json:"-"`
	Card record.Seq `form:"card" json:"card"`
}

// TakeCardDown records that the old card beside a sealer is down.
func (d *Desk) TakeCardDown(ctx context.Context, who Caller, in CardDownIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "TakeCardDown", in.From, sealerSubject(s), &record.OldCardDown{Card: in.Card}, nil)
}

// DocumentIn names a document of a sealer, or of the department without a code.
type DocumentIn struct {
	From
	Code     string      `param:"code" json:"-"`
	What     string      `form:"what" json:"what"`
	Title    string      `form:"title" json:"title"`
	Revision string      `form:"revision" json:"revision,omitempty"`
	Page     string      `form:"page" json:"page,omitempty"`
	Date     record.Date `form:"date" json:"date,omitzero"`
	Until    record.Date `form:"until" json:"until,omitzero"`
	Link     string      `form:"link" json:"link,omitempty"`
	SHA256   string      `form:"sha256" json:"sha256,omitempty"`
}

// FileDocument records where a document is kept; the document itself is not.
func (d *Desk) FileDocument(ctx context.Context, who Caller, in DocumentIn) (Done, error) {
	subject, err := d.papersOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	b := record.DocumentFiled{What: in.What, Until: in.Until, Link: strings.TrimSpace(in.Link),
		SHA256: strings.ToLower(strings.TrimSpace(in.SHA256)), Document: record.Document{Title: strings.TrimSpace(in.Title),
			Revision: in.Revision, Page: in.Page, Date: in.Date}}
	return d.facts(ctx, who, "FileDocument", in.From, subject, &b, nil)
}

// EndDocumentIn takes a document off the list.
type EndDocumentIn struct {
	From
	Code     string     `param:"code" json:"-"`
	Document record.Seq `form:"document" json:"document"`
	Why      string     `form:"why" json:"why,omitempty"`
}

// EndDocument records that a document no longer counts.
func (d *Desk) EndDocument(ctx context.Context, who Caller, in EndDocumentIn) (Done, error) {
	subject, err := d.papersOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "EndDocument", in.From, subject, &record.DocumentEnded{Document: in.Document, Why: in.Why}, nil)
}

// papersOf is whose documents are meant.
func (d *Desk) papersOf(who Caller, code string) (record.Subject, error) {
	if code == "" {
		return record.Subject{Type: record.Department, ID: who.Dept}, nil
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return record.Subject{}, err
	}
	return sealerSubject(s), nil
}

// DocumentsView lists the documents of a sealer, or of the department.
type DocumentsView struct {
	Frame
	Sealer    *Ref          `json:"sealer,omitempty"` // nil: the department's
	Documents []DocumentRow `json:"documents"`
}

// DocumentRow is a document and where it is kept.
type DocumentRow struct {
	rules.Document
	Over bool `json:"over,omitempty"` // it is good no longer
}

// Documents draws them.
func (d *Desk) Documents(who Caller, code string) (*DocumentsView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	subject, err := d.papersOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &DocumentsView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		list := view.Dept.Documents
		if s := rules.GetSealer(v, subject.ID); s != nil {
			view.Sealer, list = &Ref{ID: s.ID, Code: s.Code, Text: s.Number}, s.Documents
		}
		for _, doc := range list {
			view.Documents = append(view.Documents, DocumentRow{doc, doc.Until != 0 && doc.Until < view.Day})
		}
	})
	return view, nil
}
