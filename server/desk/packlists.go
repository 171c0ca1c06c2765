package desk

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/packlist"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PackFile is a list that was stored; nothing is recorded of it yet.
type PackFile struct {
	SHA256 string `json:"file"`
	Bytes  int64  `json:"bytes"`
}

// StorePackFile keeps a list of packs under its SHA-256, streamed. What is not
// imported within a day is removed.
func (d *Desk) StorePackFile(_ context.Context, who Caller, from io.Reader) (PackFile, error) {
	if _, err := d.may(who, "ImportPacks"); err != nil {
		return PackFile{}, err
	}
	if err := d.sweepLists(); err != nil {
		return PackFile{}, err
	}
	name, size, err := d.lists.PutFrom(io.LimitReader(from, packlist.MaxBytes+1))
	switch {
	case err != nil:
		return PackFile{}, fault.Wrap(err, fault.Full, "The list could not be stored.")
	case size > packlist.MaxBytes:
		_ = d.lists.Delete(name) // it would be swept
		return PackFile{}, fault.New(fault.TooLarge, "The list is larger than 20 MB. Split it.")
	case size == 0:
		return PackFile{}, fault.Field("file", "Choose a file.")
	}
	return PackFile{name, size}, nil
}

// listWaits is how long a stored list may wait to be imported.
const listWaits = 24 * time.Hour

// sweepLists removes lists that nobody imported.
func (d *Desk) sweepLists() error {
	d.listed.taking.Lock()
	defer d.listed.taking.Unlock()
	used := map[string]bool{}
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetSite(v).Departments {
			if dept := rules.GetDepartment(v, id); dept != nil {
				for _, l := range dept.Lists {
					used[l.SHA256] = true
				}
			}
		}
	})
	var old []string
	err := d.lists.Walk(func(name string, info fs.FileInfo) error {
		if !used[name] && d.clock().Sub(info.ModTime()) > listWaits {
			old = append(old, name)
		}
		return nil
	})
	for _, name := range old {
		err = errors.Join(err, d.lists.Delete(name))
	}
	return err
}

// PackListIn says how a stored list is to be read. Cells and Numbers go together:
// what the list calls a sealer, and its number.
type PackListIn struct {
	From
	File      string   `form:"file" json:"file"`
	Sealer    string   `form:"sealer_column" json:"sealer_column"`
	Date      string   `form:"date_column" json:"date_column"`
	Clock     string   `form:"clock_column" json:"clock_column,omitempty"`
	Pouch     string   `form:"pouch_column" json:"pouch_column,omitempty"`
	Load      string   `form:"load_column" json:"load_column,omitempty"`
	Pack      string   `form:"pack_column" json:"pack_column,omitempty"`
	Count     string   `form:"count_column" json:"count_column,omitempty"`
	Order     string   `form:"order" json:"order"`
	Which     string   `form:"which" json:"which"`
	Zone      string   `form:"zone" json:"zone,omitempty"`                 // empty: the department's
	Before    string   `form:"before_hours" json:"before_hours,omitempty"` // empty: the usual for Which
	After     string   `form:"after_hours" json:"after_hours,omitempty"`
	Encoding  string   `form:"encoding" json:"encoding,omitempty"`
	Separator string   `form:"separator" json:"separator,omitempty"`
	Cells     []string `form:"cells" json:"cells,omitempty"`
	Numbers   []string `form:"numbers" json:"numbers,omitempty"`
	GoodOnly  bool     `form:"good_only" json:"good_only,omitempty"` // leave out rows that cannot be read
}

// usualHours are how long before and after its time a pack may have been sealed.
// Common practice, no source: the lead sets them.
var usualHours = map[string][2]int{record.TimeSealed: {0, 0}, record.TimePrinted: {12, 12}, record.TimeSterilized: {72, 0}}

// maxHours is the most that a time can be widened by.
const maxHours = 31 * 24

// columns makes of a form how the list is read.
func (in *PackListIn) columns(dept *rules.Department) (c record.PackColumns, err error) {
	c = record.PackColumns{Sealer: in.Sealer, Date: in.Date, Clock: in.Clock, Pouch: in.Pouch, Load: in.Load, Pack: in.Pack,
		Count: in.Count, Order: in.Order, Which: in.Which, Zone: in.Zone, Encoding: in.Encoding, Separator: in.Separator}
	hours, known := usualHours[in.Which]
	switch {
	case !slices.Contains([]string{"ymd", "dmy", "mdy"}, in.Order):
		return c, fault.Field("order", "Say how dates are written: the list does not show it for sure.")
	case !known:
		return c, fault.Field("which", "Say what the time is the time of.")
	}
	if c.Zone == "" {
		c.Zone = dept.Zone
	}
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "Local" {
		return c, fault.Field("zone", "Choose a time zone such as America/New_York, or UTC.")
	}
	for _, h := range []struct {
		said  string
		usual int
		at    *int
		field string
	}{{in.Before, hours[0], &c.Before, "before_hours"}, {in.After, hours[1], &c.After, "after_hours"}} {
		n, err := h.usual, error(nil)
		if h.said != "" {
			n, err = strconv.Atoi(strings.TrimSpace(h.said))
		}
		if err != nil || n < 0 || n > maxHours {
			return c, fault.Field(h.field, "Give hours from 0 to %d.", maxHours)
		}
		*h.at = n * 60
	}
	for i, cell := range in.Cells {
		if i < len(in.Numbers) && strings.TrimSpace(in.Numbers[i]) != "" {
			c.Same = append(c.Same, record.SealerName{Cell: packlist.Clean(cell), Number: strings.ToUpper(strings.TrimSpace(in.Numbers[i]))})
		}
	}
	return c, nil
}

