package record

import (
	"bytes"
	"fmt"
	"time"
)

// Time is an instant in milliseconds since 1970 UTC, written as RFC 3339 with
// three decimals and Z. Zero means "not said".
type Time int64

const timeLayout = "2006-01-02T15:04:05.000Z"

// TimeOf rounds t down to the millisecond.
func TimeOf(t time.Time) Time { return Time(t.UnixMilli()) }

// Time returns the instant in UTC.
func (t Time) Time() time.Time { return time.UnixMilli(int64(t)).UTC() }

// In returns the instant in a zone.
func (t Time) In(zone *time.Location) time.Time { return t.Time().In(zone) }

// Add moves t by an elapsed duration.
func (t Time) Add(d time.Duration) Time { return t + Time(d.Milliseconds()) }

// Sub is the elapsed duration from o to t.
func (t Time) Sub(o Time) time.Duration { return time.Duration(t-o) * time.Millisecond }

// IsZero reports whether no instant was said.
func (t Time) IsZero() bool { return t == 0 }

func (t Time) String() string { return t.Time().Format(timeLayout) }

// MarshalText writes RFC 3339, nothing for zero.
func (t Time) MarshalText() ([]byte, error) {
	if t == 0 {
		return []byte{}, nil
	}
	return t.append(nil), nil
}

// append writes t as String does. It is by hand because formatting by layout
// was a sixth of the ledger's work at many callers.
func (t Time) append(b []byte) []byte {
	day, ms := int64(t)/msPerDay, int64(t)%msPerDay
	if ms < 0 {
		day, ms = day-1, ms+msPerDay
	}
	year, month, dom := time.Unix(day*86400, 0).UTC().Date()
	if year < 0 || year > 9999 {
		return t.Time().AppendFormat(b, timeLayout)
	}
	b = appendCivil(b, year, int(month), dom)
	b = digits(append(b, 'T'), int(ms/3_600_000), 2)
	b = digits(append(b, ':'), int(ms/60_000%60), 2)
	b = digits(append(b, ':'), int(ms/1000%60), 2)
	b = digits(append(b, '.'), int(ms%1000), 3)
	return append(b, 'Z')
}

const (
	msPerDay = 86_400_000
	lastTime = Time(253_402_300_799_999) // the last one with a year of four digits
)

func appendCivil(b []byte, year, month, day int) []byte {
	b = digits(b, year, 4)
	b = digits(append(b, '-'), month, 2)
	return digits(append(b, '-'), day, 2)
}

// digits writes n in just so many digits.
func digits(b []byte, n, width int) []byte {
	end := len(b) + width
	b = append(b, "0000"[:width]...)
	for i := end - 1; n > 0; i-- {
		b[i] = byte('0' + n%10)
		n /= 10
	}
	return b
}

// UnmarshalText reads what MarshalText writes.
func (t *Time) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*t = 0
		return nil
	}
	v, ok := parseTime(b)
	if !ok {
		return fmt.Errorf("parse time %q: want %s", b, timeLayout)
	}
	*t = v
	return nil
}

// parseTime reads what append writes, and only that.
func parseTime(b []byte) (Time, bool) {
	if len(b) != len(timeLayout) {
		return 0, false
	}
	at := func(i, width int) (n int) {
		for _, c := range b[i : i+width] {
			n = 10*n + int(c-'0')
		}
		return n
	}
	v := TimeOf(time.Date(at(0, 4), time.Month(at(5, 2)), at(8, 2), at(11, 2), at(14, 2), at(17, 2),
		at(20, 3)*1e6, time.UTC))
	var again [len(timeLayout)]byte
	return v, bytes.Equal(v.append(again[:0]), b)
}

// Date is a calendar day, counted in days since 1970-01-01 and written
// YYYY-MM-DD. Zero means "none".
type Date int32

const dateLayout = "2006-01-02"

// DateOf is the local calendar day of t in t's own zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// ParseDate reads YYYY-MM-DD.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(dateLayout, s)
	if err != nil {
		return 0, fmt.Errorf("parse date %q: want YYYY-MM-DD", s)
	}
	return DateOf(t), nil
}

// UTC is midnight UTC of the day, for formatting only.
func (d Date) UTC() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// Civil returns year, month and day.
func (d Date) Civil() (int, time.Month, int) { return d.UTC().Date() }

func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.UTC().Format(dateLayout)
}

// MarshalText writes YYYY-MM-DD, nothing for zero.
func (d Date) MarshalText() ([]byte, error) {
	if d == 0 {
		return []byte{}, nil
	}
	return d.append(nil), nil
}

func (d Date) append(b []byte) []byte {
	year, month, day := d.Civil()
	if year < 0 || year > 9999 {
		return d.UTC().AppendFormat(b, dateLayout)
	}
	return appendCivil(b, year, int(month), day)
}

// UnmarshalText reads what MarshalText writes.
func (d *Date) UnmarshalText(b []byte) (err error) {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	*d, err = ParseDate(string(b))
	return err
}

// Source tells where a time comes from.
type Source string

const (
	Clock    Source = "clock"    // the server's clock as it arrived, less its age on the device
	Typed    Source = "typed"    // a person typed it
	Doubtful Source = "doubtful" // computed, but the device's clock makes no sense
)

// Span is when something happened, from first to last; the two are equal for a
// moment.
type Span struct {
	From Time   `json:"from"`
	To   Time   `json:"to"`
	Said Source `json:"said"`
}

// Moment is a span of no length by the server's clock.
func Moment(t Time) Span { return Span{From: t, To: t, Said: Clock} }
