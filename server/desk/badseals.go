package desk

import (
	"context"
	"strconv"
	"time"

	"tidemark/server/fault"
	"tidemark/server/photo"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// BadSealIn is a report of a bad seal. Only Kind must be given.
type BadSealIn struct {
	From
	Code     string       `param:"code" json:"-"`
	Kind     record.Fault `form:"kind" json:"kind"`
	Place    record.Place `form:"place" json:"place,omitempty"`
	AtCM     string       `form:"at_cm" json:"at_cm,omitempty"`
	Whose    string       `form:"whose" json:"whose,omitempty"` // "maker": the pouch maker's seal
	Pouch    record.ID    `form:"pouch" json:"pouch,omitzero"`
	Lot      string       `form:"lot" json:"lot,omitempty"`
	Load     string       `form:"load" json:"load,omitempty"`
	Found    string       `form:"found" json:"found,omitempty"`
	SealedAt string       `form:"sealed_at" json:"sealed_at,omitempty"` // local time, if not just now
	SealedTo string       `form:"sealed_to" json:"sealed_to,omitempty"`
}

// ReportBadSeal records a bad seal; what follows depends on its kind.
func (d *Desk) ReportBadSeal(ctx context.Context, who Caller, in BadSealIn) (Done, error) {
	s, e, err := d.atSealer(who, "ReportBadSeal", in.Code, in.From)
	if err != nil {
		return Done{}, err
	}
	b := record.BadSeal{Kind: in.Kind, Place: place(in.Place), AtCM: in.AtCM, MakersSeal: in.Whose == "maker",
		Pouch: in.Pouch, Lot: in.Lot, Load: in.Load, Found: in.Found}
	if b.SealedAt, err = sealedAt(d.department(who.Dept), in); err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in.From, e, sealerSubject(s), &b,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.BadSeal(v, rules.SaidBadSeal{Entry: e, Sealer: s.ID, BadSeal: b}, now)
		})
}

// sealedAt reads when a pack was sealed. A date alone is the whole day.
func sealedAt(dept *rules.Department, in BadSealIn) (*record.Span, error) {
	if in.SealedAt == "" {
		return nil, nil
	}
	bad := fault.Field("sealed_at", "Type the date, or the date and time, that is on the pack.")
	if day, err := record.ParseDate(in.SealedAt); err == nil {
		span := wholeDay(dept, day)
		return &span, nil
	}
	from, err := localTime(dept, in.SealedAt)
	if err != nil {
		return nil, bad
	}
	to := from
	if in.SealedTo != "" {
		if to, err = localTime(dept, in.SealedTo); err != nil {
			return nil, bad
		}
	}
	return &record.Span{From: from, To: to, Said: record.Typed}, nil
}

// PhotoIn is a photograph of something that is on record already.
type PhotoIn struct {
	From
	Of    record.ID `form:"of" json:"of"`
	Bytes []byte    `json:"-"`
}

// PhotoDone tells what became of a photograph.
type PhotoDone struct {
	Done
	Blurred bool `json:"blurred"`
}

// decodeWait is how long a photograph waits for the one before it.
const decodeWait = 20 * time.Second

// AddPhotograph shrinks and strips a photograph, stores it durably and then
// records it. It is refused without touching the report that it belongs to.
func (d *Desk) AddPhotograph(ctx context.Context, who Caller, in PhotoIn) (PhotoDone, error) {
	if who.Link.IsZero() {
		if _, err := d.may(who, "AddPhotograph"); err != nil {
			return PhotoDone{}, err
		}
	}
	of, found, err := d.ledger.Find(in.Of)
	if err != nil {
		return PhotoDone{}, err
	}
	if !found || of.Dept != who.Dept || !who.Link.IsZero() && problemOfRecord(&of) != who.Link {
		return PhotoDone{}, fault.New(fault.Unknown, "There is no report that this photograph belongs to.")
	}
	p, err := d.intake(ctx, in.Bytes)
	if err != nil {
		return PhotoDone{}, err
	}
	sum, err := d.photos.Put(p.JPEG)
	if err != nil {
		return PhotoDone{}, fault.Wrap(err, fault.Full, "The photograph could not be stored. The report is kept without it.")
	}
	c := photographOf(in.Of, sum, p)
	done, err := d.attach(ctx, who, in.From, of, &c)
	return PhotoDone{Done: done, Blurred: p.Blurred}, err
}

func sharpness(p photo.Photo) string { return strconv.FormatFloat(p.Sharpness, 'f', 1, 64) }

func (d *Desk) intake(ctx context.Context, b []byte) (photo.Photo, error) {
	wait, stop := context.WithTimeout(ctx, decodeWait)
	defer stop()
	select {
	case d.decode <- struct{}{}:
		defer func() { <-d.decode }()
		return photo.Intake(b)
	case <-wait.Done():
		return photo.Photo{}, fault.New(fault.Busy, "Other photographs are being stored. Send it again in a moment.")
	}
}

// attach writes a record that belongs to another one, on its problem if it has
// one, else on its subject.
func (d *Desk) attach(ctx context.Context, who Caller, in From, of record.Record, c record.Body) (Done, error) {
	e, err := d.entry(who, in)
	if err != nil {
		return Done{}, err
	}
	problem := problemOfRecord(&of)
	subject := of.Subject
	if !problem.IsZero() {
		subject = record.Subject{Type: record.Problem, ID: problem}
	}
	return d.write(ctx, who, in, e, subject, c,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Attach(v, e, subject, of.Dept, c, now)
		})
}

// Photograph returns the bytes of a photograph, by the record that names it.
func (d *Desk) Photograph(who Caller, id record.ID) ([]byte, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	unknown := fault.New(fault.Unknown, "There is no such photograph here.")
	r, found, err := d.ledger.Find(id)
	if err != nil || !found || r.Dept != who.Dept {
		return nil, unknown
	}
	body, err := r.Content()
	p, ok := body.(*record.Photograph)
	if err != nil || !ok {
		return nil, unknown
	}
	b, err := d.photos.Read(p.SHA256)
	if err != nil {
		return nil, fault.Wrap(err, fault.Gone, "This photograph was removed or cannot be read.")
	}
	return b, nil
}

// photoThere reports whether a photograph was not removed.
func (d *Desk) photoThere(sum string) bool {
	there, err := d.photos.Has(sum)
	return err == nil && there
}
