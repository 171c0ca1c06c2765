package proof

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/mod/sumdb/tlog"
)

// Checkpoint says what a ledger was at one moment: how many records it had and
// the root of the tree over them. All that came before is fixed by it.
type Checkpoint struct {
	Origin string // the ledger's own name; printable ASCII, no space, no plus
	Size   int64  // number of leaves
	Root   Hash
}

// NewCheckpoint reads the root of the tree of the given size from r.
func NewCheckpoint(origin string, size int64, r Reader) (Checkpoint, error) {
	if err := checkSize(size); err != nil {
		return Checkpoint{}, fmt.Errorf("read root: %w", err)
	}
	root, err := tlog.TreeHash(size, r)
	if err != nil {
		return Checkpoint{}, fmt.Errorf("read root of %d leaves: %w", size, err)
	}
	return Checkpoint{origin, size, root}, nil
}

// ParseCheckpoint is the inverse of Text. It takes no extension lines.
func ParseCheckpoint(text string) (Checkpoint, error) {
	lines := strings.Split(text, "\n")
	if len(lines) != 4 {
		return Checkpoint{}, errors.New("parse checkpoint: want three lines")
	}
	// A wrong size or root gives a zero here, which then is not the text.
	size, _ := strconv.ParseInt(lines[1], 10, 64)
	root, _ := tlog.ParseHash(lines[2])
	c := Checkpoint{lines[0], size, root}
	if err := c.valid(); err != nil {
		return Checkpoint{}, fmt.Errorf("parse checkpoint: %w", err)
	}
	if c.Text() != text {
		return Checkpoint{}, errors.New("parse checkpoint: size or root is not as it is written")
	}
	return c, nil
}

// Text returns the three lines of the checkpoint, as C2SP tlog-checkpoint has
// them.
func (c Checkpoint) Text() string {
	return fmt.Sprintf("%s\n%d\n%s\n", c.Origin, c.Size, encode(c.Root))
}

// Short returns the size and the first eight hex digits of the root, such as
// "1204 9f3a00c1": what stands on every page, mail and print, so that each of
// them is a witness.
func (c Checkpoint) Short() string { return fmt.Sprintf("%d %x", c.Size, c.Root[:4]) }

func (c Checkpoint) valid() error {
	if err := checkSize(c.Size); err != nil {
		return err
	}
	return CheckOrigin(c.Origin)
}

// CheckOrigin reports whether origin can name a ledger and its keys. A
// schema-less address is best, such as "spd.hospital.example/ledger".
func CheckOrigin(origin string) error {
	odd := func(r rune) bool { return r <= ' ' || r == '+' || r > unicode.MaxASCII || r == 0x7f }
	if origin == "" || len(origin) > 200 || strings.ContainsFunc(origin, odd) {
		return fmt.Errorf("origin %q: want 1 to 200 printable ASCII characters, no space or plus",
			origin)
	}
	return nil
}

func encode(h Hash) string { return base64.StdEncoding.EncodeToString(h[:]) }
