package desk

import (
	"context"
	"strconv"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// CorrectIn is an entry as it should have been written down: of the fields those
// that entries of its kind have, all of them. An empty When leaves the time as it
// is, and so does an empty or unchanged Note.
type CorrectIn struct {
	From
	Entry    record.Seq   `param:"seq" json:"-"`
	Version  record.Seq   `form:"version" json:"version"` // the newest that the page showed
	Why      string       `form:"why" json:"why"`
	When     string       `form:"when" json:"when,omitempty"` // local time, if that was wrong
	Until    string       `form:"until" json:"until,omitempty"`
	Shown    string       `form:"shown" json:"shown,omitempty"` // of a check, down to Kit
	Set      string       `form:"set" json:"set,omitempty"`
	Dwell    string       `form:"dwell" json:"dwell,omitempty"`
	Speed    string       `form:"speed" json:"speed,omitempty"`
	Pressure string       `form:"pressure" json:"pressure,omitempty"`
	Kit      string       `form:"kit" json:"kit,omitempty"`
	Lot      string       `form:"lot" json:"lot,omitempty"`   // of the pouch
	Kind     record.Fault `form:"kind" json:"kind,omitempty"` // of a fault, as Place and AtCM
	Place    record.Place `form:"place" json:"place,omitempty"`
	AtCM     string       `form:"at_cm" json:"at_cm,omitempty"`
	Load     string       `form:"load" json:"load,omitempty"`
	Found    string       `form:"found" json:"found,omitempty"`
	SealedAt string       `form:"sealed_at" json:"sealed_at,omitempty"`
	SealedTo string       `form:"sealed_to" json:"sealed_to,omitempty"`
	Count    int          `form:"count" json:"count,omitempty"` // of packs
	Where    string       `form:"where" json:"where,omitempty"` // of packs that found an end, down to Reason
	End      string       `form:"end" json:"end,omitempty"`
	Reason   string       `form:"reason" json:"reason,omitempty"`
}

// VoidIn takes an entry back, or confirms that with a second name.
type VoidIn struct {
	From
	Entry   record.Seq `param:"seq" json:"-"`
	Version record.Seq `form:"version" json:"version"`
	Why     string     `form:"why" json:"why,omitempty"` // not of a second name
}

// Correct records how an entry should read. The entry stays and is shown beside
// it. No correction makes a sealer ready.
func (d *Desk) Correct(ctx context.Context, who Caller, in CorrectIn) (Done, error) {
	if _, err := d.may(who, "Correct"); err != nil {
		return Done{}, err
	}
	a, err := d.amending(who, in.Entry, in.Version)
	if err != nil {
		return Done{}, err
	}
	c, err := d.corrected(who, a, &in)
	if err != nil {
		return Done{}, err
	}
	a.Why = c.Why
	return d.amend(ctx, who, in.From, a, c, func(v record.View, a rules.Amending, now record.Time) ([]rules.Draft, error) {
		return rules.Correct(v, rules.SaidCorrection{Amending: a, Correction: *c}, now)
	})
}

// Void takes an entry back that should never have been made. One that took a
// sealer out of service waits for a second person: see ConfirmVoid.
func (d *Desk) Void(ctx context.Context, who Caller, in VoidIn) (Done, error) {
	if _, err := d.may(who, "Void"); err != nil {
		return Done{}, err
	}
	a, err := d.amending(who, in.Entry, in.Version)
	if err != nil {
		return Done{}, err
	}
	a.Why = strings.TrimSpace(in.Why)
	return d.amend(ctx, who, in.From, a, &record.Voided{Why: a.Why},
		func(v record.View, a rules.Amending, now record.Time) ([]rules.Draft, error) {
			return rules.Void(v, rules.SaidVoid{Amending: a}, now)
		})
}

// ConfirmVoid puts a second name under the wish to take a stop back.
func (d *Desk) ConfirmVoid(ctx context.Context, who Caller, in VoidIn) (Done, error) {
	if _, err := d.may(who, "ConfirmVoid"); err != nil {
		return Done{}, err
	}
	a, err := d.amending(who, in.Entry, in.Version)
	if err != nil {
		return Done{}, err
	}
	return d.amend(ctx, who, in.From, a, &record.VoidConfirmed{},
		func(v record.View, a rules.Amending, now record.Time) ([]rules.Draft, error) {
			return rules.ConfirmVoid(v, rules.SaidConfirmation{Amending: a}, now)
		})
}

// amending reads what a correction names. An entry of another department looks
// like one that is not there.
func (d *Desk) amending(who Caller, entry, version record.Seq) (a rules.Amending, err error) {
	original, err := d.entryOf(who, entry)
	if err != nil {
		return a, err
	}
	a.Original, a.Current = original, original
	if version == entry {
		return a, nil
	}
	newer, err := d.entryOf(who, version)
	if err != nil || newer.Original() != entry {
		return a, fault.New(fault.Unknown, "There is no such entry here.")
	}
	a.Current = newer
	return a, nil
}

func (d *Desk) entryOf(who Caller, seq record.Seq) (*record.Record, error) {
	r, err := d.ledger.Read(seq)
	if seq < 0 || fault.Is(err, fault.Unknown) || err == nil && r.Dept != who.Dept {
		return nil, fault.New(fault.Unknown, "There is no such entry here.")
	}
	return &r, err
}

// amend writes a correction down. said is its body, whole, so that the same form
// sent twice is one record.
func (d *Desk) amend(ctx context.Context, who Caller, in From, a rules.Amending, said record.Body,
	decide func(record.View, rules.Amending, record.Time) ([]rules.Draft, error)) (Done, error) {
	e, err := d.entry(who, in)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, in, e, a.Original.Subject, said,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			a.Entry = e
			return decide(v, a, now)
		})
}