// terms are what a list is read by.
func (d *Desk) terms(c record.PackColumns, now record.Time, known func(string) bool) packlist.Terms {
	return packlist.Terms{Columns: c, Zone: rules.Zone(c.Zone), Now: now, Known: known}
}

// numbersHere are the numbers that sealers of a department have or had.
func numbersHere(v record.View, dept *rules.Department) map[string]bool {
	m := map[string]bool{}
	for _, id := range dept.Sealers {
		if s := rules.GetSealer(v, id); s != nil {
			m[s.Number] = true
			for _, n := range s.Numbers {
				m[n.Number] = true
			}
		}
	}
	return m
}

// openList opens a stored list.
func (d *Desk) openList(name string) (io.ReadCloser, error) {
	f, err := d.lists.Open(name)
	if err != nil {
		return nil, fault.Wrap(err, fault.Gone, "This list is not here any more. Choose the file again.")
	}
	return f, nil
}

// ImportPacks records a list of packs. The same file again changes nothing. Rows
// that cannot be read keep it from being taken, unless GoodOnly says otherwise.
func (d *Desk) ImportPacks(ctx context.Context, who Caller, in PackListIn) (Done, error) {
	if _, err := d.may(who, "ImportPacks"); err != nil {
		return Done{}, err
	}
	dept := d.department(who.Dept)
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	d.listed.taking.RLock() // nobody sweeps the file away meanwhile
	defer d.listed.taking.RUnlock()
	d.listed.forget(e.ID)
	body, err := d.readList(dept, &in)
	if err != nil {
		return Done{}, err
	}
	late, err := d.turnedUp(dept, e.ID, body)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in.From, e, record.Subject{Type: record.Department, ID: who.Dept}, body,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.ListPacks(v, rules.SaidPackList{Entry: e, Dept: who.Dept, List: *body, Late: late}, now)
		})
}

// readList reads a stored list to its end.
func (d *Desk) readList(dept *rules.Department, in *PackListIn) (*record.PacksListed, error) {
	c, err := in.columns(dept)
	if err != nil {
		return nil, err
	}
	var known map[string]bool
	d.ledger.View(func(v record.View) { known = numbersHere(v, dept) })
	s, bytes, err := d.scanList(in.File, d.terms(c, d.now(), func(n string) bool { return known[n] }), nil)
	switch {
	case err != nil:
		return nil, err
	case s.Rows == 0:
		return nil, fault.Field("file", "No row of the list can be read.")
	case s.Bad > 0 && !in.GoodOnly:
		return nil, fault.Field("good_only", "%d rows cannot be read. Put them right in the file, or tick that only the good ones are taken.", s.Bad)
	}
	return &record.PacksListed{SHA256: in.File, Bytes: bytes, Rows: s.Rows, Packs: s.Packs, LeftOut: s.Bad, First: s.First, Last: s.Last,
		Sealers: s.Sealers, Columns: c}, nil
}

// scanList reads a stored list and tells its size. A damaged one is a fault.
func (d *Desk) scanList(name string, t packlist.Terms, each func(packlist.Row, *packlist.Bad)) (*packlist.Summary, int64, error) {
	f, err := d.openList(name)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	size := &counted{Reader: f}
	s, err := packlist.Scan(size, t, each)
	return s, size.n, err
}

// counted counts what is read.
type counted struct {
	io.Reader
	n int64
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	c.n += int64(n)
	return n, err
}

// turnedUp finds the problems whose packs count as settled though a list that
// comes in has more of them.
func (d *Desk) turnedUp(dept *rules.Department, id record.ID, list *record.PacksListed) (late []rules.TurnedUp, err error) {
	var settled []*rules.Problem
	d.ledger.View(func(v record.View) {
		if dept = rules.GetDepartment(v, dept.ID); dept == nil || dept.HasList(list.SHA256) {
			return
		}
		for _, sealer := range dept.Sealers {
			s := rules.GetSealer(v, sealer)
			if s == nil {
				continue
			}
			for _, problem := range s.Problems {
				p := rules.GetProblem(v, problem)
				if p != nil && p.SettledAt != 0 && p.NeedsEngineering() && list.First <= max(p.SettledTo, p.Ends) && list.Last >= p.SettledFrom {
					settled = append(settled, p)
				}
			}
		}
	})
	for _, p := range settled {
		hold, err := d.hold(p, imported{id, *list})
		if err != nil {
			return nil, err
		}
		if left, _ := leftOf(p, hold); left > 0 {
			late = append(late, rules.TurnedUp{Problem: p.ID, Packs: left})
		}
	}
	return late, nil
}
