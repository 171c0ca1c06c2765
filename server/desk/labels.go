package desk

import (
	"tidemark/labels"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Labels returns the label of every sealer of the site that is in use.
func (d *Desk) Labels() ([]labels.Label, error) {
	var sealers []*rules.Sealer
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetSite(v).Departments {
			sealers = append(sealers, d.sealersOf(v, rules.GetDepartment(v, id))...)
		}
	})
	return d.labelsOf(sealers)
}

// LabelsFor returns the labels of some sealers of the caller's department, of
// all of them if no code is given.
func (d *Desk) LabelsFor(who Caller, codes []string) ([]labels.Label, error) {
	sealers, err := d.sealersFor(who, codes)
	if err != nil {
		return nil, err
	}
	return d.labelsOf(sealers)
}

func (d *Desk) sealersFor(who Caller, codes []string) (sealers []*rules.Sealer, err error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	for _, code := range codes {
		s, err := d.sealerOf(who, code)
		if err != nil {
			return nil, err
		}
		sealers = append(sealers, s)
	}
	if len(codes) == 0 {
		d.ledger.View(func(v record.View) { sealers = d.sealersOf(v, rules.GetDepartment(v, who.Dept)) })
	}
	return sealers, nil
}

func (d *Desk) labelsOf(sealers []*rules.Sealer) (list []labels.Label, err error) {
	for _, s := range sealers {
		url, err := labels.URL(d.url, labels.Code(s.Code))
		if err != nil {
			return nil, fault.Wrap(err, fault.Invalid, "Labels cannot be made for the address %s", d.url)
		}
		list = append(list, labels.Item{Number: s.Number, Place: s.Place, Asset: s.Asset, Code: labels.Code(s.Code), URL: url}.Label())
	}
	if len(list) == 0 {
		err = fault.New(fault.Unknown, "There is no sealer to print a label for yet.")
	}
	return list, err
}

// NumbersFor returns the numbers of some sealers of the caller's department, of
// all of them if no code is given.
func (d *Desk) NumbersFor(who Caller, codes []string) (numbers []string, err error) {
	sealers, err := d.sealersFor(who, codes)
	for _, s := range sealers {
		numbers = append(numbers, s.Number)
	}
	return numbers, err
}
