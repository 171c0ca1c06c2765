package desk_test

import (
	"context"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/post"
	"tidemark/server/record"
)

// workplace is a desk over real stores, with one person of each role, a pouch
// and two sealers that are approved for it. Sealer 2 is ready.
type workplace struct {
	*desk.Desk
	t     testing.TB
	ctx   context.Context
	now   time.Time
	dev   string
	book  *ledger.Ledger
	shut  func() // closes the stores, once
	staff map[record.Role]desk.Caller

	paper    record.ID
	nonwoven record.ID // what addNonwoven added
	code     string    // of the label of sealer 2
	spare    string    // of that of sealer 4
	approval record.Seq
	problem  record.ID  // what goWrong opened
	report   record.ID  // of the bad seal that opened it
	list     record.Seq // of packs, that came in last
	packs    record.ID  // what logPacks counted
	document record.Seq // what fileDocument named
	waiting  record.Seq // what checkUntrained left
	hook     record.ID  // what addHook added
	key      string     // of the message that parkOne parked
	poster   string     // code that makePoster gave
	left     record.ID  // report that leaveReport left in the inbox
	plan     record.Seq // what planned set
	bad      record.Seq // the record of report
	display  string     // label of the sealer that addDisplay added
	assessed record.Seq // first name that assess put down
	gone     record.ID  // who left
}

func newWorkplace(t testing.TB) *workplace {
	t.Helper()
	return newWorkplaceIn(t, t.TempDir())
}

func newWorkplaceIn(t testing.TB, dir string) *workplace {
	t.Helper()
	w := &workplace{t: t, ctx: t.Context(), staff: map[record.Role]desk.Caller{}}
	w.now = time.Date(2026, 1, 13, 12, 5, 0, 0, time.UTC)
	w.verified(dir) // runs after the stores were closed
	w.open(dir)
	w.begin()
	for _, role := range []record.Role{record.Technician, record.Engineering, record.Surveyor, record.Administrator} {
		w.hire(role)
	}
	w.furnish()
	return w
}

func (w *workplace) clock() time.Time { return w.now }

// open wires the stores as the server does.
func (w *workplace) open(dir string) {
	book, err := ledger.Open(ledger.Options{Dir: dir, Fold: desk.Fold(), Clock: w.clock})
	require.NoError(w.t, err)
	staff, err := people.Open(filepath.Join(dir, "people.db"), people.Options{Pepper: make([]byte, 32),
		Argon: people.Argon{Memory: 64, Time: 1, Threads: 1}})
	require.NoError(w.t, err)
	photos, err := durable.OpenFolder(filepath.Join(dir, "photographs"))
	require.NoError(w.t, err)
	lists, err := durable.OpenFolder(filepath.Join(dir, "pack-lists"))
	require.NoError(w.t, err)
	w.Desk = desk.New(desk.Options{Ledger: book, People: staff, Photos: photos, Lists: lists, Clock: w.clock, PublicURL: "https://tide.example",
		Secrets: drawer{}, Webhooks: post.NewHooks(post.HookOptions{Clock: w.clock})})
	w.book = book
	w.shut = sync.OnceFunc(func() {
		require.NoError(w.t, staff.Verify())
		require.NoError(w.t, staff.Close())
		require.NoError(w.t, book.Close())
	})
	w.t.Cleanup(w.shut)
}

// reopen ends the stores and opens them again, as a restart does.
func (w *workplace) reopen(dir string) {
	w.shut()
	w.open(dir)
}

// verified has the ledger verified when the test is over.
func (w *workplace) verified(dir string) {
	w.t.Cleanup(func() {
		report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: desk.Fold()})
		require.NoError(w.t, err)
		require.Empty(w.t, report.Wrong)
	})
}

