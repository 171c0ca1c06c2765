package post

import (
	"context"
	"slices"
	"sync"
)

// Tray is a Sender that keeps letters in memory instead of sending them, for
// trying things out without a mail server. Its zero value is empty.
type Tray struct {
	mu      sync.Mutex
	letters []Letter
}

const traySize = 200

// Send keeps a letter; the oldest goes when there are more than 200.
func (t *Tray) Send(_ context.Context, l Letter) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.letters) == traySize {
		t.letters = slices.Delete(t.letters, 0, 1)
	}
	t.letters = append(t.letters, l)
	return nil
}

// Letters returns what is kept, the newest first.
func (t *Tray) Letters() []Letter {
	t.mu.Lock()
	defer t.mu.Unlock()
	list := slices.Clone(t.letters)
	slices.Reverse(list)
	return list
}
