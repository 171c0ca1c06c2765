package desk

import (
	"context"
	"slices"

	"tidemark/server/fault"
	"tidemark/server/photo"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// EvidenceView is all that clinical engineering has to see of a fault, for one
// printed page. By link it has no photographs and names nobody of the department.
type EvidenceView struct {
	Frame
	ID        record.ID          `json:"id"`
	Ref       ProblemRef         `json:"ref"`
	Order     string             `json:"order,omitempty"`
	Facts     record.SealerFacts `json:"sealer"`
	Pouch     string             `json:"pouch,omitempty"`
	Lot       string             `json:"lot,omitempty"`
	Setting   *Setting           `json:"setting"`            // approved for the pouch
	Found     []SetWhenFound     `json:"found"`              // as the fault was found, newest first
	Measured  []Line             `json:"measured,omitempty"` // newest readings at the sealing face
	Table     *Line              `json:"table"`              // newest temperature table
	TableDays int                `json:"table_days"`         // its age
	Checks    []Line             `json:"checks"`             // the newest before and since, newest first
	Tasks     []TaskRow          `json:"tasks"`
	Spots     []FaultSpot        `json:"spots"` // faults at known places, this one among them
	Again     bool               `json:"again"`
	Earlier   []RepairView       `json:"earlier"`
	Photos    []EvidencePhoto    `json:"photographs,omitempty"`
	ByLink    bool               `json:"by_link,omitempty"`
}

// SetWhenFound is how the sealer was set when a fault was found: as set, as shown.
type SetWhenFound struct {
	At    record.Time `json:"at"`
	What  string      `json:"what"` // check | bad-seal
	Set   string      `json:"set,omitempty"`
	Shown string      `json:"shown,omitempty"`
}

// RepairView is an earlier problem, what was done, and whether that held.
type RepairView struct {
	EarlierView
	Again bool     `json:"again"` // at the place of this one
	Held  *HeldRow `json:"held"`  // nothing: it was not mended, or long ago
}

// EvidencePhoto is a photograph and the place that was marked on it, in
// thousandths; X is -1 if none was.
type EvidencePhoto struct {
	ID     record.ID `json:"id"`
	Width  int       `json:"width"`
	Height int       `json:"height"`
	X      int       `json:"x"`
	Y      int       `json:"y"`
}

const (
	evidenceChecks = 5
	evidencePhotos = 4
	evidenceRead   = 400 // records of a sealer's chain that are looked at
)

// Evidence draws the evidence sheet of a problem; by link that of the link's.
func (d *Desk) Evidence(who Caller, id record.ID) (*EvidenceView, error) {
	if !who.Link.IsZero() {
		id = who.Link
	} else if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	p, err := d.problemOf(who, id)
	if err != nil {
		return nil, err
	}
	view := &EvidenceView{ID: p.ID, Order: p.Order, Lot: p.Lot, ByLink: !who.Link.IsZero()}
	var s *rules.Sealer
	d.ledger.View(func(v record.View) { s = d.evidenceFacts(v, who, p, view) })
	if s == nil || !p.NeedsEngineering() {
		return nil, fault.New(fault.Unknown, "This problem is not about a sealer.")
	}
	lines, err := d.linesOf(p)
	if err != nil {
		return nil, err
	}
	view.foundAt(lines)
	if err := d.evidenceHeld(s, view); err != nil {
		return nil, err
	}
	if err := d.evidenceMeasured(s, view); err != nil {
		return nil, err
	}
	if view.Checks, err = d.newestChecks(s); err != nil {
		return nil, err
	}
	if view.ByLink {
		view.hideNames()
		return view, nil
	}
	return view, d.evidencePhotos(p, view)
}

func (d *Desk) evidenceFacts(v record.View, who Caller, p *rules.Problem, view *EvidenceView) *rules.Sealer {
	view.Frame, view.Ref = d.frame(v, who), *d.problemRef(v, p)
	if view.ByLink {
		view.Frame = d.frame(v, Caller{Dept: p.Dept})
	}
	s := rules.GetSealer(v, p.Sealer)
	if s == nil {
		return nil
	}
	view.Facts = s.SealerFacts
	if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
		view.Pouch = pouch.Name
	}
	if a, _ := s.Approval(v, p.Pouch, view.Day); a != nil {
		view.Setting = d.setting(v, a)
	}
	for _, t := range rules.Due(v, s, view.Day) {
		view.Tasks = append(view.Tasks, d.taskRow(v, &view.Frame, t))
	}
	var all []*rules.Problem
	for _, id := range s.Problems {
		if o := rules.GetProblem(v, id); o != nil && o.NeedsEngineering() {
			all = append(all, o)
		}
	}
	for _, o := range slices.Backward(all) {
		if o.Number > p.Number {
			continue
		}
		spot := FaultSpot{ProblemRef: *d.problemRef(v, o), Lot: o.Lot, Finding: o.Finding, CM: cmOf(o)}
		view.Spots = append(view.Spots, spot)
		if o.ID == p.ID {
			continue
		}
		r := RepairView{EarlierView: EarlierView{o.Number, o.Kind, o.Place, o.AtCM, o.OpenedAt, o.Finding, o.Action},
			Again: rules.SamePlaceAgain(p, o)}
		view.Again = view.Again || r.Again
		view.Earlier = append(view.Earlier, r)
	}
	return s
}

// evidenceHeld adds to each earlier problem what came after its last mend.
func (d *Desk) evidenceHeld(s *rules.Sealer, view *EvidenceView) error {
	if len(view.Earlier) == 0 {
		return nil
	}
	first := view.Earlier[len(view.Earlier)-1].At
	held, err := d.heldOf(s, max(first.Add(-heldBefore), view.Now.Add(-heldReach)))
	if err != nil {
		return err
	}
	for i := range view.Earlier {
		e := &view.Earlier[i]
		if n := slices.IndexFunc(held, func(h HeldRow) bool { return h.Number == e.Number }); n >= 0 {
			e.Held = &held[n]
		}
	}
	return nil
}

