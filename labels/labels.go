// Package labels makes the printed side of tidemark: codes that go on sealers,
// the addresses inside their QR symbols, and sheets of labels as PDF or PNG.
//
// # Promises
//
//   - A label code is random, never sequential, and every single mistyped
//     character of it is noticed (ISO 7064).
//   - A QR symbol is drawn at the size printed on the label or not at all: its
//     modules are at least 0.4 mm wide, its quiet zone is four modules
//     (ISO/IEC 18004), its level is H, or Q where H does not fit. A refusal
//     says which label would do.
//   - Text never runs off a label. A place or an asset tag that is too long is
//     shortened and shows it; a sealer number is never shortened, since half a
//     number is another sealer: it is refused.
//   - The same input gives the same bytes. The time printed into a PDF is an
//     input.
//
// # Formats
//
// A code is seven characters, written K7QM-3XK for people and K7QM3XK in an
// address. An address is SCHEME://HOST[:PORT]/S/CODE in upper case, so that the
// symbol uses the alphanumeric mode, 5.5 bits a character instead of 8.
//
// All lengths are millimetres; positions are from the top left corner. Sheets
// are named by their dimensions. Print at 100 %: a printer's "fit to page"
// moves every label.
//
// # What it does not do
//
// It knows no sealer, no person and no store, reads no clock and no file, and
// does not check that an address answers.
package labels

import "errors"

// Refusals. Errors returned by this package wrap one of these wherever the
// caller's input is to blame, and then read as sentences a person can act on.
var (
	ErrTooSmall  = errors.New("the label is too small")
	ErrPublicURL = errors.New("the public address cannot go on a label")
	ErrOptions   = errors.New("this cannot be printed as asked")
)

// Label is what is printed on one label or card.
type Label struct {
	Title   string   // large, never shortened: "Sealer 2"
	Lines   []string // under the band, each shortened to fit; empty ones are left out
	Clear   string   // the code in clear text, for when the symbol is worn; may be empty
	Note    string   // one short line at the foot
	Payload string   // what the QR symbol says: see URL and PathURL
}

// Item is a sealer as its label shows it. URL comes from the function URL.
type Item struct {
	Number string // as on every pack: "2", "A"
	Place  string
	Asset  string // asset tag, may be empty
	Code   Code
	URL    string
}

// Label returns the label for the sealer's chassis.
func (i Item) Label() Label {
	lines := []string{i.Place}
	if i.Asset != "" {
		lines = append(lines, "Asset "+i.Asset)
	}
	return Label{
		Title:   "Sealer " + i.Number,
		Lines:   lines,
		Clear:   i.Code.Grouped(),
		Note:    "Scan for the setting",
		Payload: i.URL,
	}
}

// FoundCard returns the card for operating room and storage: whoever finds a
// bad pack scans it, without an account. url comes from PathURL.
func FoundCard(url string) Label {
	return Label{
		Title:   "Found a bad pack?",
		Lines:   []string{"Keep it aside.", "Scan and say what you see."},
		Note:    "No account needed",
		Payload: url,
	}
}
