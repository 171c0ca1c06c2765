package post_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"log"
	"math/big"
	"net"
	"net/mail"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"

	"tidemark/server/post"
)

// mailServer is a real SMTP server on loopback. Its hooks may be nil.
type mailServer struct {
	rcpt     func(to string) error
	data     func(*smtp.Conn, io.Reader) error
	password string // asked for if not empty

	address string
	server  *smtp.Server
	stop    func()
	open    atomic.Int32 // connections
	mu      sync.Mutex
	took    []taken
}

// taken is a mail that the server took.
type taken struct {
	from, to string
	raw      []byte
	tls      bool
}

func (m taken) message(t *testing.T) *mail.Message {
	msg, err := mail.ReadMessage(bytes.NewReader(m.raw))
	require.NoError(t, err)
	return msg
}

// start serves until the test ends or stop is called. The port stays the same
// from one start to the next.
func (s *mailServer) start(t *testing.T, listener func(net.Listener) net.Listener, c *tls.Config) {
	if s.address == "" {
		s.address = "127.0.0.1:0"
	}
	var l net.Listener
	require.Eventually(t, func() (ok bool) {
		var err error
		l, err = net.Listen("tcp", s.address)
		return err == nil
	}, 5*time.Second, 10*time.Millisecond)
	s.address = l.Addr().String()
	if listener != nil {
		l = listener(l)
	}
	s.server = smtp.NewServer(s)
	s.server.Domain, s.server.TLSConfig = "localhost", c
	s.server.ErrorLog = log.New(io.Discard, "", 0)
	go s.server.Serve(l)
	s.stop = func() {
		l.Close() // Serve may not have got to it yet
		s.server.Close()
	}
	t.Cleanup(s.stop)
}

func (s *mailServer) mails() []taken {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]taken(nil), s.took...)
}

// config is the way to the server, in the clear.
func (s *mailServer) config(t testing.TB) post.MailConfig {
	c, err := post.ParseMail("smtp://" + s.address + "?from=Sealers%20<sealers@tide.example>")
	require.NoError(t, err)
	c.Timeout = 5 * time.Second
	return c
}

func (s *mailServer) sender(t testing.TB) *post.Mail { return post.NewMail(s.config(t), nil) }

// NewSession is smtp.Backend's.
func (s *mailServer) NewSession(c *smtp.Conn) (smtp.Session, error) {
	s.open.Add(1)
	return &session{server: s, conn: c}, nil
}

type session struct {
	server *mailServer
	conn   *smtp.Conn
	known  bool
	mail   taken
}

func (s *session) AuthMechanisms() []string {
	if s.server.password == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (s *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != "tide" || password != s.server.password {
			return errors.New("wrong password")
		}
		s.known = true
		return nil
	}), nil
}

func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	if s.server.password != "" && !s.known {
		return smtp.ErrAuthRequired
	}
	s.mail = taken{from: from}
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.mail.to = to
	if s.server.rcpt != nil {
		return s.server.rcpt(to)
	}
	return nil
}

func (s *session) Data(r io.Reader) error {
	if s.server.data != nil {
		if err := s.server.data(s.conn, r); err != nil {
			return err
		}
	}
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	s.mail.raw = raw
	_, s.mail.tls = s.conn.TLSConnectionState()
	s.server.mu.Lock()
	defer s.server.mu.Unlock()
	s.server.took = append(s.server.took, s.mail)
	return nil
}

func (s *session) Reset() {}

func (s *session) Logout() error {
	s.server.open.Add(-1)
	return nil
}

// authority makes a test certificate authority and a certificate of it for
// localhost and 127.0.0.1.
func authority(t *testing.T) (*x509.CertPool, *tls.Config) {
	key := func() *ecdsa.PrivateKey {
		k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		require.NoError(t, err)
		return k
	}
	caKey, hostKey := key(), key()
	ca := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Test CA"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	host := &x509.Certificate{SerialNumber: big.NewInt(2),
		NotBefore: ca.NotBefore, NotAfter: ca.NotAfter,
		DNSNames: []string{"localhost"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	sign := func(c, by *x509.Certificate, k *ecdsa.PrivateKey) []byte {
		der, err := x509.CreateCertificate(rand.Reader, c, by, &k.PublicKey, caKey)
		require.NoError(t, err)
		return der
	}
	root, err := x509.ParseCertificate(sign(ca, ca, caKey))
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(root)
	return pool, &tls.Config{Certificates: []tls.Certificate{
		{Certificate: [][]byte{sign(host, ca, hostKey)}, PrivateKey: hostKey}}}
}