// foundAt tells how the control was set, and what it showed, when it failed.
func (view *EvidenceView) foundAt(lines []Line) {
	for _, l := range lines {
		switch b := l.Body.(type) {
		case *record.Check:
			if b.Outcome != record.Pass {
				view.Found = append(view.Found, SetWhenFound{l.From, "check", b.Set, b.Shown})
			}
		case *record.BadSeal:
			view.Found = append(view.Found, SetWhenFound{At: l.From, What: "bad-seal"})
		}
	}
}

// evidenceMeasured adds the newest readings and the temperature table.
func (d *Desk) evidenceMeasured(s *rules.Sealer, view *EvidenceView) error {
	readings, err := d.read(s.Filed.Readings[max(0, len(s.Filed.Readings)-3):])
	if err != nil {
		return err
	}
	view.Measured = d.lines(readings)
	seq := s.Filed.Table()
	if seq == record.None {
		return nil
	}
	table, err := d.read([]record.Seq{seq})
	if err != nil {
		return err
	}
	if lines := d.lines(table); len(lines) > 0 {
		view.Table = &lines[0]
		view.TableDays = int(view.Now.Sub(lines[0].From).Hours() / 24)
	}
	return nil
}

func (d *Desk) newestChecks(s *rules.Sealer) ([]Line, error) {
	var records []record.Record
	looked := 0
	for r, err := range d.ledger.Chain(sealerSubject(s)) {
		if err != nil {
			return nil, err
		}
		if r.Kind == "check" {
			records = append(records, r)
		}
		if looked++; len(records) == evidenceChecks || looked == evidenceRead {
			break
		}
	}
	return d.lines(records), nil
}

// hideNames takes the names of the department's people off what a link shows.
func (view *EvidenceView) hideNames() {
	view.Ref.By, view.Ref.Seen = "", ""
	if view.Setting != nil {
		view.Setting.By = ""
	}
	if view.Table != nil {
		view.Table.Who, view.Table.For, view.Table.Note = "", "", ""
	}
	for _, lines := range [][]Line{view.Checks, view.Measured} {
		for i := range lines {
			lines[i].Who, lines[i].For, lines[i].Note, lines[i].Photos = "", "", "", nil
		}
	}
	for i := range view.Tasks {
		view.Tasks[i].LastBy = ""
	}
	for i := range view.Spots {
		view.Spots[i].By, view.Spots[i].Seen = "", ""
	}
}

// evidencePhotos adds the photographs of the problem, the newest first, with the
// newest mark on each.
func (d *Desk) evidencePhotos(p *rules.Problem, view *EvidenceView) error {
	marks := map[record.ID]*record.PhotoMarked{}
	for r, err := range d.ledger.Chain(problemSubject(p)) {
		if err != nil {
			return err
		}
		body, err := r.Content()
		if err != nil {
			return err
		}
		switch b := body.(type) {
		case *record.PhotoMarked:
			if marks[b.Photo] == nil {
				marks[b.Photo] = b
			}
		case *record.Photograph:
			shot := EvidencePhoto{ID: r.ID, Width: b.Width, Height: b.Height, X: -1, Y: -1}
			if m := marks[r.ID]; m != nil {
				shot.X, shot.Y = m.X, m.Y
			}
			if len(view.Photos) < evidencePhotos {
				view.Photos = append(view.Photos, shot)
			}
		}
	}
	return nil
}

// MarkIn marks where on a photograph the fault is: in thousandths of its width
// and height, or by a third of each.
type MarkIn struct {
	ProblemIn
	Photo record.ID `form:"photo" json:"photo"`
	X     int       `form:"x" json:"x"`
	Y     int       `form:"y" json:"y"`
	Third string    `form:"third" json:"third,omitempty"` // "left top" ... "right bottom" in place of X and Y
}

// thirds are the middles of nine parts of a photograph.
var thirds = map[string][2]int{"left top": {167, 167}, "middle top": {500, 167}, "right top": {833, 167},
	"left middle": {167, 500}, "middle middle": {500, 500}, "right middle": {833, 500},
	"left bottom": {167, 833}, "middle bottom": {500, 833}, "right bottom": {833, 833}}

// MarkPhoto records where on a photograph the fault is.
func (d *Desk) MarkPhoto(ctx context.Context, who Caller, in MarkIn) (Done, error) {
	if in.Third != "" {
		at, ok := thirds[in.Third]
		if !ok {
			return Done{}, fault.Field("third", "Choose a part of the photograph.")
		}
		in.X, in.Y = at[0], at[1]
	}
	return d.step(ctx, who, "MarkPhoto", in.ProblemIn, &record.PhotoMarked{Photo: in.Photo, X: in.X, Y: in.Y}, nil)
}

// cutOut is how much of a photograph's width its cut-out shows.
const cutOut = .3

// CutOut is the neighbourhood of a place on a photograph, enlarged.
func (d *Desk) CutOut(ctx context.Context, who Caller, id record.ID, x, y int) ([]byte, error) {
	whole, err := d.Photograph(who, id)
	if err != nil {
		return nil, err
	}
	wait, stop := context.WithTimeout(ctx, decodeWait)
	defer stop()
	select {
	case d.decode <- struct{}{}:
		defer func() { <-d.decode }()
		return photo.Crop(whole, float64(x)/1000, float64(y)/1000, cutOut)
	case <-wait.Done():
		return nil, fault.New(fault.Busy, "Other photographs are being drawn. Load the page again in a moment.")
	}
}
