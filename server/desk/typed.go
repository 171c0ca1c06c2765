package desk

import (
	"errors"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// typed reads a number that a person typed, with its unit or without.
func typed(field, text string, assumed sealing.Unit) (record.Quantity, error) {
	q, err := sealing.ParseQuantity(text, assumed)
	if err == nil && q.Missing() {
		err = fault.New(fault.Invalid, "Type %s.", assumed.Dimension())
	}
	if err != nil {
		return record.Quantity{}, pointAt(field, err)
	}
	return record.Quantity{Value: q.Value.String(), Unit: string(q.Unit)}, nil
}

// pointAt points a fault at a form field.
func pointAt(field string, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	return fault.Field(field, "%s", f.Message)
}

// at is an entry of a column of a form; a browser leaves none out, a program may.
func at(column []string, i int) string {
	if i < len(column) {
		return strings.TrimSpace(column[i])
	}
	return ""
}

// scale is how temperatures without a unit are read: as the sender says, or as
// the department has it.
func (d *Desk) scale(who Caller, said sealing.Unit) sealing.Unit {
	if said == sealing.Celsius || said == sealing.Fahrenheit {
		return said
	}
	if dept := d.department(who.Dept); dept != nil {
		return dept.Scale()
	}
	return sealing.Celsius
}

// controlUnit is the unit that the control of a type of sealer is read in, if
// none was typed.
func controlUnit(t record.SealerType, scale sealing.Unit) sealing.Unit {
	if t == record.BarDisplay || t == record.Continuous {
		return scale
	}
	return sealing.Mark
}

// ask puts what looks odd to whoever typed it: they correct it, or say that it is
// meant so. Nothing asked, nothing refused.
func ask(questions []string) error {
	if len(questions) == 0 {
		return nil
	}
	return fault.Field("sure", "%s Correct it, or say that it is meant so.", strings.Join(questions, " "))
}

// overdue asks about an instrument whose certificate had ended when it was used.
func (d *Desk) overdue(who Caller, in From, i InstrumentIn) []string {
	dept := d.department(who.Dept)
	used := record.DateOf(d.clock())
	if at, err := localTime(dept, in.Happened); in.Happened != "" && err == nil {
		used = record.DateOf(at.Time())
	}
	if i.Due == 0 || i.Due >= used {
		return nil
	}
	return []string{"The certificate of the reference instrument had ended on " +
		i.Due.UTC().Format("2 Jan 2006") + "."}
}

func noSuchRecord() error {
	return fault.New(fault.Unknown, "There is no such record of this sealer.")
}
