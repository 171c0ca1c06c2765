package desk

import (
	"context"
	"encoding/hex"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/proof"
	"tidemark/server/record"
	"tidemark/server/report"
	"tidemark/server/rules"
)

// PackWords say what codes mean in a record pack; the pages have them.
type PackWords interface {
	report.Words
	Line(*Frame, *Line) (title, text string)
	Type(record.SealerType) string
	Material(record.Material) string
	Document(record.Document) string
	Plan(record.Plan) string
	Roles([]record.Role) string
	Standing(*Frame, record.Readiness) string
	Problem(*ProblemRef) string
}

// gathered is what a pack is drawn from: the ledger as it was at one size. Only
// numbers of records are kept; the records are read again where they are drawn.
type gathered struct {
	d          *Desk
	ctx        context.Context
	words      PackWords
	past       ledger.Past
	checkpoint proof.Checkpoint
	signed     []byte
	frame      Frame
	scope      report.Scope
	sealers    []*rules.Sealer
	problems   []*rules.Problem

	parts  map[report.Part][]record.Seq
	chains [][]record.Seq
	mended map[record.Seq]record.Seq
	seqs   []int64
}

// gather folds the past and settles what the pack is about.
func (d *Desk) gather(ctx context.Context, who Caller, in PackIn, words PackWords) (g *gathered, err error) {
	if in.Size == 0 {
		in.Size = d.ledger.Size()
	}
	g = &gathered{d: d, ctx: ctx, words: words}
	if g.checkpoint, g.signed, err = d.ledger.CheckpointAt(in.Size); err != nil {
		return nil, err
	}
	if g.past, err = d.ledger.Past(in.Size); err != nil {
		return nil, err
	}
	dept := rules.GetDepartment(g.past, who.Dept)
	if dept == nil {
		return nil, fault.Field("size", "The department was not there yet.")
	}
	// Without a time of its own the frame writes every time with its date.
	g.frame = Frame{Size: in.Size, Zone: dept.Zone, Place: dept.Name, Day: dept.Day(g.past.Clock()), Dept: dept, Demo: d.demo}
	view := RecordsView{Frame: g.frame, From: in.From, To: in.To}
	if err := view.period(); err != nil {
		return nil, err
	}
	if err := g.choose(in.Sealers); err != nil {
		return nil, err
	}
	g.settle(view.From, view.To)
	return g, nil
}

// choose finds the sealers by their codes.
func (g *gathered) choose(codes []string) error {
	for _, id := range g.frame.Dept.Sealers {
		s := rules.GetSealer(g.past, id)
		if s != nil && (len(codes) == 0 || slices.Contains(codes, s.Code)) {
			g.sealers = append(g.sealers, s)
		}
	}
	if len(g.sealers) == 0 || len(codes) > len(g.sealers) {
		return fault.Field("sealer", "Choose sealers of this department.")
	}
	return nil
}

// settle fills in the scope.
func (g *gathered) settle(from, to record.Date) {
	zone, start := rules.Zone(g.frame.Zone), g.frame.Dept.DayStart
	g.scope = report.Scope{Dept: g.frame.Dept.ID, From: from, To: to, Begin: rules.Begin(zone, start, from), End: rules.Begin(zone, start, to+1),
		Sealers: map[record.ID]bool{}, Pouches: setOf(g.frame.Dept.Pouches), People: setOf(g.frame.Dept.People), Problems: map[record.ID]int{}}
	for _, s := range g.sealers {
		g.scope.Sealers[s.ID] = true
		for _, id := range s.Problems {
			if p := rules.GetProblem(g.past, id); p != nil && g.scope.Open(p) && g.scope.Problems[id] == 0 {
				g.problems = append(g.problems, p)
			}
		}
	}
	slices.SortFunc(g.problems, func(a, b *rules.Problem) int { return a.Number - b.Number })
	g.problems = slices.CompactFunc(g.problems, func(a, b *rules.Problem) bool { return a.ID == b.ID })
	for i, p := range g.problems {
		g.scope.Problems[p.ID] = i
	}
}

func setOf(ids []record.ID) map[record.ID]bool {
	set := map[record.ID]bool{}
	for _, id := range ids {
		set[id] = true
	}
	return set
}

// place reads the ledger once and notes where each record of the pack stands;
// f, if there is one, gets it.
func (g *gathered) place(f func(*record.Record, []byte, report.Place) error) error {
	g.parts, g.chains, g.mended = map[report.Part][]record.Seq{}, make([][]record.Seq, len(g.problems)), map[record.Seq]record.Seq{}
	return g.d.ledger.RangeLines(0, record.Seq(g.past.Size()), func(r record.Record, line []byte) error {
		if err := g.ctx.Err(); err != nil {
			return err
		}
		p, in := g.scope.Of(&r)
		if !in {
			return nil
		}
		g.note(&r, p)
		if f == nil {
			return nil
		}
		return f(&r, line, p)
	})
}

