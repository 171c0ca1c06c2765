// Package server joins the rooms into one process: it opens the data folder,
// wires ledger, people, photographs, desk and pages together and serves them.
// It is the only place that knows all of them; see DEVELOPERS.md for the house.
package server

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/VictoriaMetrics/metrics"

	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/post"
	"tidemark/server/web"
)

// Config is everything a server takes from outside: no other setting, no file.
type Config struct {
	Dir       string           // data folder; made if missing
	Keys      string           // folder of keys; Dir/keys if empty
	PublicURL string           // scheme, host and port that labels carry
	Proxies   []netip.Prefix   // whose X-Forwarded-For is believed
	Demo      bool             // an invented hospital
	Cert, Key string           // files of the certificate and its key; empty: no TLS
	Networks  string           // private networks that webhooks may lead to, see post.ParseNetworks
	Loopback  bool             // webhooks may lead to this machine
	Mail      string           // way to a mail server, see post.ParseMail; empty: mails wait
	NewKey    bool             // the signing key was lost: go on with a new one
	Clock     func() time.Time // time.Now if nil
	Random    io.Reader        // crypto/rand if nil
	Argon     people.Argon     // cost of a PIN; people.DefaultArgon if zero
	Log       *slog.Logger     // nothing is logged if nil
}

// Server is an open data folder and the pages on it.
type Server struct {
	Desk    *desk.Desk
	Handler http.Handler
	config  Config
	tickets []byte // key of their signatures
	ledger  *ledger.Ledger
	people  *people.Store
	photos  *durable.Folder
	lists   *durable.Folder // of packs
	worker  *post.Worker
	hooks   *post.Hooks
	room    postroom
	tray    *post.Tray    // mails of a demo, kept instead of sent
	failed  chan error    // what the ledger stopped for
	closing chan struct{} // closed when the server is to end
	care    care
	metrics *metrics.Set
	commits *metrics.Histogram // seconds
	groups  *metrics.Histogram // records of a commit
	log     *slog.Logger
}

// New opens the data folder. A folder that another process holds, that is
// damaged, or that belongs to a demo, is refused with a fault that says what to
// do.
func New(c Config) (s *Server, err error) {
	s = &Server{config: c, failed: make(chan error, 1), closing: make(chan struct{}), log: c.Log}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	if err := c.check(); err != nil {
		return s, err
	}
	if err := os.MkdirAll(c.Dir, 0o700); err != nil {
		return s, fault.Wrap(err, fault.Invalid, "The data folder %s cannot be made or written", c.Dir)
	}
	s.newMetrics()
	if err := s.open(); errors.Is(err, os.ErrPermission) {
		return s, fault.Wrap(err, fault.Forbidden, "The data folder %s belongs to another user. Start as that user, or give it to this one", c.Dir)
	} else if err != nil {
		return s, err
	}
	if err := s.keepURL(); err != nil {
		return s, fmt.Errorf("keep public address: %w", err)
	}
	if s.photos, err = durable.OpenFolder(filepath.Join(c.Dir, "photographs")); err != nil {
		return s, fmt.Errorf("open photographs: %w", err)
	}
	if s.lists, err = durable.OpenFolder(filepath.Join(c.Dir, ledger.ListsDir)); err != nil {
		return s, fmt.Errorf("open lists of packs: %w", err)
	}
	if _, err := s.lists.Sweep(); err != nil {
		return s, fmt.Errorf("sweep lists of packs: %w", err)
	}
	networks, err := post.ParseNetworks(c.Networks)
	if err != nil {
		return s, err
	}
	s.hooks = post.NewHooks(post.HookOptions{Guard: post.Guard{Loopback: c.Demo || c.Loopback, Private: networks}, Clock: c.Clock})
	s.Desk = desk.New(desk.Options{Ledger: s.ledger, People: s.people, Photos: s.photos, Lists: s.lists, Clock: c.Clock, Random: c.Random,
		PublicURL: c.PublicURL, TicketKey: s.tickets, Demo: c.Demo, Erased: s.keepErased, Log: s.log,
		Secrets: newHookSecrets(s.keys(), c.Clock, c.Random), Webhooks: s.hooks, Post: &s.room})
	if err := s.eraseAgain(); err != nil {
		return s, fmt.Errorf("remove again what was removed: %w", err)
	}
	if err := s.delivery(); err != nil {
		return s, err
	}
	return s, s.pages("")
}

// check refuses what cannot work before a folder is touched.
func (c *Config) check() error {
	if _, err := web.ParsePublic(c.PublicURL); err != nil {
		return err
	}
	if c.Cert != "" {
		if _, err := tls.LoadX509KeyPair(c.Cert, c.Key); err != nil {
			return fault.Wrap(err, fault.Invalid, "The certificate %s cannot be used with the key %s", c.Cert, c.Key)
		}
	}
	if c.Mail != "" {
		if _, err := post.ParseMail(c.Mail); err != nil {
			return err
		}
	}
	return nil
}

// pages makes the handler. In a demo every browser counts as one device.
func (s *Server) pages(demoDevice string) (err error) {
	o := web.Options{Desk: s.Desk, PublicURL: s.config.PublicURL, Proxies: s.config.Proxies,
		DemoDevice: demoDevice, Ready: s.ready, Metrics: s.writeMetrics, Closing: s.closing, Log: s.log}
	if s.tray != nil {
		o.Letters = tray{s.tray}
	}
	s.Handler, err = web.New(o)
	return err
}

