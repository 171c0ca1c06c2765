package ledger

import (
	"sync"

	"tidemark/server/proof"
)

// rootMemo keeps the roots at some sizes: most of what is seen is seen by many.
type rootMemo struct {
	mu    sync.Mutex
	roots map[int64]proof.Hash
}

const keptRoots = 4096

func (m *rootMemo) get(size int64) proof.Hash {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.roots[size]
}

func (m *rootMemo) put(size int64, root proof.Hash) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.roots == nil || len(m.roots) >= keptRoots {
		m.roots = map[int64]proof.Hash{}
	}
	m.roots[size] = root
}
