package desk

import (
	"errors"
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// filed adds what was decided, measured and tried out on a sealer, the newest of
// each, newest first.
func (d *Desk) filed(s *rules.Sealer, view *SettingsView) error {
	decisions, err1 := d.read(s.Filed.Decisions)
	tables, err2 := d.read(s.Filed.Tables)
	ladders, err3 := d.read(s.Filed.Ladders)
	readings, err4 := d.read(s.Filed.Readings)
	validations, err5 := d.read(s.Filed.Validations)
	if err := errors.Join(err1, err2, err3, err4, err5); err != nil {
		return err
	}
	view.Decisions, view.Tables = d.lines(decisions), d.lines(tables)
	for _, l := range d.lines(ladders) {
		view.Ladders = append(view.Ladders, climb(l))
	}
	for _, l := range d.lines(validations) {
		view.Validations = append(view.Validations, validation(l))
	}
	view.Series = seriesOf(d.lines(readings), view.Scale)
	return nil
}

// read reads records, the newest first.
func (d *Desk) read(seqs []record.Seq) ([]record.Record, error) {
	list := make([]record.Record, 0, len(seqs))
	for _, seq := range slices.Backward(seqs) {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

// ofSealer reads a record of a sealer's chain; another's looks like none.
func (d *Desk) ofSealer(s *rules.Sealer, seq record.Seq) (record.Record, error) {
	if seq < 0 || int64(seq) >= d.ledger.Size() {
		return record.Record{}, noSuchRecord()
	}
	r, err := d.ledger.Read(seq)
	if err == nil && r.Subject != sealerSubject(s) {
		err = noSuchRecord()
	}
	return r, err
}

// bodyOf is what a record says, if it is of that kind.
func bodyOf[B record.Body](r *record.Record) (body B, err error) {
	content, err := r.Content()
	if err != nil {
		return body, err
	}
	body, ok := content.(B)
	if !ok {
		return body, noSuchRecord()
	}
	return body, nil
}

// messageOf is what a fault says to a person.
func messageOf(err error) string {
	var f *fault.Error
	if errors.As(err, &f) {
		return f.Message
	}
	return ""
}
