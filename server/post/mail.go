package post

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	netmail "net/mail"
	"net/netip"
	"net/textproto"
	"strings"
	"syscall"
	"time"

	"github.com/wneessen/go-mail"
)

// Mail sends letters by SMTP, a connection for each.
type Mail struct {
	config MailConfig
	clock  func() time.Time
}

// NewMail makes a Sender of mails. The clock gives their dates; nil is time.Now.
func NewMail(c MailConfig, clock func() time.Time) *Mail {
	if clock == nil {
		clock = time.Now
	}
	if c.Timeout == 0 {
		c.Timeout = 30 * time.Second
	}
	return &Mail{config: c, clock: clock}
}

// Send hands a letter to the mail server. Refused for good is what the server
// answers with 5xx to the addressee or the text (RFC 5321, 4.2.1). Whatever it
// says before that, about the sender or a password, is a matter of the
// configuration and not of the letter: it waits until somebody has put it right.
func (m *Mail) Send(ctx context.Context, l Letter) error {
	msg, err := m.message(l)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, m.config.Timeout)
	defer cancel()
	client, err := m.client(ctx)
	if err != nil {
		return &Failure{Verdict: LeaveAlone, Why: "The mail server is not set up.", Cause: err}
	}
	err = client.DialAndSendWithContext(ctx, msg)
	if err == nil || msg.IsDelivered() {
		return nil // the server took it; how the dialogue ended does not matter
	}
	return untaken(err)
}

func (m *Mail) message(l Letter) (*mail.Msg, error) {
	to, err := netmail.ParseAddress(l.To)
	if err != nil {
		return nil, &Failure{Verdict: Refuse, Why: "The mail address is not one."}
	}
	_, domain, _ := strings.Cut(m.config.From.Address, "@")
	msg := mail.NewMsg(mail.WithNoDefaultUserAgent())
	msg.FromMailAddress(&m.config.From)
	msg.ToMailAddress(to)
	msg.Subject(strings.Join(strings.Fields(l.Subject), " ")) // one line, whatever it was
	msg.SetMessageIDWithValue(l.ID.String() + "@" + domain)
	msg.SetDateWithValue(m.clock())
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // no holiday note answers it (RFC 3834)
	msg.SetBodyString(mail.TypeTextPlain, l.Text)
	return msg, nil
}

func (m *Mail) client(ctx context.Context) (*mail.Client, error) {
	o := []mail.Option{
		mail.WithPort(m.config.Port), mail.WithTimeout(m.config.Timeout),
		mail.WithTLSConfig(m.tls()), mail.WithDialContextFunc(m.dial(ctx)),
		mail.WithoutNoop(), mail.WithoutRset(),
	}
	how := mail.SMTPAuthAutoDiscover
	switch m.config.Security {
	case Plain:
		o, how = append(o, mail.WithTLSPolicy(mail.NoTLS)), mail.SMTPAuthPlainNoEnc
	case TLS:
		// It sees that the connection is encrypted already.
		o = append(o, mail.WithTLSPolicy(mail.TLSOpportunistic))
	default:
		o = append(o, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	if m.config.User != "" {
		o = append(o, mail.WithSMTPAuth(how), mail.WithUsername(m.config.User),
			mail.WithPassword(m.config.Password))
	}
	return mail.NewClient(m.config.Host, o...)
}

func (m *Mail) tls() *tls.Config {
	return &tls.Config{ServerName: m.config.Host, RootCAs: m.config.Roots,
		MinVersion: tls.VersionTLS12}
}

// dial makes connections that end when ctx does: the client sets a time limit
// for each, but leaves it open when a dialogue fails half-way.
func (m *Mail) dial(ctx context.Context) mail.DialContextFunc {
	return func(dialing context.Context, network, address string) (net.Conn, error) {
		d := &net.Dialer{}
		if m.config.Security == Plain {
			d.Control = local
		}
		made, err := d.DialContext(dialing, network, address)
		if err != nil {
			return nil, err
		}
		context.AfterFunc(ctx, func() { made.Close() })
		if m.config.Security != TLS {
			return made, nil
		}
		c := tls.Client(made, m.tls())
		if err := c.HandshakeContext(dialing); err != nil {
			return nil, fmt.Errorf("start TLS: %w", err)
		}
		return c, nil
	}
}

// local refuses to speak in the clear to another machine.
func local(_, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil || !at.Addr().Unmap().IsLoopback() {
		return errors.New("not this machine: without TLS no other is spoken to")
	}
	return nil
}

// untaken says why a letter was not taken. The server's own words are left out:
// they tend to repeat the address.
func untaken(err error) *Failure {
	if e := new(mail.SendError); errors.As(err, &e) {
		return undelivered(e)
	}
	if e := new(textproto.Error); errors.As(err, &e) {
		return &Failure{Verdict: LeaveAlone, Cause: fmt.Errorf("answer %d", e.Code),
			Why: fmt.Sprintf("The mail server does not let us in (%d).", e.Code)}
	}
	return unreached("The mail server", err)
}

// undelivered judges what became of a letter once the server was spoken to.
func undelivered(e *mail.SendError) *Failure {
	f := &Failure{Cause: errors.New(e.Reason.String())}
	code := strings.TrimSpace(fmt.Sprint(e.ErrorCode(), " ", e.EnhancedStatusCode()))
	toAddressee := e.Reason == mail.ErrSMTPRcptTo
	toText := e.Reason == mail.ErrSMTPData || e.Reason == mail.ErrSMTPDataClose
	switch {
	case e.ErrorCode() == 0:
		f.Why = "The mail server broke off."
	case e.ErrorCode() == 421 || !toAddressee && !toText:
		f.Why = "The mail server takes no mail from us now (" + code + ")."
	case e.ErrorCode() < 500, e.ErrorCode() == 552 && toAddressee: // RFC 5321, 4.5.3.1.10
		f.Verdict, f.Why = TryAgain, "The mail server asks to come again later ("+code+")."
	case toAddressee:
		f.Verdict, f.Why = Refuse, "The mail server takes no mail for this addressee ("+code+")."
	default:
		f.Verdict, f.Why = Refuse, "The mail server does not take this letter ("+code+")."
	}
	return f
}
