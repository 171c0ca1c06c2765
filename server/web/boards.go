package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"sync"
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// boards keeps what open boards show. A board is drawn once for a change and
// department, however many are open; whoever asks gets the same bytes.
type boards struct {
	moment func() desk.Moment
	draw   func(dept record.ID) (*drawnBoard, error)
	listen func() (changed <-chan struct{}, stop func())

	mu    sync.Mutex
	rooms map[record.ID]*boardRoom
}

// boardRoom is the board of one department.
type boardRoom struct {
	mu    sync.Mutex // one drawing at a time
	drawn *drawnBoard

	open sync.Mutex // guards what follows
	all  map[chan struct{}]struct{}
	quit chan struct{} // ends the watching, once nobody is left
}

// drawnBoard is a board as it stands in the page, and how it goes over the wire.
type drawnBoard struct {
	desk.Moment
	Clock  string // when it was drawn, as a person reads it
	Empty  bool   // no sealer yet
	says   [sha256.Size]byte
	html   []byte
	zipped []byte
}

// boardKeeps is how long a drawn board is good without a change: time alone makes
// a sealer wait for a check.
const boardKeeps = 30 * time.Second

func (b *boards) room(dept record.ID) *boardRoom {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rooms == nil {
		b.rooms = map[record.ID]*boardRoom{}
	}
	if b.rooms[dept] == nil {
		b.rooms[dept] = &boardRoom{all: map[chan struct{}]struct{}{}}
	}
	return b.rooms[dept]
}

// at returns the board of a department as it is, or as it was at a size that an
// open board was told of: 400 of them do not ask for 400 drawings while others
// go on writing.
func (b *boards) at(dept record.ID, told int64) (*drawnBoard, error) {
	r := b.room(dept)
	r.mu.Lock()
	defer r.mu.Unlock()
	now := b.moment()
	if d := r.drawn; d != nil {
		age := now.Now.Sub(d.Now)
		fresh := d.Size == now.Size || told > 0 && d.Size >= told
		if fresh && d.Rings == now.Rings && age >= 0 && age < boardKeeps {
			return d, nil
		}
	}
	d, err := b.draw(dept)
	if err == nil {
		d.Moment = now // what came meanwhile is drawn next time
		r.drawn = d
	}
	return d, err
}

// join opens a board: its channel gets a signal whenever it may have changed.
// Several changes may make one signal, so nobody waits for a slow reader.
func (b *boards) join(dept record.ID) (signal <-chan struct{}, leave func()) {
	r := b.room(dept)
	c := make(chan struct{}, 1)
	r.open.Lock()
	defer r.open.Unlock()
	if r.all[c] = struct{}{}; len(r.all) == 1 {
		r.quit = make(chan struct{})
		changed, stop := b.listen()
		go b.watch(dept, r, changed, stop, r.quit)
	}
	return c, sync.OnceFunc(func() {
		r.open.Lock()
		defer r.open.Unlock()
		if delete(r.all, c); len(r.all) == 0 {
			close(r.quit)
		}
	})
}

// watch draws the board after each change, and now and then, and tells all that
// are open. Between two drawings lies a pause: a burst makes one.
func (b *boards) watch(dept record.ID, r *boardRoom, changed <-chan struct{}, stop func(), quit <-chan struct{}) {
	defer stop()
	now := time.NewTicker(boardKeeps)
	defer now.Stop()
	for {
		select {
		case <-changed:
		case <-now.C:
		case <-quit:
			return
		}
		_, _ = b.at(dept, 0) // those who ask for it hear what is wrong
		r.tell()
		select {
		case <-time.After(streamPause):
		case <-quit:
			return
		}
	}
}

func (r *boardRoom) tell() {
	r.open.Lock()
	defer r.open.Unlock()
	for c := range r.all {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// drawBoardOf draws the board of a department.
func (h *house) drawBoardOf(dept record.ID) (*drawnBoard, error) {
	v, err := h.desk.BoardOf(dept)
	if err != nil {
		return nil, err
	}
	p := boardShown(v)
	d := &drawnBoard{Clock: p.Clock, Empty: len(v.Sealers) == 0}
	var b bytes.Buffer
	if err := h.pages["board"].ExecuteTemplate(&b, "part", p); err != nil {
		return nil, fmt.Errorf("draw board: %w", err)
	}
	d.html, d.zipped = b.Bytes(), squeezed(b.Bytes())
	// The time on it changes each minute; a board that says the same otherwise has
	// not changed.
	p.Clock = ""
	var same bytes.Buffer
	if err := h.pages["board"].ExecuteTemplate(&same, "part", p); err != nil {
		return nil, fmt.Errorf("draw board: %w", err)
	}
	d.says = sha256.Sum256(same.Bytes())
	return d, nil
}

func squeezed(b []byte) []byte {
	var out bytes.Buffer
	z, _ := gzip.NewWriterLevel(&out, gzip.BestSpeed) // the level is one that there is
	_, _ = z.Write(b)                                 // into memory: never fails
	_ = z.Close()
	return out.Bytes()
}
