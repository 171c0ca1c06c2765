package server

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// While it serves, the server reads slowly through all that is stored, so that
// damage is found before somebody asks for just that record, and once a day it
// forgets what no record has named for a day.

const (
	careAfter  = 10 * time.Minute // after the start
	careEvery  = 24 * time.Hour
	orphanAge  = 24 * time.Hour // until something that no record names is forgotten
	scrubsOver = 6 * time.Hour  // how long one pass of reading takes at least
)

// care is what became of it.
type care struct {
	scrubs, swept, damaged atomic.Int64
	lastScrub              atomic.Int64 // Unix seconds
	damage                 atomic.Pointer[ledger.Damage]
}

// takeCare runs until the context ends.
func (s *Server) takeCare(ctx context.Context) {
	for wait := careAfter; ; wait = careEvery {
		select {
		case <-ctx.Done():
			return
		case <-time.After(wait):
		}
		began := time.Now()
		if err := s.sweep(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("forget what no record names", "error", err)
		}
		pace := max(200, int(s.ledger.Size()/int64(scrubsOver.Seconds())))
		if err := s.scrub(ctx, pace); err != nil && ctx.Err() == nil {
			s.log.Error("read through all that is stored", "error", err)
		}
		if ctx.Err() == nil {
			s.log.Info("read through all that is stored", "records", s.ledger.Size(), "damaged", s.care.damaged.Load(),
				"took", time.Since(began).Round(time.Second))
		}
	}
}

// scrub reads every record and photograph once.
func (s *Server) scrub(ctx context.Context, perSecond int) error {
	err := s.ledger.Scrub(ctx, ledger.Scrub{PerSecond: perSecond, Photos: s.photos, Found: func(d *ledger.Damage) {
		s.care.damaged.Add(1)
		s.care.damage.CompareAndSwap(nil, d)
		s.log.Error("damage", "what", d.What, "do", d.Do)
	}})
	if err == nil {
		s.care.scrubs.Add(1)
		s.care.lastScrub.Store(time.Now().Unix())
	}
	return err
}

// sweep forgets private values and photographs that no record has named for a
// day: their record was refused, or its sender gave up.
func (s *Server) sweep(ctx context.Context) error {
	before := s.Desk.Now().Add(-orphanAge)
	used := &usedValues{sealed: map[[32]byte]bool{}, photos: map[string]bool{}}
	if err := used.read(ctx, s.ledger, 0); err != nil {
		return err
	}
	var old []string
	err := s.photos.Walk(func(name string, info fs.FileInfo) error {
		if info.ModTime().Before(before) && !used.photos[name] {
			old = append(old, name)
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	if err := used.read(ctx, s.ledger, used.to); err != nil { // what came meanwhile
		return err
	}
	for _, name := range old {
		if used.photos[name] {
			continue
		}
		if err := s.photos.Delete(name); err != nil {
			return err
		}
		s.care.swept.Add(1)
	}
	n, err := s.people.Sweep(before, func(c [32]byte) bool { return used.sealed[c] })
	s.care.swept.Add(int64(n))
	return err
}

// usedValues are what the records name outside of themselves.
type usedValues struct {
	sealed map[[32]byte]bool
	photos map[string]bool
	to     record.Seq
}

func (u *usedValues) read(ctx context.Context, book *ledger.Ledger, from record.Seq) error {
	u.to = record.Seq(book.Size())
	return book.Range(from, u.to, func(r record.Record) error {
		for _, c := range r.Sealed {
			u.sealed[c] = true
		}
		if r.Kind == "photograph" {
			body, err := r.Content()
			if err != nil {
				return err
			}
			u.photos[body.(*record.Photograph).SHA256] = true
		}
		return ctx.Err()
	})
}

// erasedFile lists, as digests that tell nothing, what was removed for good. It is
// for the day an older backup has to be restored: that one does not know of it yet.
const erasedFile = "removed"

func (s *Server) keepErased(list []byte) error {
	return durable.WriteFile(s.config.Dir, erasedFile, list)
}

// eraseAgain removes again, before anything is served, what was removed before: by
// the ledger's word, and by a list that a restore was given.
func (s *Server) eraseAgain() error {
	list, err := os.ReadFile(filepath.Join(s.config.Dir, erasedFile))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("read list of what was removed: %w", err)
	}
	if err := s.Desk.EraseListed(string(list)); err != nil {
		return err
	}
	return s.Desk.EraseAgain()
}

// CareNow does at once and at full speed what is otherwise done slowly once a day.
func (s *Server) CareNow(ctx context.Context) error {
	return errors.Join(s.sweep(ctx), s.scrub(ctx, 1<<30))
}
