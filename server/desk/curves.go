package desk

import (
	"sync"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// curves keeps temperature tables compiled, by the record and the type of sealer
// that they are for: a record never changes, so neither does its curve. The
// zero value is empty.
type curves struct {
	mu sync.Mutex
	of map[curveKey]*sealing.Curve
}

type curveKey struct {
	table record.Seq
	kind  record.SealerType
}

// mostCurves bounds what is kept; more than a large hospital has sealers.
const mostCurves = 1024

// curve returns the compiled table of a record; nil if what stands there means
// no degrees on a sealer of this type, whose type was perhaps changed.
func (d *Desk) curve(t record.SealerType, table record.Seq) (*sealing.Curve, error) {
	key := curveKey{table, t}
	d.curves.mu.Lock()
	c, kept := d.curves.of[key]
	d.curves.mu.Unlock()
	if kept || table == record.None {
		return c, nil
	}
	r, err := d.ledger.Read(table)
	if err != nil {
		return nil, err
	}
	body, err := bodyOf[*record.TemperatureTable](&r)
	if err != nil {
		return nil, err
	}
	if c, err = compile(t, body); err != nil {
		c = nil
	}
	d.curves.mu.Lock()
	defer d.curves.mu.Unlock()
	if d.curves.of == nil || len(d.curves.of) >= mostCurves {
		d.curves.of = map[curveKey]*sealing.Curve{}
	}
	d.curves.of[key] = c
	return c, nil
}

func compile(t record.SealerType, b *record.TemperatureTable) (*sealing.Curve, error) {
	table, err := rules.TableOf(t, b)
	if err != nil {
		return nil, err
	}
	return table.Compile()
}

// curvesFor brings the curves of every sealer of a department that is approved
// for a pouch: what a decision about its window may want.
func (d *Desk) curvesFor(dept, pouch record.ID) (rules.Curves, error) {
	tables := map[record.Seq]record.SealerType{}
	d.ledger.View(func(v record.View) {
		for _, s := range d.sealersOf(v, rules.GetDepartment(v, dept)) {
			for _, a := range s.Approvals {
				if a.Pouch == pouch && s.Filed.Table() != record.None {
					tables[s.Filed.Table()] = s.Type
				}
			}
		}
	})
	list := rules.Curves{}
	for seq, t := range tables {
		c, err := d.curve(t, seq)
		if err != nil {
			return nil, err
		}
		list[seq] = c
	}
	return list, nil
}
