package proof

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
)

// Files of a record pack, beside what people read.
const (
	RecordsName    = "records.jsonl"   // the records, stored bytes, one a line, by rising number
	SealedName     = "sealed.jsonl"    // a SealedLine for each private value
	CheckpointName = "checkpoint.txt"  // the signed checkpoint
	InclusionName  = "inclusion.txt"   // the inclusion proof of all records
	KeysName       = "keys.txt"        // the ledger's public keys, one a line, the oldest first
	ChangesName    = "key-changes.txt" // signed notes, by each of which a key gave way to the next
)

// changesMark stands alone on the line behind a note of ChangesName; no note has
// such a line.
const changesMark = "=\n"

// JoinKeyChanges writes the notes of changes as ChangesName holds them.
func JoinKeyChanges(notes [][]byte) string {
	var text strings.Builder
	for _, n := range notes {
		text.Write(n)
		text.WriteString(changesMark)
	}
	return text.String()
}

// SplitKeyChanges reads them back; nothing of them is believed yet: see FollowKeys.
func SplitKeyChanges(text string) (notes [][]byte) {
	for {
		n, rest, found := strings.Cut(text, "\n"+changesMark)
		if !found {
			return notes
		}
		notes, text = append(notes, []byte(n+"\n")), rest
	}
}

// SealedLine is a private value that a record of the pack commits to, or when it
// was removed. Salt is in hex.
type SealedLine struct {
	Seq     int64  `json:"seq"`
	Field   string `json:"field"`
	Domain  string `json:"domain,omitempty"`
	Salt    string `json:"salt,omitempty"`
	Value   string `json:"value,omitempty"`
	Removed string `json:"removed,omitempty"` // the day, as YYYY-MM-DD
}

// CheckRecords reports whether the records of a pack are, byte for byte, records
// of the ledger whose checkpoint its manifest signs, and how many there are.
func (p *Pack) CheckRecords() (int, error) {
	leaves, err := p.leaves()
	if err != nil {
		return 0, fmt.Errorf("check records of pack: %w", err)
	}
	text, err := p.Read(InclusionName)
	if err != nil {
		return 0, fmt.Errorf("check records of pack: %w", err)
	}
	inclusion, err := ParseInclusion(string(text))
	if err == nil {
		err = inclusion.Check(p.Checkpoint, leaves)
	}
	if err != nil {
		return 0, fmt.Errorf("check records of pack: %w", err)
	}
	return len(leaves), nil
}

// leaves reads the records of a pack with the numbers that they bear.
func (p *Pack) leaves() (leaves []Leaf, err error) {
	data, err := p.Read(RecordsName)
	if err != nil {
		return nil, err
	}
	if len(data) > 0 && data[len(data)-1] != '\n' {
		return nil, errors.New("the last record has no end")
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, len(data)+1)
	for lines.Scan() {
		var numbered struct {
			Seq *int64 `json:"seq"`
		}
		if err := json.Unmarshal(lines.Bytes(), &numbered); err != nil || numbered.Seq == nil {
			return nil, fmt.Errorf("line %d is no record", len(leaves)+1)
		}
		leaves = append(leaves, Leaf{Seq: *numbered.Seq, Bytes: bytes.Clone(lines.Bytes())})
	}
	return leaves, lines.Err()
}
