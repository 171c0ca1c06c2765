package server

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"tidemark/server/durable"
	"tidemark/server/post"
	"tidemark/server/record"
)

// hookSecrets keeps what webhooks are signed with, a file for each in a folder of
// the keys: they are in no backup. A line is a secret and, of one that was
// replaced, the second after which it is not used any more.
type hookSecrets struct {
	dir    string
	clock  func() time.Time
	random io.Reader
}

// overlap is how long what is sent is signed with the old secret, too.
const overlap = 24 * time.Hour

func newHookSecrets(keys string, clock func() time.Time, random io.Reader) *hookSecrets {
	s := &hookSecrets{filepath.Join(keys, "webhooks"), clock, random}
	if s.clock == nil {
		s.clock = time.Now
	}
	if s.random == nil {
		s.random = rand.Reader
	}
	return s
}

// Secrets returns the secrets of a webhook, the newest first.
func (s *hookSecrets) Secrets(hook record.ID) (list []string, err error) {
	b, err := os.ReadFile(filepath.Join(s.dir, hook.String()))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read secret of webhook: %w", err)
	}
	for line := range strings.Lines(string(b)) {
		secret, until, old := strings.Cut(strings.TrimSpace(line), " ")
		if seconds, err := strconv.ParseInt(until, 10, 64); old && (err != nil || s.clock().Unix() >= seconds) {
			continue
		}
		if secret != "" {
			list = append(list, secret)
		}
	}
	return list, nil
}

// Renew makes a new secret; the one before counts for another day.
func (s *hookSecrets) Renew(hook record.ID) (string, error) {
	before, err := s.Secrets(hook)
	if err != nil {
		return "", err
	}
	secret, err := post.NewSecret(s.random)
	if err != nil {
		return "", err
	}
	text := secret + "\n"
	if len(before) > 0 {
		text += before[0] + " " + strconv.FormatInt(s.clock().Add(overlap).Unix(), 10) + "\n"
	}
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return "", fmt.Errorf("make folder of secrets: %w", err)
	}
	return secret, durable.WriteFile(s.dir, hook.String(), []byte(text))
}

// Forget removes the secrets of a webhook.
func (s *hookSecrets) Forget(hook record.ID) error {
	if err := os.Remove(filepath.Join(s.dir, hook.String())); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("forget secret of webhook: %w", err)
	}
	return nil
}

// postroom lets the desk see the worker, which is made after it.
type postroom struct{ worker atomic.Pointer[post.Worker] }

func (p *postroom) Waiting() []post.Wait {
	if w := p.worker.Load(); w != nil {
		return w.Waiting()
	}
	return nil
}

func (p *postroom) Wake() {
	if w := p.worker.Load(); w != nil {
		w.Wake()
	}
}

// Times between two looks at who is to be told next: at most, and at least.
const (
	callsIdle  = time.Minute
	callsPause = 200 * time.Millisecond
)

// callOn has whoever is next on a route told when they are due, until ctx ends.
func (s *Server) callOn(ctx context.Context) {
	signal, stop := s.ledger.Watch()
	defer stop()
	for ctx.Err() == nil {
		next, err := s.Desk.Escalate(ctx)
		if err != nil && ctx.Err() == nil {
			s.log.Error("tell the next on a route", "error", err)
		}
		wait := callsIdle
		if next != 0 {
			wait = min(wait, max(callsPause, next.Time().Sub(s.Desk.Now())))
		}
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
		case <-signal:
			pause(ctx, callsPause) // a burst is looked at once
		case <-timer.C:
		}
		timer.Stop()
	}
}

func pause(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}
