package server_test

import (
	"io"
	"log"
	"net"
	"regexp"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// mailbox is a real SMTP server on loopback, and what it took.
type mailbox struct {
	t     *testing.T
	way   string // to it, as -smtp has it
	mutex sync.Mutex
	mails []string
}

func newMailbox(t *testing.T) *mailbox {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	m := &mailbox{t: t, way: "smtp://" + l.Addr().String() + "?from=sealers@tide.example"}
	s := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return postman{m}, nil }))
	s.Domain, s.ErrorLog = "localhost", log.New(io.Discard, "", 0)
	served := make(chan error, 1)
	go func() { served <- s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close(); _ = l.Close(); <-served })
	return m
}

// postman hands one mail in.
type postman struct{ *mailbox }

func (postman) Mail(string, *smtp.MailOptions) error { return nil }
func (postman) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (postman) Reset()                               {}
func (postman) Logout() error                        { return nil }

func (p postman) Data(r io.Reader) error {
	b, err := io.ReadAll(r)
	p.mutex.Lock()
	defer p.mutex.Unlock()
	p.mails = append(p.mails, string(b))
	return err
}

// wait waits for so many mails in all; the limit only ends a test that hangs.
func (m *mailbox) wait(count int) []string {
	m.t.Helper()
	var mails []string
	require.Eventually(m.t, func() bool {
		m.mutex.Lock()
		defer m.mutex.Unlock()
		mails = append([]string(nil), m.mails...)
		return len(mails) >= count
	}, 30*time.Second, 10*time.Millisecond)
	return mails
}

var linkInMail = regexp.MustCompile(`(?m)^https?://[^/\s]+(/seen/\S+?)\r?$`)

// linkOf is the path of the one-time link in a mail.
func linkOf(t *testing.T, mail string) string {
	t.Helper()
	found := linkInMail.FindStringSubmatch(mail)
	require.NotNil(t, found, mail)
	return found[1]
}