func (w *workplace) begin() {
	token, err := w.MakeSetUp()
	require.NoError(w.t, err)
	first, err := w.Begin(w.ctx, desk.FirstIn{DepartmentIn: desk.DepartmentIn{From: w.from(), Name: "Packing room",
		Zone: "America/New_York", DayStart: "05:00"}, Token: token, Person: "V. Costa", PIN: "481516"})
	require.NoError(w.t, err)
	w.dev = first.Device
	w.staff[record.Lead], _ = w.Who(first.Session.Token, first.Device)
}

// hire adds a person of one role, who signs in.
func (w *workplace) hire(role record.Role) {
	added, err := w.AddPerson(w.ctx, w.lead(), desk.PersonIn{From: w.from(), Name: "A " + string(role),
		Roles: []record.Role{role}})
	require.NoError(w.t, err)
	_, device := w.Who("", w.dev)
	signed, err := w.SignIn(w.ctx, device, desk.SignInIn{Person: added.Subject, PIN: added.PIN})
	require.NoError(w.t, err)
	w.staff[role], _ = w.Who(signed.Token, w.dev)
}

// furnish adds pouch and sealers and makes sealer 2 ready.
func (w *workplace) furnish() {
	pouch, err := w.AddPouch(w.ctx, w.lead(), desk.PouchIn{From: w.from(), Name: "Paper/film 20 cm", Material: record.PaperFilm})
	require.NoError(w.t, err)
	w.paper = pouch.Subject
	w.code, w.spare = w.addSealer("2"), w.addSealer("4")
	w.approval = w.approve(w.spare)
	w.approval = w.approve(w.code)
	w.pass()
}

func (w *workplace) addSealer(number string) string {
	added, err := w.AddSealer(w.ctx, w.lead(), desk.SealerIn{From: w.from(), Number: number, Type: record.BarDial})
	require.NoError(w.t, err)
	board, err := w.Board(w.lead())
	require.NoError(w.t, err)
	for _, row := range board.Sealers {
		if row.Number == number {
			return row.Code
		}
	}
	w.t.Fatalf("sealer %s of record %d is not on the board", number, added.Seq)
	return ""
}

func (w *workplace) approve(code string) record.Seq {
	done, err := w.Approve(w.ctx, w.lead(), w.approval6(w.from(), code))
	require.NoError(w.t, err)
	return done.Seq
}

func (w *workplace) approval6(from desk.From, code string) desk.ApproveIn {
	return desk.ApproveIn{From: from, Code: code, Pouch: w.paper, Value: "6", Unit: "mark",
		IFUIn: desk.IFUIn{Title: "IFU of the sealer", Page: "7"}}
}

func (w *workplace) pass() {
	_, err := w.Check(w.ctx, w.lead(), desk.CheckIn{From: w.from(), Code: w.code, Pouch: w.paper, Approval: w.approval,
		Outcome: record.Pass})
	require.NoError(w.t, err)
}

// logPacks counts three packs on sealer 2.
func (w *workplace) logPacks() {
	w.now = w.now.Add(10 * time.Minute)
	done, err := w.LogPacks(w.ctx, w.lead(), desk.PacksIn{From: w.from(), Code: w.code, Pouch: w.paper, Count: 3})
	require.NoError(w.t, err)
	w.packs = done.ID
}

// goWrong has a channel found on sealer 2 after three packs.
func (w *workplace) goWrong() {
	w.logPacks()
	w.now = w.now.Add(10 * time.Minute)
	done, err := w.ReportBadSeal(w.ctx, w.lead(), desk.BadSealIn{From: w.from(), Code: w.code, Kind: record.Channel,
		Pouch: w.paper})
	require.NoError(w.t, err)
	w.problem, w.report, w.bad = done.Problem, done.ID, done.Seq
	require.False(w.t, w.problem.IsZero())
}

func (w *workplace) lead() desk.Caller { return w.staff[record.Lead] }

// from is what a form carries that was drawn just now.
func (w *workplace) from() desk.From { return desk.From{ID: w.NewID(), Seen: w.Size()} }

// in names the open problem.
func (w *workplace) in(from desk.From) desk.ProblemIn {
	return desk.ProblemIn{From: from, Problem: w.problem}
}
