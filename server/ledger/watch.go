package ledger

import "sync"

// watchers are those who want to know that something was stored.
type watchers struct {
	mu  sync.Mutex
	all map[chan struct{}]struct{}
}

// Watch returns a channel that gets a signal after a commit; several commits
// may make one. Stop ends it and may be called more than once.
func (l *Ledger) Watch() (signal <-chan struct{}, stop func()) {
	return l.watch.join()
}

func (w *watchers) join() (<-chan struct{}, func()) {
	c := make(chan struct{}, 1)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.all == nil {
		w.all = map[chan struct{}]struct{}{}
	}
	w.all[c] = struct{}{}
	return c, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.all, c)
	}
}

func (w *watchers) tell() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.all {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
