package demo

import (
	"context"
	"crypto/sha256"
	"fmt"
	"math/rand/v2"
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// house is the invented department while its history is made. Its context and
// its first error are kept here, so that the script reads as one: after an
// error nothing more is told.
type house struct {
	chronicle
	ctx   context.Context
	desk  *desk.Desk
	clock *Clock
	luck  *rand.Rand
	err   error

	token   string // of the device that all use
	callers [len(staff)]desk.Caller
	codes   [len(sealers)]string
	entries int
	onPaper paperDay
}

// seed makes the minutes and the numbers of packs the same in every demo.
const seed = 20_417

func newHouse(ctx context.Context, d *desk.Desk, c *Clock, now time.Time) *house {
	return &house{chronicle: newChronicle(now), ctx: ctx, desk: d, clock: c,
		luck: rand.New(rand.NewPCG(seed, seed))}
}

// keep keeps the first error with what it happened at, and reports whether
// there is none.
func (h *house) keep(what string, err error) bool {
	if err != nil && h.err == nil {
		at := h.clock.Now().In(h.zone).Format("2 Jan 15:04")
		h.err = fmt.Errorf("%s on %s: %w", what, at, err)
	}
	return h.err == nil
}

// open opens the department with its first lead, on the device that all use.
func (h *house) open() {
	setUp, err := h.desk.MakeSetUp()
	if !h.keep("make set-up link", err) {
		return
	}
	lead := staff[castellune]
	first, err := h.desk.Begin(h.ctx, desk.FirstIn{DepartmentIn: department("begin", ""),
		Token: setUp, Person: lead.name, PIN: lead.pin, Device: "Packing room tablet"})
	if !h.keep("open department", err) {
		return
	}
	h.token = first.Device
	h.callers[castellune], _ = h.desk.Who(first.Session.Token, first.Device)
}

func department(entry, reason string) desk.DepartmentIn {
	return desk.DepartmentIn{From: desk.From{ID: entryID(entry)}, Name: Department,
		Zone: zoneName, DayStart: "05:00", PackLog: true, Engineering: "Clinical engineering",
		Fallback: "Wrap it or use a container, " +
			"and tell the lead.", Reason: reason}
}

// tellEngineering says who is written to first.
func (h *house) tellEngineering() {
	in := department("mail to engineering", "Who is written to first")
	in.MailTo = brannock.id()
	_, err := h.desk.ChangeDepartment(h.ctx, h.callers[castellune], in)
	h.keep("change department", err)
}

// findCodes reads the codes of the labels off the board.
func (h *house) findCodes() {
	board, err := h.desk.Board(h.callers[castellune])
	if !h.keep("look at board", err) {
		return
	}
	for _, row := range board.Sealers {
		for s := range sealers {
			if sealers[s].Number == row.Number {
				h.codes[s] = row.Code
			}
		}
	}
}

// entryID makes the id of an entry from what it is, the same in every demo.
func entryID(what string) (id record.ID) {
	sum := sha256.Sum256([]byte("tidemark demo: " + what))
	copy(id[:], sum[:])
	return id
}

// from is what a form carries that was drawn at a size of the ledger.
func (h *house) from(seen int64) desk.From {
	h.entries++
	return desk.From{ID: entryID(fmt.Sprint("entry ", h.entries)), Seen: seen}
}

// as is one of the staff at work.
func (h *house) as(w who) hand { return hand{h, h.callers[w]} }

// whoever is one of those on duty at a moment.
func (h *house) whoever(t time.Time) hand {
	on := onDuty(t.In(h.zone).Hour())
	return h.as(on[h.luck.IntN(len(on))])
}
