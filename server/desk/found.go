package desk

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"tidemark/labels"
	"tidemark/server/fault"
	"tidemark/server/photo"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// FoundIn is what somebody without an account says of a bad pack found elsewhere:
// in the operating room, in a store, on a ward. Only Kind must be given.
type FoundIn struct {
	ID       record.ID    `form:"id" json:"id"`
	Poster   string       `param:"poster" json:"-"` // the code of the poster
	Kind     record.Fault `form:"kind" json:"kind"`
	Whose    string       `form:"whose" json:"whose,omitempty"`         // department | maker | unknown
	Number   string       `form:"number" json:"number,omitempty"`       // of the sealer, as on the pack
	SealedOn string       `form:"sealed_on" json:"sealed_on,omitempty"` // date on the pack, "2026-03-04"
	Load     string       `form:"load" json:"load,omitempty"`
	Initials string       `form:"initials" json:"initials,omitempty"`
	Where    string       `form:"where" json:"where,omitempty"`
	Used     string       `form:"used" json:"used,omitempty"` // no | yes | unknown
	Reach    string       `form:"reach" json:"reach,omitempty"`
	Note     string       `form:"note" json:"note,omitempty"`
	Photo    []byte       `form:"-" json:"-"`
}

// FoundDone thanks whoever wrote. Photo tells what became of the photograph: ""
// (there was none), kept, blurred, or a code of why it was not.
type FoundDone struct {
	Department string      `json:"department"`
	At         record.Time `json:"at"`
	Photo      string      `json:"photo,omitempty"`
}

// foundBody is a report as it lies in the inbox.
type foundBody struct {
	Found *foundReport `json:"found"`
}

type foundReport struct {
	FoundIn
	Photo *record.Photograph `json:"photo,omitempty"`
}

// Where a bad pack is found elsewhere, and whether it was used.
var (
	foundWhere = []string{record.AtTheatre, record.AtStore, "ward", record.AtLoad}
	foundUsed  = []string{"no", "yes", "unknown"}
	foundWhose = []string{"department", "maker", "unknown"}
)

// FoundWhere, FoundUsed and FoundWhose list the codes of the form.
func FoundWhere() []string { return foundWhere }
func FoundUsed() []string  { return foundUsed }
func FoundWhose() []string { return foundWhose }

// maxLine is how long one line of a stranger's report may be, in bytes.
const maxLine = 120

// PosterOf tells which department a poster belongs to. A code that never was, one
// that was replaced and one that was mistyped look alike.
func (d *Desk) PosterOf(code string) (place string, err error) {
	dept := d.posterDept(code)
	if dept == nil {
		return "", noPoster()
	}
	return dept.Name, nil
}

func noPoster() error {
	return fault.New(fault.Unknown, "This poster is not in use any more. Keep the pack aside and telephone sterile processing.")
}

func (d *Desk) posterDept(code string) (dept *rules.Department) {
	parsed, err := labels.ParseCode(code)
	if err != nil {
		return nil
	}
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetSite(v).Departments {
			if o := rules.GetDepartment(v, id); o != nil && o.FoundCode == string(parsed) {
				dept = o
			}
		}
	})
	return dept
}

// Found leaves a report of a bad pack in a department's inbox. It stops no sealer
// and makes no record of itself: it rings, until somebody of the department takes
// it. A photograph that cannot be taken never holds the report up.
func (d *Desk) Found(ctx context.Context, in FoundIn) (FoundDone, error) {
	dept := d.posterDept(in.Poster)
	if dept == nil {
		return FoundDone{}, noPoster()
	}
	if err := in.sound(); err != nil {
		return FoundDone{}, err
	}
	d.inbox.Lock()
	defer d.inbox.Unlock()
	done := FoundDone{Department: dept.Name, At: d.now()}
	if known, err := d.foundBefore(dept.ID, in.ID); err != nil || known {
		return done, err
	}
	poster := "poster " + dept.FoundCode
	if err := d.people.MayReport(dept.ID, poster, d.clock()); err != nil {
		return FoundDone{}, err
	}
	report := foundReport{FoundIn: in}
	report.Photo, done.Photo = d.foundPhoto(ctx, in.Photo)
	body, err := json.Marshal(foundBody{&report})
	if err != nil {
		return FoundDone{}, fault.Wrap(err, fault.Internal, "This could not be written down.")
	}
	if _, err := d.people.AddReport(dept.ID, poster, body, d.clock()); err != nil {
		return FoundDone{}, err
	}
	d.bell.ring()
	return done, d.callLeads(ctx, dept.ID)
}

