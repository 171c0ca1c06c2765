package packlist

import (
	"strings"
	"time"

	"tidemark/server/record"
)

// dater reads dates and times of one list. Rows mostly follow each other in
// time, so the day before is remembered.
type dater struct {
	order [3]int // which of the three numbers is year, month, day
	zone  *time.Location
	day   [3]int // year, month, day that start and offset are of
	start int64  // midnight UTC of the date, in milliseconds
	from  int64  // when the local day begins
	to    int64  // and ends
	even  bool   // the clocks are not changed on it or next to it
	off   int64  // from UTC, in milliseconds, on an even day
}

// orders are the ways to write a date: where year, month and day stand.
var orders = map[string][3]int{"ymd": {0, 1, 2}, "dmy": {2, 1, 0}, "mdy": {2, 0, 1}}

const (
	minuteMS = int64(60_000)
	dayMS    = 24 * 60 * minuteMS
)

// read reads a date, with or without a time of day and a zone; clock is the time
// of day where it has a column of its own. The span is as wide as what is not
// said: a minute, a day, or an hour that happens twice.
func (d *dater) read(date, clock string) (span record.Span, why string) {
	year, month, day, rest, ok := d.civil(date)
	if !ok {
		return span, "is no date as you said dates are written"
	}
	rest = strings.TrimLeft(rest, " T,")
	if clock = strings.TrimSpace(clock); clock != "" {
		rest = clock
	}
	if !d.turn(year, month, day) {
		return span, "is no day of the calendar"
	}
	if rest == "" {
		return record.Span{From: record.Time(d.from), To: record.Time(d.to - 1), Said: record.Typed}, ""
	}
	at, width, zone, ok := timeOfDay(rest)
	if !ok {
		return span, "has no time of day that can be read"
	}
	from, to := d.instants(at, zone)
	return record.Span{From: record.Time(from), To: record.Time(to + width - 1), Said: record.Typed}, ""
}

// civil reads the three numbers of a date.
func (d *dater) civil(s string) (year, month, day int, rest string, ok bool) {
	s = strings.TrimSpace(s)
	var n, width [3]int
	for i := range n {
		if n[i], width[i], s = digits(s); width[i] == 0 || width[i] > 4 {
			return 0, 0, 0, "", false
		}
		if i < 2 {
			if s == "" || strings.IndexByte("-./", s[0]) < 0 {
				return 0, 0, 0, "", false
			}
			s = s[1:]
		}
	}
	y, m, dom := d.order[0], d.order[1], d.order[2]
	short := width[y] == 2 && y == 2 // "5.2.26"; a short year never comes first
	if !short && width[y] != 4 || width[m] > 2 || width[dom] > 2 || y == m {
		return 0, 0, 0, "", false
	}
	if year = n[y]; short {
		year += 2000
	}
	return year, n[m], n[dom], s, true
}

// digits reads a number and tells how many digits it had.
func digits(s string) (n, width int, rest string) {
	for width < len(s) && width < 9 && s[width] >= '0' && s[width] <= '9' {
		n = 10*n + int(s[width]-'0')
		width++
	}
	return n, width, s[width:]
}

// turn makes a local day the one that times are read on.
func (d *dater) turn(year, month, day int) bool {
	if d.day == [3]int{year, month, day} {
		return true
	}
	if year < 1990 || year > 2200 || month < 1 || month > 12 || day < 1 {
		return false
	}
	utc := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if utc.Day() != day {
		return false
	}
	d.day, d.start = [3]int{year, month, day}, utc.UnixMilli()
	d.from = time.Date(year, time.Month(month), day, 0, 0, 0, 0, d.zone).UnixMilli()
	d.to = time.Date(year, time.Month(month), day+1, 0, 0, 0, 0, d.zone).UnixMilli()
	before, after := offset(d.from-dayMS/8, d.zone), offset(d.to+dayMS/8, d.zone)
	d.off, d.even = before, before == after
	return true
}

func offset(ms int64, zone *time.Location) int64 {
	_, seconds := time.UnixMilli(ms).In(zone).Zone()
	return int64(seconds) * 1000
}