// corrected makes the body of a correction out of a form.
func (d *Desk) corrected(who Caller, a rules.Amending, in *CorrectIn) (*record.Corrected, error) {
	now := d.versionOf(a.Original, a.Current)
	c := &record.Corrected{Why: strings.TrimSpace(in.Why), Happened: now.moved}
	dept := d.department(who.Dept)
	switch b := now.body.(type) {
	case *record.Check:
		n := *b
		n.Shown, n.Set, n.Dwell, n.Speed, n.Pressure, n.Kit, n.Lot = in.Shown, in.Set, in.Dwell, in.Speed, in.Pressure, in.Kit, in.Lot
		if n.Outcome == record.Fail {
			n.Kind, n.Place, n.AtCM = in.Kind, place(in.Place), in.AtCM
		}
		c.Check = &n
	case *record.BadSeal:
		n := *b
		n.Kind, n.Place, n.AtCM, n.Lot, n.Load, n.Found = in.Kind, place(in.Place), in.AtCM, in.Lot, in.Load, in.Found
		at, err := sealedAt(dept, BadSealIn{SealedAt: in.SealedAt, SealedTo: in.SealedTo})
		if err != nil {
			return nil, err
		}
		if !sameMinutes(at, b.SealedAt) {
			n.SealedAt = at
		}
		c.BadSeal = &n
	case *record.Packs:
		n := *b
		n.Count, n.Load, n.Set = in.Count, in.Load, in.Set
		c.Packs = &n
	case *record.PackSettled:
		n := *b
		n.Count, n.Where, n.End, n.Reason = in.Count, in.Where, in.End, in.Reason
		c.Settled = &n
	}
	if in.Note == now.note {
		in.Note = ""
	}
	c.Note = strings.TrimSpace(in.Note) != ""
	return c, d.movedTo(dept, in, now.at, c)
}

// movedTo takes in another time of the entry, if the form names one.
func (d *Desk) movedTo(dept *rules.Department, in *CorrectIn, was record.Span, c *record.Corrected) error {
	if in.When == "" {
		return nil
	}
	from, err := localTime(dept, in.When)
	if err != nil {
		return fault.Field("when", "Type the date and time it happened.")
	}
	to := from
	if in.Until != "" {
		if to, err = localTime(dept, in.Until); err != nil {
			return fault.Field("until", "Type the date and time it ended.")
		}
	}
	at := &record.Span{From: from, To: to, Said: record.Typed}
	if !sameMinutes(at, &was) {
		c.Happened = at
	}
	return nil
}

// sameMinutes reports whether a form, which knows no seconds, still shows a span.
func sameMinutes(typed, was *record.Span) bool {
	if typed == nil || was == nil {
		return typed == was
	}
	const minute = 60 * 1000
	return typed.From/minute == was.From/minute && (typed.To/minute == was.To/minute || typed.To == typed.From)
}