func (g *gathered) note(r *record.Record, p report.Place) {
	add := func(part report.Part) { g.parts[part] = append(g.parts[part], r.Seq) }
	if p.Part != "" {
		add(p.Part)
	}
	if p.Late {
		add(report.Late)
	}
	if p.Mends {
		add(report.Mended)
		g.mended[r.Corrects] = r.Seq
	}
	if p.Problem >= 0 {
		g.chains[p.Problem] = append(g.chains[p.Problem], r.Seq)
	}
}

// book puts the past into words.
func (g *gathered) book() (*report.Book, error) {
	b := &report.Book{Place: g.frame.Place, Mark: fmt.Sprintf("record %d · %x", g.past.Size(), g.checkpoint.Root[:4]),
		AsOf: g.frame.Clock(g.past.Clock()), Demo: g.d.demo, From: g.scope.From, To: g.scope.To,
		Entries: func(p report.Part) iter.Seq2[report.Entry, error] { return g.entries(g.parts[p]) },
		Chain:   func(i int) iter.Seq2[report.Entry, error] { return g.entries(g.chains[i]) }}
	g.things(b)
	if err := g.days(b); err != nil {
		return nil, err
	}
	for _, p := range g.problems {
		short, err := g.problem(p)
		if err != nil {
			return nil, err
		}
		b.Problems = append(b.Problems, short)
	}
	return b, nil
}

// things are what is there: sealers, pouches, plans, people.
func (g *gathered) things(b *report.Book) {
	w, types := g.words, map[record.SealerType]bool{}
	for _, s := range g.sealers {
		b.Sealers = append(b.Sealers, report.Sealer{Number: s.Number, Type: w.Type(s.Type), Asset: s.Asset, Serial: s.Serial, Model: s.Model,
			Place: s.Place, Contract: s.Contract, IFU: w.Document(s.IFU), Since: s.Since,
			State: w.Standing(&g.frame, rules.Standing(g.past, s, g.past.Clock()))})
		if !types[s.Type] {
			types[s.Type] = true
			plan := g.frame.Dept.Plan(s.Type)
			b.Plans = append(b.Plans, report.Plan{Type: w.Type(s.Type), Test: w.Plan(plan), Policy: plan.Policy})
		}
	}
	for _, id := range g.frame.Dept.Pouches {
		if p := rules.GetPouch(g.past, id); p != nil {
			window := ""
			if span, ok := rules.WindowOf(&p.PouchFacts); ok {
				window = span.Low.String() + " to " + span.High.String()
			}
			b.Pouches = append(b.Pouches, report.Pouch{Name: p.Name, Material: w.Material(p.Material), Window: window, IFU: w.Document(p.IFU)})
		}
	}
	for _, id := range g.frame.Dept.People {
		if p := rules.GetPerson(g.past, id); p != nil {
			b.People = append(b.People, report.Person{Name: g.d.reveal(p.Name), Roles: w.Roles(p.Roles), FirstLine: p.FirstLine, Left: p.Left})
		}
	}
}

// days tells what became of each sealer's days, one sealer's records at a time.
func (g *gathered) days(b *report.Book) error {
	view := &RecordsView{Frame: g.frame, From: g.scope.From, To: g.scope.To}
	unused, err := g.d.back(g.past.Head(record.Subject{Type: record.Department, ID: g.scope.Dept}), view.start())
	if err != nil {
		return err
	}
	for _, s := range g.sealers {
		records, err := g.d.back(g.past.Head(sealerSubject(s)), view.start())
		if err != nil {
			return err
		}
		b.Days = append(b.Days, report.Days{Number: s.Number, Rows: view.days(s, records, unused)})
	}
	return nil
}

