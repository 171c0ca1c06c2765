// Package record is the vocabulary of the ledger: the envelope that every
// record wears, the kinds of things that can be recorded (a file each), and the
// strict codec between a Record and its bytes.
//
// A record is one JSON object on one line, its fields in the order of Record.
// The bytes that Append makes are the leaf of the ledger's tree, verbatim;
// nobody re-encodes them to check them. Parse accepts exactly what Append can
// make and nothing else.
//
//   - body is what a person or a device SAID; it is made by the caller and, with
//     kind, subject, by, made and a typed happened, decides whether an id that
//     comes again has the same content.
//   - effect is what the rules MADE of it at that moment. It is written down so
//     that replay never has to decide again (see server/rules).
//   - sealed holds salted commitments to what must stay erasable: names, free
//     text, captions. The values themselves live in server/people.
//
// A record holds no floating-point number: what people typed stays text, with
// its unit. The package knows no clock, disk, network or rule.
package record

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Seq is the place of a record in the ledger, counted from 0: its leaf index.
type Seq int64

// None stands for "no record" where a Seq is wanted.
const None Seq = -1

// Kind names what a record is about, "check" for example.
type Kind string

// Via is the door through which a record came in.
type Via string

const (
	ViaPIN      Via = "pin"      // a person on an enrolled device, by PIN
	ViaPassword Via = "password" // a person by password
	ViaSSO      Via = "sso"      // a person by the hospital's own sign-in
	ViaLink     Via = "link"     // somebody with a one-time link
	ViaNone     Via = "none"     // somebody nobody has confirmed yet
	ViaConsole  Via = "console"  // the administrator of the machine
	ViaImport   Via = "import"   // a file of past records
	ViaClock    Via = "clock"    // nobody: a time had come
)

// Meaning tells what a person's name under a record stands for.
type Meaning string

const (
	Did       Meaning = "did"       // saw or did it
	Approved  Meaning = "approved"  // answers for it as a lead
	Confirmed Meaning = "confirmed" // second name under somebody's record
	Told      Meaning = "told"      // entered what somebody else said
)

// Record is one fact. The writer (server/ledger) sets Seq, Prev and At; the
// rules set Day, Covers, Late and Effect as they decide; the desk sets the rest.
type Record struct {
	V          int     // version of the body's shape, from 1
	Kind       Kind    //
	ID         ID      // made by the sender; the same id is never stored twice
	Of         ID      // the sender's id, on the second and later records of one command
	Seq        Seq     //
	Prev       Seq     // the last record of the same subject, None for the first
	At         Time    // the server's clock when it was stored
	Day        Date    // operating day it counts for
	Covers     Date    // the next operating day, which an early check also counts for
	Late       bool    // written down long after it happened
	Dept       ID      //
	Subject    Subject // whose chain it belongs to
	By         ID      // who saw or did it
	Via        Via     //
	OnBehalfOf ID      // for whom, if entered for somebody
	SentBy     ID      // whose session carried it, if not By's
	Dev        ID      // the storage it was made in
	DevN       int64   // its number in that storage, from 1
	Seen       int64   // size of the ledger that the sender's page was drawn from
	Made       Time    // the device's clock when it was made
	Sent       Time    // the device's clock when it was sent
	Happened   Span    // when it happened in the room
	Cause      string  // a short code for why, "setting-lost" for example
	Corrects   Seq     // the record that this one corrects, None if none
	RestsOn    []Seq   // records of other subjects that this one depends on
	Meaning    Meaning //
	Effect     Effect  //
	Body       json.RawMessage
	Sealed     Sealed

	content Body // Body decoded, if already known
}

// New starts a record of the given content. Content must be a pointer to one of
// this package's kinds; it is encoded at once and must not change afterwards.
func New(content Body) (Record, error) {
	raw, err := json.Marshal(content)
	if err != nil {
		return Record{}, err
	}
	kind, v := content.kind()
	if bytes.Contains(raw, []byte(`\ufffd`)) { // what was not UTF-8 cannot be read back
		if _, err := decodeBody(kind, v, raw); err != nil {
			return Record{}, fmt.Errorf("encode content: not UTF-8: %w", err)
		}
	}
	return Record{V: v, Kind: kind, Prev: None, Corrects: None, Body: raw, content: content}, nil
}

// Content returns the body as a pointer to its kind's newest struct. It is
// shared: read only.
func (r *Record) Content() (Body, error) {
	if r.content != nil {
		return r.content, nil
	}
	c, err := decodeBody(r.Kind, r.V, r.Body)
	if err == nil {
		r.content = c
	}
	return c, err
}

// SameContent reports whether r and o say the same thing, as far as the sender
// had a say in it. When it happened is compared only where a person typed it: a
// computed time moves with each sending.
func (r *Record) SameContent(o *Record) bool {
	if r.Kind != o.Kind || r.Subject != o.Subject || r.By != o.By || r.Made != o.Made {
		return false
	}
	if r.Happened.Said == Typed || o.Happened.Said == Typed {
		if r.Happened != o.Happened {
			return false
		}
	}
	return string(r.Body) == string(o.Body)
}

// Check reports whether the line of r could be read back: a kind and a subject
// that are known, and times that a line can hold. The ledger asks it before it
// stores what could never be read again.
func (r *Record) Check() error {
	if _, err := r.Content(); err != nil {
		return fmt.Errorf("check record: %w", err)
	}
	if !r.Subject.Type.known() {
		return fmt.Errorf("check record: subject type %q is not known", r.Subject.Type)
	}
	for _, t := range []Time{r.Made, r.Sent, r.Happened.From, r.Happened.To} {
		if t < 0 || t > lastTime {
			return fmt.Errorf("check record: time %d is out of range", t)
		}
	}
	return nil
}
