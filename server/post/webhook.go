package post

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"time"

	"tidemark/server/fault"
)

// Hooks sends events to webhooks. It follows no redirect, asks no proxy and
// waits 10 seconds at most; of an answer it uses the status and reads 64 kB.
type Hooks struct {
	guard  Guard
	client *http.Client
	clock  func() time.Time
}

// HookOptions are what Hooks need.
type HookOptions struct {
	Guard   Guard
	Roots   *x509.CertPool   // who may sign a target's certificate; the system's if nil
	Timeout time.Duration    // for all of one attempt; 10 s if zero
	Clock   func() time.Time // time.Now if nil
}

const (
	hookAnswer = 64 << 10
	notAllowed = "The webhook's address is not allowed."
)

// NewHooks makes a Sender of events.
func NewHooks(o HookOptions) *Hooks {
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.Timeout == 0 {
		o.Timeout = 10 * time.Second
	}
	dialer := &net.Dialer{Control: o.Guard.control}
	return &Hooks{guard: o.Guard, clock: o.Clock, client: &http.Client{
		Timeout: o.Timeout,
		CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse
		},
		Transport: &http.Transport{
			DialContext:            dialer.DialContext,
			TLSClientConfig:        &tls.Config{RootCAs: o.Roots},
			MaxResponseHeaderBytes: hookAnswer,
			DisableCompression:     true,
			DisableKeepAlives:      true, // events are rare
		},
	}}
}

// CheckURL returns a fault if no webhook can have this address: it must be
// https, or http on this machine where that is allowed. What a name stands for
// is looked at anew with each connection.
func (h *Hooks) CheckURL(text string) error {
	u, err := url.Parse(text)
	if err != nil || u.Hostname() == "" || u.User != nil || u.Fragment != "" {
		return fault.Field("url", "Enter the webhook's address in full, such as "+
			"https://host.example/path, without a user name.")
	}
	a, err := netip.ParseAddr(u.Hostname())
	literal := err == nil
	if u.Scheme != "https" && !(u.Scheme == "http" && literal && a.IsLoopback()) {
		return fault.Field("url", "A webhook's address must begin with https.")
	}
	if literal {
		return h.guard.Check(a)
	}
	return nil
}

// Send posts an event. Only an answer of 2xx counts as taken; 410 means never
// again (Standard Webhooks).
func (h *Hooks) Send(ctx context.Context, l Letter) error {
	if err := h.CheckURL(l.To); err != nil {
		return &Failure{Verdict: Refuse, Why: notAllowed, Cause: err}
	}
	r, err := h.request(ctx, l)
	if err != nil {
		return &Failure{Verdict: Refuse, Why: "The event could not be signed.", Cause: err}
	}
	answer, err := h.client.Do(r)
	if err != nil {
		return unsent(err)
	}
	defer answer.Body.Close()
	// What it says does not matter; it is read so that the target may end in peace.
	_, _ = io.CopyN(io.Discard, answer.Body, hookAnswer)
	return h.judge(answer)
}

func (h *Hooks) request(ctx context.Context, l Letter) (*http.Request, error) {
	body, err := json.Marshal(struct {
		Type string          `json:"type"`
		At   time.Time       `json:"timestamp"`
		Data json.RawMessage `json:"data"`
	}{l.Event.Type, l.Event.At.UTC(), l.Event.Data})
	if err != nil {
		return nil, fmt.Errorf("encode event: %w", err)
	}
	now, id := h.clock(), l.ID.String()
	signature, err := Sign(id, now, body, l.Event.Secrets...)
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, l.To, bytes.NewReader(body))
	if err != nil {
		return nil, errors.New("make request: not a web address") // the error would hold it
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "tidemark")
	r.Header.Set("Webhook-Id", id)
	r.Header.Set("Webhook-Timestamp", strconv.FormatInt(now.Unix(), 10))
	r.Header.Set("Webhook-Signature", signature)
	return r, nil
}

func (h *Hooks) judge(answer *http.Response) error {
	status := answer.StatusCode
	f := &Failure{Verdict: TryAgain, After: h.retryAfter(answer.Header)}
	switch {
	case status/100 == 2:
		return nil
	case status == http.StatusGone:
		f.Verdict, f.Why = Refuse, "The webhook says that it is gone for good (410)."
	case status/100 == 3:
		f.Why = fmt.Sprintf("The webhook points elsewhere (%d), which is not followed: "+
			"enter the address it has now.", status)
	case f.After > 0, status == http.StatusTooManyRequests, status == http.StatusBadGateway,
		status == http.StatusServiceUnavailable, status == http.StatusGatewayTimeout:
		f.Verdict, f.Why = LeaveAlone, fmt.Sprintf("The webhook is busy or down (%d).", status)
	default:
		f.Why = fmt.Sprintf("The webhook did not take the event (%d).", status)
	}
	return f
}

// retryAfter reads seconds or a date (RFC 9110, 10.2.3).
func (h *Hooks) retryAfter(header http.Header) time.Duration {
	text := header.Get("Retry-After")
	if seconds, err := strconv.ParseUint(text, 10, 31); err == nil {
		return time.Duration(seconds) * time.Second
	}
	if at, err := http.ParseTime(text); err == nil {
		return max(0, at.Sub(h.clock()))
	}
	return 0
}

// unsent says why there was no answer. The cause is kept without the URL, which
// may hold a secret.
func unsent(err error) *Failure {
	if whole := new(url.Error); errors.As(err, &whole) {
		err = whole.Err
	}
	if f := new(fault.Error); errors.As(err, &f) {
		return &Failure{Verdict: Refuse, Why: notAllowed, Cause: err}
	}
	return unreached("The webhook", err)
}
