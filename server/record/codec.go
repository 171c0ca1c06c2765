package record

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"strconv"
	"unicode/utf8"
)

// Commitment is SHA-256 over a domain, a salt and a value kept elsewhere.
type Commitment [32]byte

// MarshalText writes 64 hex digits.
func (c Commitment) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, c[:]), nil }

// UnmarshalText reads what MarshalText writes.
func (c *Commitment) UnmarshalText(b []byte) error {
	if len(b) != 64 {
		return fmt.Errorf("parse commitment: want 64 hex digits")
	}
	_, err := hex.Decode(c[:], b)
	return err
}

// Sealed maps a field's name to the commitment to its value.
type Sealed map[string]Commitment

// Append adds the record's line, without a newline, to b.
func (r *Record) Append(b []byte) []byte {
	o := open(b)
	o.int("v", int64(r.V))
	o.str("kind", string(r.Kind))
	o.id("id", r.ID)
	o.id("of", r.Of)
	o.int("seq", int64(r.Seq))
	o.int("prev", int64(r.Prev))
	o.time("at", r.At)
	o.date("day", r.Day)
	o.date("covers", r.Covers)
	o.yes("late", r.Late)
	o.id("dept", r.Dept)
	o.subject("subject", r.Subject)
	o.id("by", r.By)
	o.str("via", string(r.Via))
	o.id("on_behalf_of", r.OnBehalfOf)
	o.id("sent_by", r.SentBy)
	o.id("dev", r.Dev)
	o.intIf("dev_n", r.DevN)
	o.int("seen", r.Seen)
	o.timeIf("made", r.Made)
	o.timeIf("sent", r.Sent)
	o.key("happened")
	o.b = r.Happened.append(o.b)
	o.str("cause", r.Cause)
	if r.Corrects != None {
		o.int("corrects", int64(r.Corrects))
	}
	o.seqs("rests_on", r.RestsOn)
	o.str("meaning", string(r.Meaning))
	o.key("effect")
	o.b = r.Effect.append(o.b)
	o.key("body")
	o.b = append(o.b, r.Body...)
	o.sealed("sealed", r.Sealed)
	return o.close()
}

func (s Span) append(b []byte) []byte {
	o := open(b)
	o.time("from", s.From)
	o.time("to", s.To)
	o.str("said", string(s.Said))
	return o.close()
}

// wire mirrors Record for reading.
type wire struct {
	V          int             `json:"v"`
	Kind       Kind            `json:"kind"`
	ID         ID              `json:"id"`
	Of         ID              `json:"of"`
	Seq        Seq             `json:"seq"`
	Prev       Seq             `json:"prev"`
	At         Time            `json:"at"`
	Day        Date            `json:"day"`
	Covers     Date            `json:"covers"`
	Late       bool            `json:"late"`
	Dept       ID              `json:"dept"`
	Subject    Subject         `json:"subject"`
	By         ID              `json:"by"`
	Via        Via             `json:"via"`
	OnBehalfOf ID              `json:"on_behalf_of"`
	SentBy     ID              `json:"sent_by"`
	Dev        ID              `json:"dev"`
	DevN       int64           `json:"dev_n"`
	Seen       int64           `json:"seen"`
	Made       Time            `json:"made"`
	Sent       Time            `json:"sent"`
	Happened   Span            `json:"happened"`
	Cause      string          `json:"cause"`
	Corrects   *Seq            `json:"corrects"`
	RestsOn    []Seq           `json:"rests_on"`
	Meaning    Meaning         `json:"meaning"`
	Effect     wireEffect      `json:"effect"`
	Body       json.RawMessage `json:"body"`
	Sealed     Sealed          `json:"sealed"`
}

type wireEffect struct {
	Sealer    ID         `json:"sealer"`
	Takes     bool       `json:"takes"`
	Readiness *Readiness `json:"readiness"`
	Opens     int        `json:"opens"`
	Joins     ID         `json:"joins"`
	Code      string     `json:"code"`
	Nothing   string     `json:"nothing"`
}

