package report

import (
	"encoding/json"
	"fmt"
	"io"

	"tidemark/server/proof"
	"tidemark/server/record"
)

// Lines writes records as JSON Lines: the stored bytes, and the private values
// they commit to beside them.
type Lines struct {
	records, sealed io.Writer
	Seqs            []int64 // of the records written
}

// NewLines writes records and private values.
func NewLines(records, sealed io.Writer) *Lines { return &Lines{records: records, sealed: sealed} }

// Write writes a record as it was stored, byte for byte.
func (l *Lines) Write(seq record.Seq, line []byte) error {
	if _, err := l.records.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("write record %d: %w", seq, err)
	}
	l.Seqs = append(l.Seqs, int64(seq))
	return nil
}

// Seal writes a private value of a record.
func (l *Lines) Seal(s proof.SealedLine) error {
	b, err := json.Marshal(s)
	if err == nil {
		_, err = l.sealed.Write(append(b, '\n'))
	}
	if err != nil {
		return fmt.Errorf("write private value of record %d: %w", s.Seq, err)
	}
	return nil
}
