package desk

import "sync"

// bell tells open pages of what leaves no record: a report in the inbox.
type bell struct {
	mu   sync.Mutex
	all  map[chan struct{}]struct{}
	rung int64 // how often
}

func (b *bell) ring() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.rung++
	for c := range b.all {
		signal(c)
	}
}

func (b *bell) rings() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.rung
}

// listen has c signalled by the bell and by another channel, until stop.
func (b *bell) listen(other <-chan struct{}, stopOther func()) (<-chan struct{}, func()) {
	c, gone := make(chan struct{}, 1), make(chan struct{})
	b.mu.Lock()
	if b.all == nil {
		b.all = map[chan struct{}]struct{}{}
	}
	b.all[c] = struct{}{}
	b.mu.Unlock()
	go func() {
		for {
			select {
			case <-other:
				signal(c)
			case <-gone:
				return
			}
		}
	}()
	var once sync.Once
	return c, func() {
		once.Do(func() {
			stopOther()
			close(gone)
			b.mu.Lock()
			defer b.mu.Unlock()
			delete(b.all, c)
		})
	}
}

func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