// version is what an entry says by now.
type version struct {
	body  record.Body
	at    record.Span
	moved *record.Span // if its time was corrected
	note  string
}

func (d *Desk) versionOf(original, current *record.Record) version {
	body, _ := original.Content() // Correct refuses what cannot be read
	v := version{body: body, at: original.Happened, note: d.reveal(original.Sealed["note"])}
	newer, _ := current.Content()
	if b, ok := newer.(*record.Corrected); ok {
		v.body = b.Says(body)
		if b.Happened != nil {
			v.at, v.moved = *b.Happened, b.Happened
		}
		if b.Note {
			v.note = d.reveal(current.Sealed["note"])
		}
	}
	return v
}

// EntryView is one entry with all that was corrected of it.
type EntryView struct {
	Frame
	Entry   record.Seq `json:"entry"`
	Version record.Seq `json:"version"` // goes back with a correction
	Line    Line       `json:"line"`
	Later   []Line     `json:"later"` // its corrections, newest first
	Sealer  *Ref       `json:"sealer,omitempty"`
	Problem *Ref       `json:"problem,omitempty"` // Code is its id
	Can     bool       `json:"can_be_corrected"`
	Gone    bool       `json:"gone"`            // taken back
	Asked   string     `json:"asked,omitempty"` // who asks to take it back
	Confirm bool       `json:"confirm"`         // the caller may put the second name
	Stop    bool       `json:"stop"`            // taking it back wants two names
	Form    CorrectIn  `json:"-"`               // as it reads now
}

// Entry draws one entry and its corrections.
func (d *Desk) Entry(who Caller, entry record.Seq) (*EntryView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	original, err := d.entryOf(who, entry)
	if err != nil {
		return nil, err
	}
	if !rules.Correctable(original) {
		return nil, fault.New(fault.Unknown, "There is no page for this entry: it is corrected on the page it came from.")
	}
	view := &EntryView{Entry: entry, Version: entry, Stop: rules.Stopped(original)}
	d.ledger.View(func(v record.View) { d.entryFacts(v, who, original, view) })
	later, err := d.later(original)
	if err != nil {
		return nil, err
	}
	lines := d.lines(append(later, *original))
	view.Line, view.Later = lines[len(lines)-1], lines[:len(lines)-1]
	current := original
	for i := range later {
		if later[i].Seq == view.Version {
			current = &later[i]
		}
	}
	view.Can = !view.Gone && view.Frame.Can("Correct")
	view.Form = d.formOf(original, current, view)
	return view, nil
}

func (d *Desk) entryFacts(v record.View, who Caller, r *record.Record, view *EntryView) {
	view.Frame = d.frame(v, who)
	version := rules.VersionsOf(v, r.Subject).Of(r.Seq)
	view.Version, view.Gone = version.Newest, version.Gone
	if !version.Asked.IsZero() {
		view.Asked = d.name(v, version.Asked)
		view.Confirm = version.Asked != who.Person && view.Frame.Can("ConfirmVoid")
	}
	if s := rules.GetSealer(v, r.Subject.ID); s != nil {
		view.Sealer = &Ref{Code: s.Code, Text: s.Number}
	}
	if p := rules.GetProblem(v, r.Subject.ID); p != nil {
		ref := d.problemRef(v, p)
		view.Problem = &Ref{Code: p.ID.String(), Text: strconv.Itoa(ref.Number)}
	}
}

// later reads the corrections of an entry, newest first, from its chain.
func (d *Desk) later(original *record.Record) (list []record.Record, err error) {
	for r, err := range d.ledger.Chain(original.Subject) {
		if err != nil {
			return nil, err
		}
		if r.Seq <= original.Seq {
			break
		}
		if r.Corrects != record.None && r.Original() == original.Seq && r.Of.IsZero() {
			list = append(list, r)
		}
	}
	return list, nil
}

