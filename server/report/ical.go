package report

import (
	"io"
	"strings"
	"unicode/utf8"

	"tidemark/server/record"
)

// Event is an entry of a calendar. On its Day it lasts all day; with At it is at
// that instant instead, in UTC, so that no reader needs to know a zone.
type Event struct {
	UID   string // the same for the same thing, whenever and wherever it is written
	Day   record.Date
	At    record.Time
	Title string
	Text  string
	Link  string
}

// Calendar is what a calendar program reads from a feed (RFC 5545, with the name
// and the pause of RFC 7986).
type Calendar struct {
	Name   string
	As     record.Time // of what the calendar was made of
	Events []Event
}

// Write writes the calendar: lines end in CR LF and are folded at 75 bytes, never
// within a character. The same calendar gives the same bytes.
func (c *Calendar) Write(w io.Writer) error {
	var b icalLines
	b.add("BEGIN:VCALENDAR")
	b.add("VERSION:2.0")
	b.add("PRODID:-//tidemark//calendar//EN")
	b.add("CALSCALE:GREGORIAN")
	b.text("NAME", c.Name)
	b.add("REFRESH-INTERVAL;VALUE=DURATION:PT6H")
	for i := range c.Events {
		b.event(&c.Events[i], c.As)
	}
	b.add("END:VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

type icalLines struct{ strings.Builder }

func (b *icalLines) event(e *Event, as record.Time) {
	b.add("BEGIN:VEVENT")
	b.text("UID", e.UID)
	b.add("DTSTAMP:" + icalTime(as))
	if e.At != 0 {
		b.add("DTSTART:" + icalTime(e.At))
	} else {
		b.add("DTSTART;VALUE=DATE:" + icalDate(e.Day))
		b.add("DTEND;VALUE=DATE:" + icalDate(e.Day+1)) // the first day after it: RFC 5545, 3.6.1
	}
	b.text("SUMMARY", e.Title)
	if e.Text != "" {
		b.text("DESCRIPTION", e.Text)
	}
	if e.Link != "" {
		b.add("URL:" + e.Link)
	}
	b.add("TRANSP:TRANSPARENT") // a task that is due keeps nobody busy
	b.add("END:VEVENT")
}

// text adds a property of type TEXT (RFC 5545, 3.3.11).
func (b *icalLines) text(name, value string) {
	b.add(name + ":" + icalText.Replace(strings.Map(printable, value)))
}

var icalText = strings.NewReplacer("\\", "\\\\", ";", "\\;", ",", "\\,", "\n", "\\n")

// printable leaves out control characters but the line feed: none may stand in a
// calendar.
func printable(r rune) rune {
	if r < ' ' && r != '\n' || r == 0x7f || r == utf8.RuneError {
		return -1
	}
	return r
}

// icalFold is how many bytes a line may have without its ending (RFC 5545, 3.1).
const icalFold = 75

// add adds a line, folded. A line that goes on begins with a space, which counts.
func (b *icalLines) add(line string) {
	room := icalFold
	for len(line) > room {
		cut := room
		for !utf8.RuneStart(line[cut]) {
			cut--
		}
		b.WriteString(line[:cut] + "\r\n ")
		line, room = line[cut:], icalFold-1
	}
	b.WriteString(line + "\r\n")
}

func icalTime(t record.Time) string { return t.Time().Format("20060102T150405Z") }

func icalDate(d record.Date) string { return d.UTC().Format("20060102") }
