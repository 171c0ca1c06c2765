package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"golang.org/x/sys/unix"

	"tidemark/labels"
	"tidemark/server/fault"
	"tidemark/server/ledger"
)

// consoleFile is the socket in the data folder through which commands reach a
// server that is running on it: a second process cannot open the folder itself.
// Only root and the server's own user may use it, and it opens no path that a
// client names: what is asked for is streamed.
const consoleFile = "console"

// listenConsole opens the socket. The folder's lock is held by now, so a socket
// that lies there was left by a process that is gone.
func (s *Server) listenConsole() (net.Listener, error) {
	name, done, err := socketName(s.config.Dir)
	if err != nil {
		return nil, err
	}
	defer done()
	if err := os.Remove(filepath.Join(s.config.Dir, consoleFile)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	l, err := net.Listen("unix", name)
	if err != nil {
		return nil, err
	}
	l.(*net.UnixListener).SetUnlinkOnClose(false) // the short name is gone by then
	if err := os.Chmod(filepath.Join(s.config.Dir, consoleFile), 0o600); err != nil {
		return nil, errors.Join(err, l.Close())
	}
	return ownOnly{l}, nil
}

// socketName is a short name of the socket: an address holds 108 bytes, which a
// deep folder exceeds. It is good until done is called.
func socketName(dir string) (name string, done func(), err error) {
	f, err := os.Open(dir)
	if err != nil {
		return "", nil, err
	}
	return filepath.Join("/proc/self/fd", strconv.Itoa(int(f.Fd())), consoleFile), func() { _ = f.Close() }, nil
}

// ownOnly refuses everybody but root and the server's own user.
type ownOnly struct{ net.Listener }

// Accept waits for the next connection of somebody allowed.
func (l ownOnly) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if peer, err := peerOf(c.(*net.UnixConn)); err == nil && (peer == 0 || peer == uint32(os.Getuid())) {
			return c, nil
		}
		_ = c.Close()
	}
}

func peerOf(c *net.UnixConn) (uid uint32, err error) {
	raw, err := c.SyscallConn()
	if err != nil {
		return 0, err
	}
	var cred *unix.Ucred
	ctlErr := raw.Control(func(fd uintptr) { cred, err = unix.GetsockoptUcred(int(fd), unix.SOL_SOCKET, unix.SO_PEERCRED) })
	if err := errors.Join(ctlErr, err); err != nil {
		return 0, err
	}
	return cred.Uid, nil
}

// console answers what commands ask of a running server.
func (s *Server) console() http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /backup", func(w http.ResponseWriter, _ *http.Request) {
		// A backup that breaks off has no manifest: restore refuses it.
		if _, err := s.Backup(w); err != nil {
			s.log.Error("backup", "error", err)
			panic(http.ErrAbortHandler)
		}
	})
	m.HandleFunc("GET /labels", func(w http.ResponseWriter, r *http.Request) {
		sheet, ok := labels.FindSheet(r.FormValue("sheet"))
		start, _ := strconv.Atoi(r.FormValue("start"))
		list, err := s.Desk.Labels()
		if err == nil && !ok {
			err = fault.New(fault.Invalid, "There is no such sheet.")
		}
		if err == nil {
			err = labels.PDF(w, sheet, list, labels.Options{Start: start, Made: time.Now()})
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
		}
	})
	m.HandleFunc("POST /accept-loss", func(w http.ResponseWriter, _ *http.Request) {
		if err := s.ledger.AcceptLoss(0); err != nil {
			http.Error(w, err.Error(), http.StatusConflict)
			return
		}
		s.log.Warn("the loss of records that were seen was accepted", "size", s.ledger.Size())
		fmt.Fprintln(w, lossAccepted)
	})
	m.HandleFunc("POST /rotate-key", func(w http.ResponseWriter, _ *http.Request) {
		if err := s.ledger.RotateKey(); err != nil {
			http.Error(w, err.Error(), http.StatusConflict)
			return
		}
		keys := s.ledger.Keys()
		newest := keys[len(keys)-1]
		s.log.Warn("a new key signs from now on", "size", newest.From, "key", newest.Public)
		fmt.Fprintf(w, "From %d records on this key signs; the one before has signed for it:\n%s\n", newest.From, newest.Public)
	})
	m.HandleFunc("POST /new-pins", func(w http.ResponseWriter, _ *http.Request) {
		list, err := s.Desk.MakeWaysIn()
		if err != nil {
			http.Error(w, err.Error(), http.StatusConflict)
			return
		}
		for _, p := range list {
			fmt.Fprintf(w, "%-28s PIN %s   code for a new device, ten minutes: %s\n", p.Person, p.PIN, p.Code)
		}
	})
	m.HandleFunc("POST /set-up", func(w http.ResponseWriter, _ *http.Request) {
		token, err := s.Desk.MakeSetUp()
		if err != nil {
			http.Error(w, err.Error(), http.StatusConflict)
			return
		}
		fmt.Fprintf(w, "%s/begin?token=%s\n", s.config.PublicURL, token)
	})
	return m
}

// Backup streams a backup of the whole folder, keys apart.
func (s *Server) Backup(w io.Writer) (ledger.BackupReport, error) {
	return s.ledger.Backup(w, ledger.Backup{People: s.people.Snapshot, Photos: s.photos, Lists: s.lists})
}

// Ask asks a server that runs on a data folder; a folder on which none runs is
// fault.Unknown. The caller closes the answer.
func Ask(method, dir, path string) (io.ReadCloser, error) {
	client := &http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
		name, done, err := socketName(dir)
		if err != nil {
			return nil, err
		}
		defer done()
		return (&net.Dialer{Timeout: 2 * time.Second}).DialContext(ctx, "unix", name)
	}}}
	request, err := http.NewRequest(method, "http://console"+path, nil)
	if err != nil {
		return nil, err
	}
	reply, err := client.Do(request)
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "No server runs on the data folder %s", dir)
	}
	if reply.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(io.LimitReader(reply.Body, 1000))
		return nil, errors.Join(fault.New(fault.Invalid, "%s", text), reply.Body.Close())
	}
	return reply.Body, nil
}
