package desk

import (
	"cmp"
	"context"
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// HoldPlace is a place where packs of a hold are looked for, in the order of
// record.Wheres.
type HoldPlace struct {
	Where   string     `json:"where"`
	Here    int        `json:"here"` // known to be there, without an end
	Settled int        `json:"settled"`
	Told    []HoldTold `json:"told,omitempty"` // who has them there, and since when they know
}

// HoldTold is somebody who was told of a hold.
type HoldTold struct {
	Whom      string      `json:"whom"`
	Reference string      `json:"reference,omitempty"`
	By        string      `json:"by"`
	At        record.Time `json:"at"`
}

// HoldAt are packs of an entry that are known to be somewhere, without an end.
type HoldAt struct {
	Where string `json:"where"`
	Count int    `json:"count"`
}

// whoHas are those who have the packs at a place.
var whoHas = map[string][]string{record.OnCart: {"bench"}, record.InChamber: {"sterilizers"}, record.InStore: {"store"},
	record.Issued: {"units", record.InfectionPrevention}}

// spot is an entry of the pack log at a place; the zero entry are packs that
// nobody logged.
type spot struct {
	entry record.ID
	where string
}

// findPlaces fills in where the packs are: the newest word on each entry and
// place, less what was settled there. Lines come newest first.
func (h *HoldView) findPlaces(p *rules.Problem, lines []Line) {
	said := map[spot]int{}
	for _, l := range lines {
		switch b := l.Body.(type) {
		case *record.HoldTold:
			h.Told = append(h.Told, HoldTold{Whom: b.Whom, Reference: b.Reference, By: l.Who, At: l.To})
		case *record.PacksLocated:
			if at := (spot{b.Packs, b.Where}); said[at] == 0 {
				said[at] = b.Count
			}
		}
	}
	slices.Reverse(h.Told)
	settled := map[spot]int{}
	for _, s := range p.Settled {
		settled[spot{s.Packs, s.Where}] += s.Count
	}
	here := func(entry record.ID, where string, most int) int {
		at := spot{entry, where}
		return max(0, min(said[at]-settled[at], most))
	}
	for _, where := range record.Wheres() {
		place := HoldPlace{Where: where, Here: here(record.ID{}, where, said[spot{where: where}])}
		for i := range h.Rows {
			row := &h.Rows[i]
			if n := here(row.ID, where, row.Count-row.Settled); n > 0 {
				row.At = append(row.At, HoldAt{where, n})
				place.Here += n
			}
		}
		for at, n := range settled {
			if at.where == where {
				place.Settled += n
			}
		}
		for _, t := range h.Told {
			if slices.Contains(whoHas[where], t.Whom) {
				place.Told = append(place.Told, t)
			}
		}
		h.Places = append(h.Places, place)
	}
	slices.SortStableFunc(h.Rows, func(a, b HoldRow) int { return cmp.Compare(a.rank(), b.rank()) })
}

// rank orders entries by where they are: what nobody has found yet comes after
// what is known, what has an end comes last.
func (r *HoldRow) rank() int {
	switch {
	case r.Settled >= r.Count:
		return len(record.Wheres()) + 1
	case len(r.At) == 0:
		return len(record.Wheres())
	}
	return slices.Index(record.Wheres(), r.At[0].Where)
}

// LocateIn says where packs of a hold are: Count of them, from anywhere on the
// list or of the one entry of Rows; or all that are left of each of Rows.
type LocateIn struct {
	ProblemIn
	Rows  []record.ID `form:"rows" json:"rows,omitempty"`
	Loads []string    `form:"loads" json:"loads,omitempty"`
	Count int         `form:"count" json:"count,omitempty"`
	Where string      `form:"where" json:"where"`
}

// LocatePacks records where packs are that are kept aside and have no end yet.
func (d *Desk) LocatePacks(ctx context.Context, who Caller, in LocateIn) (Done, error) {
	person, err := d.may(who, "LocatePacks")
	if err != nil {
		return Done{}, err
	}
	settle := SettleIn{ProblemIn: in.ProblemIn, Rows: in.Rows, Loads: in.Loads, Count: in.Count, Where: in.Where}
	step := func(packs record.ID, count int) record.Body {
		return &record.PacksLocated{Packs: packs, Count: count, Where: in.Where}
	}
	again := func(r record.Body) record.Body {
		if b, ok := r.(*record.PacksLocated); ok {
			return step(b.Packs, b.Count)
		}
		return nil
	}
	return d.ofPacks(ctx, who, person, &settle, step, again)
}

// ToldIn says who was told of a hold.
type ToldIn struct {
	ProblemIn
	Whom      string `form:"whom" json:"whom"`
	Reference string `form:"reference" json:"reference,omitempty"`
}

// TellOfHold records who was told of a hold.
func (d *Desk) TellOfHold(ctx context.Context, who Caller, in ToldIn) (Done, error) {
	return d.step(ctx, who, "TellOfHold", in.ProblemIn, &record.HoldTold{Whom: in.Whom, Reference: in.Reference}, nil)
}