// sound keeps a report to what the form offers and to short lines.
func (in *FoundIn) sound() error {
	if !slices.Contains(record.Faults(), in.Kind) {
		return fault.Field("kind", "Say what you see, or choose Don't know.")
	}
	for _, c := range []struct {
		field, code string
		of          []string
	}{{"whose", in.Whose, foundWhose}, {"where", in.Where, foundWhere}, {"used", in.Used, foundUsed}} {
		if c.code != "" && !slices.Contains(c.of, c.code) {
			return fault.Field(c.field, "Choose one of the answers.")
		}
	}
	for field, text := range map[string]*string{"number": &in.Number, "load": &in.Load, "initials": &in.Initials, "reach": &in.Reach} {
		if *text = strings.TrimSpace(*text); len(*text) > maxLine {
			return fault.Field(field, "Please keep this under %d characters.", maxLine)
		}
	}
	if in.Note = strings.TrimSpace(in.Note); len(in.Note) > maxText {
		return fault.Field("note", "Please keep the note under %d characters.", maxText)
	}
	if in.SealedOn != "" {
		if _, err := record.ParseDate(in.SealedOn); err != nil {
			return fault.Field("sealed_on", "Type the date that is on the pack, or leave it empty.")
		}
	}
	return nil
}

// foundBefore reports whether the same form is in the inbox already.
func (d *Desk) foundBefore(dept, form record.ID) (bool, error) {
	items, err := d.foundIn(dept)
	for _, it := range items {
		if !form.IsZero() && it.ID == form {
			return true, err
		}
	}
	return false, err
}

// foundPhoto stores a photograph, small and stripped.
func (d *Desk) foundPhoto(ctx context.Context, b []byte) (*record.Photograph, string) {
	if len(b) == 0 {
		return nil, ""
	}
	p, err := d.intake(ctx, b)
	if err != nil {
		return nil, string(fault.CodeOf(err))
	}
	sum, err := d.photos.Put(p.JPEG)
	if err != nil {
		d.log.Warn("store photograph of a report", "error", err)
		return nil, string(fault.Full)
	}
	stored := photographOf(record.ID{}, sum, p)
	if p.Blurred {
		return &stored, "blurred"
	}
	return &stored, "kept"
}

// callLeads has the leads mailed that a report waits: once an hour at most,
// whoever writes and however often.
func (d *Desk) callLeads(ctx context.Context, dept record.ID) error {
	items, err := d.foundIn(dept)
	if err != nil {
		return err
	}
	hour := d.clock().UTC().Truncate(time.Hour).Format("2006-01-02T15")
	e := rules.Entry{ID: dept.Derive("rang " + hour), Via: record.ViaClock}
	rang := &record.Rang{Waiting: len(items)}
	err = d.byClock(ctx, e, record.Subject{Type: record.Department, ID: dept}, rang, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Ring(v, e, dept, rang, now)
	})
	if fault.Is(err, fault.Conflict) { // the leads were told in this hour
		return nil
	}
	return err
}

func photographOf(of record.ID, sum string, p photo.Photo) record.Photograph {
	return record.Photograph{Of: of, SHA256: sum, Bytes: len(p.JPEG), Width: p.Width, Height: p.Height,
		Sharpness: sharpness(p), Blurred: p.Blurred}
}