// formOf fills the form of a correction with what is written now.
func (d *Desk) formOf(original, current *record.Record, view *EntryView) CorrectIn {
	now := d.versionOf(original, current)
	in := CorrectIn{Entry: original.Seq, Version: view.Version}
	in.Note = now.note
	in.When, in.Until = inputTime(&view.Frame, now.at.From), ""
	if now.at.To/60000 != now.at.From/60000 {
		in.Until = inputTime(&view.Frame, now.at.To)
	}
	switch b := now.body.(type) {
	case *record.Check:
		in.Shown, in.Set, in.Dwell, in.Speed, in.Pressure, in.Kit, in.Lot = b.Shown, b.Set, b.Dwell, b.Speed, b.Pressure, b.Kit, b.Lot
		in.Kind, in.Place, in.AtCM = b.Kind, b.Place, b.AtCM
	case *record.BadSeal:
		in.Kind, in.Place, in.AtCM, in.Lot, in.Load, in.Found = b.Kind, b.Place, b.AtCM, b.Lot, b.Load, b.Found
		if b.SealedAt != nil {
			in.SealedAt, in.SealedTo = inputTime(&view.Frame, b.SealedAt.From), inputTime(&view.Frame, b.SealedAt.To)
		}
	case *record.Packs:
		in.Count, in.Load, in.Set = b.Count, b.Load, b.Set
	case *record.PackSettled:
		in.Count, in.Where, in.End, in.Reason = b.Count, b.Where, b.End, b.Reason
	}
	return in
}

func inputTime(f *Frame, t record.Time) string {
	if t == 0 {
		return ""
	}
	return f.In(t).Format("2006-01-02T15:04")
}

// Amended is what became of a record in a list: corrected, taken back, or
// somebody asks to.
type Amended struct {
	Seq   record.Seq  `json:"seq"`
	What  string      `json:"what"` // corrected | taken-back | asked
	Who   string      `json:"who"`
	Asked string      `json:"asked_by,omitempty"` // who had asked for it, if two names were wanted
	At    record.Time `json:"at"`
	Why   string      `json:"why,omitempty"`
	Note  string      `json:"note,omitempty"`
	Body  record.Body `json:"body,omitempty"` // as it reads now
	From  record.Time `json:"from,omitzero"`  // the corrected time
}

// amendLines shows beside each line what became of it.
func (d *Desk) amendLines(records []record.Record, lines []Line) error {
	versions := map[record.Seq]rules.Version{}
	d.ledger.View(func(v record.View) {
		for i := range records {
			r := &records[i]
			if version := rules.VersionsOf(v, r.Subject).Of(r.Seq); version.Newest != r.Seq || version.Asking != 0 {
				versions[r.Seq] = version
			}
		}
	})
	for i := range lines {
		version, ok := versions[lines[i].Seq]
		if !ok {
			continue
		}
		a, err := d.amendedBy(version, lines[i].Body)
		if err != nil {
			return err
		}
		lines[i].Amended = a
	}
	return nil
}

func (d *Desk) amendedBy(version rules.Version, original record.Body) (*Amended, error) {
	seq := version.Newest
	if version.Asking != 0 {
		seq = version.Asking
	}
	r, err := d.ledger.Read(seq)
	if err != nil {
		return nil, err
	}
	a := &Amended{Seq: seq, At: r.At, What: "corrected"}
	d.ledger.View(func(v record.View) { a.Who = d.name(v, r.By) })
	body, err := r.Content()
	switch b := body.(type) {
	case *record.Corrected:
		a.Why, a.Body = b.Why, b.Says(original)
		if b.Note {
			a.Note = d.reveal(r.Sealed["note"])
		}
		if b.Happened != nil {
			a.From = b.Happened.From
		}
	case *record.Voided:
		a.What, a.Why = "taken-back", b.Why
		if version.Asking != 0 {
			a.What = "asked"
		}
	case *record.VoidConfirmed:
		a.What = "taken-back"
		return a, d.askedBy(a, &r)
	}
	return a, err
}

// askedBy adds to a confirmed one who had asked, and why.
func (d *Desk) askedBy(a *Amended, confirmed *record.Record) error {
	if len(confirmed.RestsOn) < 2 {
		return nil
	}
	asked, err := d.ledger.Read(confirmed.RestsOn[1])
	if err != nil {
		return err
	}
	body, err := asked.Content()
	if b, ok := body.(*record.Voided); ok {
		a.Why = b.Why
	}
	d.ledger.View(func(v record.View) { a.Asked = d.name(v, asked.By) })
	return err
}
