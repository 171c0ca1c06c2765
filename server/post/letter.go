package post

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"time"

	"tidemark/server/record"
)

// Letter is a message as it is sent: a mail, or the event of a webhook.
type Letter struct {
	ID      record.ID // the same at each attempt
	To      string    // a mail address, or the URL of a webhook
	Subject string    // of a mail: one line, with the asset tag for a ticket inbox
	Text    string    // of a mail, plain
	Event   *Event    // of a webhook; nil for a mail
}

// Event is what a webhook is told.
type Event struct {
	Type    string          // "sealer.out-of-service"
	At      time.Time       // when it happened, not when it is sent
	Data    json.RawMessage //
	Secrets []string        // "whsec_..."; two while the secret is being changed
}

// Sender takes letters to one kind of target. It returns nil once the target has
// taken the letter, a *Failure otherwise.
type Sender interface {
	Send(context.Context, Letter) error
}

// Verdict is what is to be done about a letter that did not get through.
type Verdict int

const (
	// LeaveAlone tries nothing for this addressee for a while: the target cannot
	// be reached or wants to be spared.
	LeaveAlone Verdict = iota
	// TryAgain tries this letter again later; those about other problems go on.
	TryAgain
	// Refuse never tries it again by itself.
	Refuse
)

// Failure is why a letter did not get through.
type Failure struct {
	Verdict Verdict
	Why     string        // for a person to read; holds no name and no address
	After   time.Duration // how long the target asked to be left alone, if it did
	Cause   error         // for the log: holds no name and no mail address either
}

// Error returns the reason and, for the log, the cause.
func (f *Failure) Error() string {
	if f.Cause == nil {
		return f.Why
	}
	return f.Why + " (" + f.Cause.Error() + ")"
}

// Unwrap returns the cause, nil if there is none.
func (f *Failure) Unwrap() error { return f.Cause }

// unreached is the failure of a target, "The webhook" for example, from which no
// answer came.
func unreached(target string, err error) *Failure {
	f := &Failure{Verdict: LeaveAlone, Why: target + " does not answer.", Cause: err}
	if e := new(tls.CertificateVerificationError); errors.As(err, &e) {
		f.Why = target + " shows a certificate that is not trusted here."
	}
	return f
}

// failure makes a Failure of whatever went wrong.
func failure(err error) *Failure {
	var f *Failure
	if errors.As(err, &f) {
		return f
	}
	return &Failure{Verdict: TryAgain, Why: "The message could not be made.", Cause: err}
}
