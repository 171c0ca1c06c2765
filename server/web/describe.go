package web

import (
	"strconv"
	"strings"
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// words is a record as a person reads it: what happened, and more about it.
type words struct{ Title, Text, Tone string }

// describe puts a record into words. Every kind has a title; a test walks them.
func describe(f *desk.Frame, l *desk.Line) words {
	for _, of := range []func(*desk.Frame, *desk.Line) words{describeSealing, describeSettings,
		describeProblem, describePost, describeFacts, describeMaintenance, describeHouse} {
		if w := of(f, l); w.Title != "" {
			w.Text = sentences(
				w.Text,
				causeWords[l.Cause],
				gaveNothing[l.Effect.Nothing],
				quoted(l.Note),
			)
			return w
		}
	}
	return words{Title: string(l.Kind), Text: quoted(l.Note)}
}

func quoted(note string) string {
	if note == "" {
		return ""
	}
	return "“" + note + "”"
}

// listed joins what is known with commas, sentences with semicolons.
func listed(parts ...string) string    { return joined(", ", parts) }
func sentences(parts ...string) string { return joined("; ", parts) }

func joined(by string, parts []string) string {
	var known []string
	for _, p := range parts {
		if p != "" {
			known = append(known, p)
		}
	}
	return strings.Join(known, by)
}

// with puts a word before what is known, nothing before nothing.
func with(word, what string) string {
	if what == "" {
		return ""
	}
	return word + " " + what
}

// causeWords tell what brought something about, where the sender said so.
var causeWords = map[string]string{
	"found-elsewhere": "found elsewhere",
	"setting-lost":    "the setting was lost at power-off",
}

// gaveNothing tells why a good fact gave no readiness, in the words of a history.
var gaveNothing = map[string]string{
	"doubtful-time":     "its time is doubtful: it gave no readiness",
	"not-confirmed":     "not confirmed: it gave no readiness",
	"something-since":   "something had happened since that was not seen: it gave no readiness",
	"taken-since":       "something had been done to the sealer since: it gave no readiness",
	"not-waiting":       "the sealer was not waiting for it",
	"other-approval":    "another setting was approved by then: it gave no readiness",
	"earlier-day":       "it counts for its own day",
	"not-all-places":    "not all places were tested: it gave no readiness",
	"not-all-tests":     "not all tests were made: it gave no readiness",
	"imported":          "from a file of past records",
	"too-early":         "made before the sealer had settled: it gave no readiness",
	"other-pouch":       "the sealer was set up for another pouch: it gave no readiness",
	"not-signed-off":    "by somebody not signed off for this type of sealer: it gave no readiness",
	"answered-by-check": "a good check came after it",
	"second-name":       "waits for a second name",
}

// event is a line of a timeline: see static/templates/partials/lists.html.
type event struct {
	When, Stamp, Title, Text, Who, Tone string
	Amended, Href                       string // what became of it since; the page of the entry
	Late                                bool
	Photo                               *picture
}

type picture struct{ Src, Alt string }

// timeline draws records; those with several photographs take a line for each.
func timeline(f *desk.Frame, lines []desk.Line) []event {
	var list []event
	for i := range lines {
		l := &lines[i]
		w := describe(f, l)
		e := event{
			When:  when(f, l),
			Stamp: f.In(l.From).Format(time.RFC3339),
			Title: w.Title,
			Text:  w.Text,
			Who:   whoSaid(l),
			Tone:  w.Tone,
			Late:  l.Late,
		}
		e.Amended = amendedText(f, l)
		for _, on := range l.PhotosRemoved {
			e.Text = sentences(e.Text, "photograph removed on "+dateText(on))
		}
		if l.Page && (f.Can("Correct") || l.Amended != nil) {
			e.Href = "/entries/" + strconv.FormatInt(int64(l.Seq), 10)
		}
		for n, id := range l.Photos {
			e.Photo = &picture{
				Src: "/photographs/" + id.String(),
				Alt: "photograph of: " + strings.ToLower(w.Title),
			}
			if n < len(l.Photos)-1 {
				list = append(list, e)
				e = event{When: e.When, Stamp: e.Stamp, Title: "Photograph"}
			}
		}
		list = append(list, e)
	}
	return list
}

// when is when it happened and, where that was long before, when it was written
// down.
func when(f *desk.Frame, l *desk.Line) string {
	text := f.Clock(l.From)
	if l.To.Sub(l.From) > time.Minute {
		text += " to " + f.Clock(l.To)
	}
	if l.Late {
		text += ", written down " + f.Clock(l.At)
	}
	return text
}

func whoSaid(l *desk.Line) string {
	if l.For != "" {
		return l.Who + " for " + l.For
	}
	return l.Who
}

func dateText(d record.Date) string {
	if d == 0 {
		return ""
	}
	return d.UTC().Format("2 Jan 2006")
}
