// Package desk is the guarded door: one typed method for each thing that can be
// done or asked, the same for pages, the JSON interface and the demo. A method
// looks who is asking, whether they may, lets the rules decide and has the
// ledger write it down; nothing reaches the ledger around it.
//
// What goes in are structs with the names of form fields; what comes out are
// views: plain values, names revealed, ready to be drawn. The desk draws nothing
// and knows no HTTP.
//
// The file of a use case carries its name: checks.go, badseals.go, problems.go,
// setup.go, people.go, signin.go; the views stand in sealer.go, board.go,
// problemview.go, records.go. The table of who may do what is in guard.go.
package desk

import (
	"crypto/rand"
	"io"
	"log/slog"
	"sync"
	"time"

	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Options are what a Desk needs.
type Options struct {
	Ledger    *ledger.Ledger
	People    *people.Store
	Photos    *durable.Folder
	Lists     *durable.Folder  // of packs
	Clock     func() time.Time // time.Now if nil
	Random    io.Reader        // crypto/rand if nil
	PublicURL string           // what labels and mails point to
	TicketKey []byte           // signs tickets; one that ends with the desk if empty
	Demo      bool
	Secrets   Secrets  // of webhooks; nil: there are none
	Webhooks  Webhooks // nil: there are none
	Post      Postroom // nil: nothing is delivered
	Log       *slog.Logger
	// Erased keeps the list of what was removed for good, after it has grown.
	Erased func(list []byte) error
}

// Desk is the door. Its methods may be called from any goroutine.
type Desk struct {
	ledger  *ledger.Ledger
	people  *people.Store
	photos  *durable.Folder
	lists   *durable.Folder
	listed  lists
	clock   func() time.Time
	random  io.Reader
	url     string
	demo    bool
	log     *slog.Logger
	decode  chan struct{} // one photograph at a time
	packing chan struct{} // one record pack at a time
	tickets []byte        // key of their signatures
	inbox   sync.Mutex    // one report or entry of a phone is laid aside at a time
	bell    bell
	curves  curves
	reads   pace // of calendars

	secrets  Secrets
	webhooks Webhooks
	post     Postroom
	erased   func(list []byte) error
}

// New makes a desk.
func New(o Options) *Desk {
	d := &Desk{ledger: o.Ledger, people: o.People, photos: o.Photos, lists: o.Lists, clock: o.Clock, random: o.Random,
		url: o.PublicURL, demo: o.Demo, erased: o.Erased, log: o.Log, decode: make(chan struct{}, 1), packing: make(chan struct{}, 1)}
	d.secrets, d.webhooks, d.post = o.Secrets, o.Webhooks, o.Post
	if d.clock == nil {
		d.clock = time.Now
	}
	if d.random == nil {
		d.random = rand.Reader
	}
	if d.log == nil {
		d.log = slog.New(slog.DiscardHandler)
	}
	if d.tickets = o.TicketKey; len(d.tickets) == 0 {
		d.tickets = make([]byte, 32)
		_, _ = rand.Read(d.tickets) // never fails
	}
	return d
}

// Fold tells the ledger how to make the state.
func Fold() ledger.Fold {
	return ledger.Fold{Shape: rules.Shape, Evolve: rules.Evolve, Decode: rules.Decode}
}

// NewID makes the id of a form or of a command.
func (d *Desk) NewID() record.ID {
	var id record.ID
	if _, err := io.ReadFull(d.random, id[:]); err != nil {
		panic("desk: no randomness: " + err.Error()) // nothing can go on without
	}
	return id
}

// now is the clock, as the ledger would use it.
func (d *Desk) now() record.Time { return record.TimeOf(d.clock()) }

// Now is the time by the desk's clock.
func (d *Desk) Now() time.Time { return d.clock() }

// PublicURL is what labels and mails point to.
func (d *Desk) PublicURL() string { return d.url }

// Demo reports whether this is an invented hospital.
func (d *Desk) Demo() bool { return d.demo }