// open opens the two stores, the ledger first: it is the one that says whether
// the folder may be served.
func (s *Server) open() (err error) {
	c, keys := s.config, s.keys()
	s.ledger, err = ledger.Open(ledger.Options{Dir: c.Dir, Keys: keys, Fold: desk.Fold(), Demo: c.Demo, NewKey: c.NewKey,
		Clock: c.Clock, Random: c.Random, Log: s.log, Stored: s.stored,
		Fail: func(err error) { s.failed <- err }})
	if err != nil {
		return err
	}
	pepper, err := secretIn(keys, "pepper", c.Random)
	if err != nil {
		return fmt.Errorf("read pepper: %w", err)
	}
	if s.tickets, err = secretIn(keys, "tickets", c.Random); err != nil {
		return fmt.Errorf("read key of tickets: %w", err)
	}
	s.people, err = people.Open(filepath.Join(c.Dir, "people.db"), people.Options{Rand: c.Random, Pepper: pepper, Argon: c.Argon})
	return err
}

// keys is the folder of the keys.
func (s *Server) keys() string {
	if s.config.Keys != "" {
		return s.config.Keys
	}
	return filepath.Join(s.config.Dir, "keys")
}

// secretSize is how many bytes a secret has.
const secretSize = 32

// secretIn reads one of the secrets, what PINs are hashed with or what tickets
// are signed with, or makes it.
func secretIn(keys, name string, random io.Reader) ([]byte, error) {
	b, err := os.ReadFile(filepath.Join(keys, name))
	if err == nil && len(b) < secretSize {
		return nil, fault.New(fault.Internal, "The key %s is cut short. Put it back from where you keep it; everybody could guess it as it is", filepath.Join(keys, name))
	}
	if err == nil || !errors.Is(err, os.ErrNotExist) {
		return b, err
	}
	if err := os.MkdirAll(keys, 0o700); err != nil {
		return nil, err
	}
	if random == nil {
		random = rand.Reader
	}
	secret := make([]byte, secretSize)
	if _, err := io.ReadFull(random, secret); err != nil {
		return nil, err
	}
	return secret, durable.WriteFile(keys, name, secret)
}

// ready tells why the server should not be used.
func (s *Server) ready() error {
	st := s.ledger.Status()
	if st.Stopped != nil {
		return fmt.Errorf("nothing is stored any more: %w", st.Stopped)
	}
	if st.Back != nil {
		return st.Back
	}
	if d := s.care.damage.Load(); d != nil {
		return d
	}
	if gap := st.Latest.Time().Sub(s.Desk.Now()); gap > desk.ClockBehind {
		return fmt.Errorf("the clock of this machine is %s behind the newest record; put it right, or, if it ran ahead before "+
			"and is right now, let an administrator say so on the page Care of the records", gap.Round(time.Second))
	}
	return nil
}

// Run serves on a listener until the context ends, the ledger stops in doubt or
// the listener breaks.
func (s *Server) Run(ctx context.Context, l net.Listener) error {
	web := &http.Server{Handler: s.Handler, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 60 * time.Second,
		WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10,
		ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn)}
	work, rest := context.WithCancel(ctx)
	var working sync.WaitGroup
	working.Go(func() { s.worker.Run(work) })
	working.Go(func() { s.callOn(work) })
	working.Go(func() { s.takeCare(work) })
	defer working.Wait()
	defer rest()
	ended := make(chan error, 2)
	console, err := s.listenConsole()
	if err != nil {
		return fmt.Errorf("open console: %w", err)
	}
	inside := &http.Server{Handler: s.console(), ReadHeaderTimeout: 10 * time.Second}
	defer inside.Close()
	go func() { ended <- inside.Serve(console) }()
	size, root := s.ledger.Root()
	s.log.Info("serving", "address", l.Addr().String(), "tls", s.config.Cert != "", "public_url", s.config.PublicURL,
		"data", s.config.Dir, "records", size, "root", fmt.Sprintf("%x", root[:4]))
	go func() {
		if s.config.Cert != "" {
			ended <- web.ServeTLS(l, s.config.Cert, s.config.Key)
			return
		}
		ended <- web.Serve(l)
	}()
	select {
	case err := <-ended:
		return err
	case err := <-s.failed:
		_ = web.Close()
		return fault.Wrap(err, fault.NotConfirmed, "A record could not be stored for sure; start again, nothing that was acknowledged is lost")
	case <-ctx.Done():
		s.log.Info("stopping", "records", s.ledger.Size())
		close(s.closing)
		stop, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		if err := web.Shutdown(stop); !errors.Is(err, context.DeadlineExceeded) {
			return err
		}
		return web.Close() // a browser holds connections on which it has asked nothing yet
	}
}

// Close ends the stores. What was acknowledged needs no Close.
func (s *Server) Close() error {
	var errs []error
	if s.people != nil {
		errs = append(errs, s.people.Close())
	}
	if s.ledger != nil {
		errs = append(errs, s.ledger.Close())
	}
	return errors.Join(errs...)
}
