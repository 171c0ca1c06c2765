package people

import "sync"

// book holds rows of a bucket in memory, for what every request asks. Its zero
// value is an empty book.
type book[V any] struct {
	mu   sync.RWMutex
	rows map[[32]byte]V
}

func (b *book[V]) get(key [32]byte) (V, bool) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	v, ok := b.rows[key]
	return v, ok
}

func (b *book[V]) put(key [32]byte, v V) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rows == nil {
		b.rows = map[[32]byte]V{}
	}
	b.rows[key] = v
}

// trim deletes rows until no more than limit are left; which ones is left to
// chance.
func (b *book[V]) trim(limit int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for key := range b.rows {
		if len(b.rows) <= limit {
			return
		}
		delete(b.rows, key)
	}
}

func (b *book[V]) delete(key [32]byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.rows, key)
}

// drop removes the rows that gone names.
func (b *book[V]) drop(gone func(V) bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for key, v := range b.rows {
		if gone(v) {
			delete(b.rows, key)
		}
	}
}

func (b *book[V]) clear() {
	b.mu.Lock()
	defer b.mu.Unlock()
	clear(b.rows)
}

// all returns the rows in no order.
func (b *book[V]) all() []V {
	b.mu.RLock()
	defer b.mu.RUnlock()
	list := make([]V, 0, len(b.rows))
	for _, v := range b.rows {
		list = append(list, v)
	}
	return list
}
