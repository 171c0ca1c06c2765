// Package fault is the one error type of the house.
//
// A fault says what went wrong in words a person at the bench can act on, a
// code that a program can branch on and, where a form is to blame, the field.
// The cause is for the log alone and never reaches a page. The table from code
// to HTTP status lives in server/web; nothing here knows HTTP.
package fault

import (
	"errors"
	"fmt"
)

// Code is the kind of a fault, as programs see it. Its text is part of the
// public JSON interface: add codes, never change one.
type Code string

const (
	Invalid      Code = "invalid"       // what was typed cannot be taken as it is
	Unknown      Code = "unknown"       // no such thing, or not for this person: the two look alike
	SignIn       Code = "sign-in"       // nobody is signed in here
	Forbidden    Code = "forbidden"     // signed in, but not allowed to do this
	Stale        Code = "stale"         // the page was older than the state: look again
	Conflict     Code = "conflict"      // the same id was used for other content
	Gone         Code = "gone"          // was here once: retired, erased or expired
	TooLarge     Code = "too-large"     // more bytes or pixels than are taken
	Unsupported  Code = "unsupported"   // a kind of file or content that is not taken
	TooMany      Code = "too-many"      // slowed down; try again later
	Misdirected  Code = "misdirected"   // a host name that is not ours
	Busy         Code = "busy"          // cannot be done at this moment; a retry is safe
	NotConfirmed Code = "not-confirmed" // may or may not be stored; a retry with the same id is safe
	Full         Code = "full"          // no room on the disk, or it is read-only
	Internal     Code = "internal"      // our own mistake
)

// Error is a fault. Message is one or two plain sentences that say what to do
// next; Field names the form field at fault, or is empty.
type Error struct {
	Code    Code
	Message string
	Field   string
	cause   error
}

// Error returns the message and, for the log, the cause.
func (e *Error) Error() string {
	if e.cause != nil {
		return e.Message + ": " + e.cause.Error()
	}
	return e.Message
}

// Unwrap returns the cause, nil if there is none.
func (e *Error) Unwrap() error { return e.cause }

// New makes a fault with a message in the manner of fmt.Sprintf.
func New(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// Wrap makes a fault that keeps cause for the log.
func Wrap(cause error, code Code, format string, args ...any) *Error {
	e := New(code, format, args...)
	e.cause = cause
	return e
}

// Field makes an Invalid fault that points at a form field.
func Field(field, format string, args ...any) *Error {
	e := New(Invalid, format, args...)
	e.Field = field
	return e
}

// CodeOf returns the code of the first fault in err's chain, Internal for any
// other error and "" for nil.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// Is reports whether err carries the given code.
func Is(err error, code Code) bool { return err != nil && CodeOf(err) == code }