// Parse reads one line. It refuses unknown fields and kinds and whatever Append
// would have written otherwise: duplicate or re-cased keys, other number forms,
// spaces, bad UTF-8.
func Parse(line []byte) (Record, error) {
	var w wire
	if err := strict(line, &w); err != nil {
		return Record{}, fmt.Errorf("parse record: %w", err)
	}
	r := Record{V: w.V, Kind: w.Kind, ID: w.ID, Of: w.Of, Seq: w.Seq, Prev: w.Prev, At: w.At,
		Day: w.Day, Covers: w.Covers, Late: w.Late, Dept: w.Dept, Subject: w.Subject, By: w.By,
		Via: w.Via, OnBehalfOf: w.OnBehalfOf, SentBy: w.SentBy, Dev: w.Dev, DevN: w.DevN,
		Seen: w.Seen, Made: w.Made, Sent: w.Sent, Happened: w.Happened, Cause: w.Cause,
		Corrects: None, RestsOn: w.RestsOn, Meaning: w.Meaning, Effect: Effect(w.Effect),
		Body: w.Body, Sealed: w.Sealed}
	if w.Corrects != nil {
		r.Corrects = *w.Corrects
	}
	if !bytes.Equal(r.Append(nil), line) {
		return Record{}, fmt.Errorf("parse record %d: not in the form that records are written in", w.Seq)
	}
	if _, err := r.Content(); err != nil {
		return Record{}, fmt.Errorf("parse record %d: %w", w.Seq, err)
	}
	return r, nil
}

// strict decodes one JSON value with no unknown fields and nothing after it.
func strict(b []byte, into any) error {
	if !utf8.Valid(b) {
		return fmt.Errorf("not UTF-8")
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("more than one value")
	}
	return nil
}

// object appends one JSON object by hand: encoding/json for the envelope cost a
// fifth of the ledger's whole append.
type object struct {
	b     []byte
	comma bool
}

func open(b []byte) *object { return &object{b: append(b, '{')} }

func (o *object) close() []byte { return append(o.b, '}') }

func (o *object) key(k string) {
	if o.comma {
		o.b = append(o.b, ',')
	}
	o.comma = true
	o.b = append(append(append(o.b, '"'), k...), '"', ':')
}

func (o *object) str(k, v string) {
	if v == "" {
		return
	}
	o.key(k)
	if plain(v) {
		o.b = append(append(append(o.b, '"'), v...), '"')
		return
	}
	quoted, _ := json.Marshal(v) // a string always has a JSON form
	o.b = append(o.b, quoted...)
}

func plain(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			return false
		}
	}
	return true
}

func (o *object) id(k string, id ID) {
	if id.IsZero() {
		return
	}
	o.key(k)
	o.b = append(hex.AppendEncode(append(o.b, '"'), id[:]), '"')
}

func (o *object) subject(k string, s Subject) {
	o.key(k)
	o.b = append(append(append(o.b, '"'), s.Type...), ':')
	o.b = append(hex.AppendEncode(o.b, s.ID[:]), '"')
}

func (o *object) int(k string, n int64) {
	o.key(k)
	o.b = strconv.AppendInt(o.b, n, 10)
}

func (o *object) intIf(k string, n int64) {
	if n != 0 {
		o.int(k, n)
	}
}

func (o *object) count(k string, n int) { o.intIf(k, int64(n)) }

func (o *object) time(k string, t Time) {
	o.key(k)
	o.b = append(t.Time().AppendFormat(append(o.b, '"'), timeLayout), '"')
}

func (o *object) timeIf(k string, t Time) {
	if t != 0 {
		o.time(k, t)
	}
}

func (o *object) date(k string, d Date) {
	if d == 0 {
		return
	}
	o.key(k)
	o.b = append(d.UTC().AppendFormat(append(o.b, '"'), dateLayout), '"')
}

func (o *object) yes(k string, v bool) {
	if v {
		o.key(k)
		o.b = append(o.b, "true"...)
	}
}

func (o *object) seqs(k string, list []Seq) {
	if len(list) == 0 {
		return
	}
	o.key(k)
	o.b = append(o.b, '[')
	for i, s := range list {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.b = strconv.AppendInt(o.b, int64(s), 10)
	}
	o.b = append(o.b, ']')
}

func (o *object) sealed(k string, m Sealed) {
	if len(m) == 0 {
		return
	}
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	sort.Strings(names)
	o.key(k)
	in := open(o.b)
	for _, name := range names {
		c := m[name]
		in.str(name, hex.EncodeToString(c[:]))
	}
	o.b = in.close()
}