// none is no zone of its own.
const none = int64(-1 << 62)

// instants are the first and the last moment at which clocks showed a time of the
// day: they differ when the clocks were put back over it. A time that clocks
// never showed is read as RFC 5545, 3.3.5, has it: with the offset before.
func (d *dater) instants(at, zone int64) (first, last int64) {
	local := d.start + at
	switch {
	case zone != none:
		return local - zone, local - zone
	case d.even:
		return local - d.off, local - d.off
	}
	before, after := offset(d.from-dayMS/8, d.zone), offset(d.to+dayMS/8, d.zone)
	for _, off := range []int64{before, after} {
		if t := local - off; offset(t, d.zone) == off {
			if first == 0 || t < first {
				first = t
			}
			last = max(last, t)
		}
	}
	if first == 0 {
		return local - before, local - before
	}
	return first, last
}

// timeOfDay reads a time of day and tells how wide what was said is, and which
// zone it brings along, both in milliseconds.
func timeOfDay(s string) (at, width, zone int64, ok bool) {
	h, n, s := digits(s)
	if n == 0 || n > 2 || !strings.HasPrefix(s, ":") {
		return 0, 0, 0, false
	}
	m, n, s := digits(s[1:])
	if n != 2 || m > 59 {
		return 0, 0, 0, false
	}
	at, width = int64(h*60+m)*minuteMS, minuteMS
	if strings.HasPrefix(s, ":") {
		var sec int
		if sec, n, s = digits(s[1:]); n != 2 || sec > 60 {
			return 0, 0, 0, false
		}
		at, width = at+int64(sec)*1000, 1000
		if s != "" && (s[0] == '.' || s[0] == ',') {
			if _, n, s = digits(s[1:]); n == 0 {
				return 0, 0, 0, false
			}
		}
	}
	s = strings.TrimLeft(s, " ")
	if h, s, ok = halfDay(h, s, &at); !ok || h > 23 {
		return 0, 0, 0, false
	}
	zone, ok = zoneOf(s)
	return at, width, zone, ok
}

// halfDay reads AM and PM.
func halfDay(h int, s string, at *int64) (int, string, bool) {
	if len(s) < 2 || s[1] != 'M' && s[1] != 'm' {
		return h, s, true
	}
	pm := s[0] == 'P' || s[0] == 'p'
	if !pm && s[0] != 'A' && s[0] != 'a' || h < 1 || h > 12 {
		return h, s, false
	}
	switch {
	case pm && h < 12:
		*at += dayMS / 2
	case !pm && h == 12:
		*at -= dayMS / 2
	}
	return h, strings.TrimLeft(s[2:], " "), true
}

// zoneOf reads Z, UTC and offsets such as +01:00; nothing is no zone.
func zoneOf(s string) (int64, bool) {
	switch {
	case s == "":
		return none, true
	case s == "Z" || s == "z" || s == "UTC" || s == "GMT":
		return 0, true
	case s[0] != '+' && s[0] != '-':
		return 0, false
	}
	h, n, rest := digits(s[1:])
	m := 0
	switch {
	case n == 4 && rest == "":
		h, m = h/100, h%100
	case n == 2 && rest == "":
	case n == 2 && rest[0] == ':':
		if m, n, rest = digits(rest[1:]); n != 2 || rest != "" {
			return 0, false
		}
	default:
		return 0, false
	}
	if h > 14 || m > 59 {
		return 0, false
	}
	off := int64(h*60+m) * minuteMS
	if s[0] == '-' {
		off = -off
	}
	return off, true
}

// OrderOf tells how dates are written, as far as examples show it; "" if they can
// be read in two ways.
func OrderOf(examples []string) string {
	order := ""
	for _, s := range examples {
		a, width, rest := digits(strings.TrimSpace(s))
		if width == 4 {
			return "ymd"
		}
		if rest == "" {
			continue
		}
		b, _, _ := digits(rest[1:])
		switch {
		case a > 12:
			order = "dmy"
		case b > 12:
			order = "mdy"
		}
	}
	return order
}
