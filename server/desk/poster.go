package desk

import (
	"context"

	"tidemark/labels"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PosterView is the poster that operating rooms and stores write from.
type PosterView struct {
	Frame
	Code string `json:"code,omitempty"` // none: there is no poster yet
	URL  string `json:"url,omitempty"`
}

// Poster draws the poster of the caller's department.
func (d *Desk) Poster(who Caller) (*PosterView, error) {
	if _, err := d.may(who, "ManagePoster"); err != nil {
		return nil, err
	}
	view := &PosterView{}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	if view.Code = view.Dept.FoundCode; view.Code == "" {
		return view, nil
	}
	var err error
	if view.URL, err = labels.PathURL(d.url, "/F/"+view.Code); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "A poster cannot be made for the address %s", d.url)
	}
	return view, nil
}

// MakePoster gives the department a new code: from then on the posters that hang
// lead nowhere.
func (d *Desk) MakePoster(ctx context.Context, who Caller, in From) (Done, error) {
	if _, err := d.may(who, "MakePoster"); err != nil {
		return Done{}, err
	}
	d.fresh(&in, "poster")
	if done, known, err := d.recordedBefore(in.ID); known || err != nil {
		done.Subject = who.Dept
		return done, err
	}
	code, err := d.newCode()
	if err != nil {
		return Done{}, err
	}
	dept := d.department(who.Dept)
	s := dept.DepartmentSettings
	s.FoundCode = code
	return d.facts(ctx, who, "MakePoster", in, record.Subject{Type: record.Department, ID: who.Dept},
		&record.DepartmentChanged{Name: dept.Name, DepartmentSettings: s, Reason: "new poster"}, nil)
}

// newCode draws a code that no label and no poster has.
func (d *Desk) newCode() (string, error) {
	for {
		code, err := labels.NewCode(d.random)
		if err != nil {
			return "", err
		}
		taken := d.posterDept(string(code)) != nil
		d.ledger.View(func(v record.View) {
			_, sealer := rules.GetSite(v).Codes[string(code)]
			taken = taken || sealer
		})
		if !taken {
			return string(code), nil
		}
	}
}