// problem is a problem in short, its hold list as it was drawn then.
func (g *gathered) problem(p *rules.Problem) (report.Problem, error) {
	d, w := g.d, g.words
	by := func(at record.Time, id record.ID) string {
		if at == 0 {
			return ""
		}
		return g.frame.Clock(at) + ", " + d.name(g.past, id)
	}
	short := report.Problem{Number: p.Number, Title: w.Problem(d.problemRef(g.past, p)), Since: g.frame.Clock(p.OpenedAt),
		Returned: by(p.Returned, p.ReturnedBy), Settled: by(p.SettledAt, p.SettledBy), Closed: by(p.Closed, p.ClosedBy),
		Stayed: !p.NeedsEngineering()}
	s := rules.GetSealer(g.past, p.Sealer)
	if s == nil {
		return short, nil
	}
	short.Sealer = s.Number
	h := rules.History{Now: g.past.Clock(), Begins: s.Begins}
	err := fill(&h, d.ledger.ChainFrom(g.past.Head(sealerSubject(s))), func(h *rules.History) bool { return h.Enough(p) })
	hold := rules.HoldOf(p, h)
	_, ended := leftOf(p, hold)
	settled := 0
	for _, n := range ended {
		settled += n
	}
	short.Hold = fmt.Sprintf("Packs to keep aside: those sealed %s to %s; at least %d on the pack log, an end on record for %d.",
		g.frame.Clock(hold.Counts.From), g.frame.Clock(hold.Counts.To), hold.Total, settled)
	return short, err
}

// entries reads records and puts them into words.
func (g *gathered) entries(seqs []record.Seq) iter.Seq2[report.Entry, error] {
	return func(yield func(report.Entry, error) bool) {
		for _, seq := range seqs {
			e, err := g.entry(seq)
			if err == nil {
				err = g.ctx.Err()
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
}

func (g *gathered) entry(seq record.Seq) (e report.Entry, err error) {
	r, err := g.d.ledger.Read(seq)
	if err != nil {
		return e, err
	}
	body, err := r.Content()
	if err != nil {
		return e, err
	}
	l := g.d.line(g.past, &r, body)
	e = report.Entry{Seq: seq, When: g.frame.Clock(l.From), Sealer: sealerNumber(g.past, &r), Who: l.Who}
	if l.To != l.From {
		e.When += " to " + g.frame.Clock(l.To)
	}
	if l.For != "" {
		e.Who += " for " + l.For
	}
	if l.Late {
		e.Written = g.frame.Clock(l.At)
	}
	if b, ok := body.(*record.NotUsed); ok {
		e.Sealer = g.numbers(b.Sealers)
	}
	if r.Subject.Type == record.Person {
		if p := rules.GetPerson(g.past, r.Subject.ID); p != nil {
			e.Marks = "this is about " + g.d.reveal(p.Name)
		}
	}
	if later, ok := g.mended[seq]; ok {
		e.Marks = fmt.Sprintf("see record %d: corrected or taken back", later)
	}
	e.Title, e.Text = g.words.Line(&g.frame, &l)
	return e, nil
}

// numbers are those of sealers, all if none is named.
func (g *gathered) numbers(ids []record.ID) string {
	var list []string
	for _, id := range ids {
		if s := rules.GetSealer(g.past, id); s != nil {
			list = append(list, s.Number)
		}
	}
	if len(ids) == 0 {
		return "all"
	}
	return strings.Join(list, ", ")
}

// row is a record as the tables have it.
func (g *gathered) row(r *record.Record, p report.Place) *report.Row {
	body, _ := r.Content() // it was placed: it can be read
	l := g.d.line(g.past, r, body)
	row := &report.Row{Record: r, Zone: rules.Zone(g.frame.Zone), Sealer: sealerNumber(g.past, r), Pouch: l.Pouch, Who: l.Who, For: l.For, Note: l.Note,
		GaveNone: r.Effect.Nothing}
	if r.Effect.Readiness != nil {
		row.Left = string(r.Effect.Readiness.State)
	}
	if p.Problem >= 0 {
		row.Problem = strconv.Itoa(g.problems[p.Problem].Number)
	}
	return row
}

// sealedOf writes the private values of a record, those that were removed with
// the day. Mail addresses stay out: nobody needs them to read a pack.
func (g *gathered) sealedOf(r *record.Record, out *report.Lines) error {
	fields := make([]string, 0, len(r.Sealed))
	for field := range r.Sealed {
		if field != "mail" {
			fields = append(fields, field)
		}
	}
	slices.Sort(fields)
	for _, field := range fields {
		v, err := g.d.people.Reveal(r.Sealed[field])
		if err != nil {
			return err
		}
		line := proof.SealedLine{Seq: int64(r.Seq), Field: field}
		switch v.Status {
		case people.Present:
			line.Domain, line.Salt, line.Value = v.Value.Domain, hex.EncodeToString(v.Salt[:]), string(v.Value.Bytes)
		case people.Erased:
			line.Removed = v.At.UTC().Format("2006-01-02")
		default:
			continue
		}
		if err := out.Seal(line); err != nil {
			return err
		}
	}
	return nil
}

// placeAndPeriod stands on every page.
func (g *gathered) placeAndPeriod() string {
	return g.frame.Place + " · " + g.scope.From.UTC().Format("2 Jan 2006") + " to " + g.scope.To.UTC().Format("2 Jan 2006")
}
