package packlist

import (
	"io"
	"slices"

	"tidemark/server/record"
)

// blockRows is how many rows make a block of an index.
const blockRows = 256

// Index says of each block of rows when they were sealed and on which sealers.
// It is derived: a list read again gives it again.
type Index struct {
	terms   Terms
	layout  layout
	sealers []string
	blocks  []block
}

// block is a run of rows.
type block struct {
	offset   int64
	line     int
	from, to record.Time
	sealers  uint64 // a bit for each of the first 63; the last stands for all others
}

// Summary is what a whole list comes to.
type Summary struct {
	Rows, Packs int
	Bad         int
	First, Last record.Time
	Sealers     []string
	Index       *Index
}

// Scan reads a list to its end. Each is called with every row, good or bad; it
// may be nil.
func Scan(r io.Reader, t Terms, each func(Row, *Bad)) (*Summary, error) {
	reader, err := Open(r, t)
	if err != nil {
		return nil, err
	}
	s := &Summary{Index: &Index{terms: t, layout: reader.layout}}
	in := 0 // rows in the last block, bad ones too
	for {
		row, bad, err := reader.Next()
		if err == io.EOF {
			s.Sealers = slices.Sorted(slices.Values(s.Index.sealers))
			return s, nil
		}
		if err != nil {
			return nil, err
		}
		if each != nil {
			each(row, bad)
		}
		if in++; in > blockRows || len(s.Index.blocks) == 0 {
			line := row.Line
			if bad != nil {
				line = bad.Line
			}
			s.Index.blocks, in = append(s.Index.blocks, block{offset: row.Offset, line: line}), 1
		}
		if bad != nil {
			s.Bad++
			continue
		}
		s.add(row)
	}
}

func (s *Summary) add(row Row) {
	s.Rows, s.Packs = s.Rows+1, s.Packs+row.Count
	if s.First == 0 || row.At.From < s.First {
		s.First = row.At.From
	}
	s.Last = max(s.Last, row.At.To)
	b := &s.Index.blocks[len(s.Index.blocks)-1]
	if b.from == 0 || row.At.From < b.from {
		b.from = row.At.From
	}
	b.to = max(b.to, row.At.To)
	b.sealers |= s.Index.bit(row.Sealer)
}

// bit stands for a sealer in the blocks.
func (x *Index) bit(number string) uint64 {
	at := slices.Index(x.sealers, number)
	if at < 0 {
		at, x.sealers = len(x.sealers), append(x.sealers, number)
	}
	return 1 << min(at, 63)
}

// Find calls each with the rows of a sealer that touch a span, in the order of
// the file. At opens the text from an offset on; only blocks that can hold such
// rows are read.
func (x *Index) Find(number string, span record.Span, at func(offset, length int64) (io.ReadCloser, error), each func(Row)) error {
	place := slices.Index(x.sealers, number)
	if place < 0 {
		return nil
	}
	bit := uint64(1) << min(place, 63)
	for i, b := range x.blocks {
		if b.sealers&bit == 0 || b.to < span.From || b.from > span.To {
			continue
		}
		length := int64(-1) // to the end
		if i+1 < len(x.blocks) {
			length = x.blocks[i+1].offset - b.offset
		}
		if err := x.read(b, length, at, func(row Row) {
			if row.Sealer == number && row.At.To >= span.From && row.At.From <= span.To {
				each(row)
			}
		}); err != nil {
			return err
		}
	}
	return nil
}

func (x *Index) read(b block, length int64, at func(offset, length int64) (io.ReadCloser, error), each func(Row)) error {
	text, err := at(b.offset, length)
	if err != nil {
		return err
	}
	defer text.Close()
	r := newReader(text, x.terms)
	r.layout, r.base, r.first = x.layout, b.offset, b.line
	for {
		row, bad, err := r.Next()
		switch {
		case err == io.EOF:
			return nil
		case err != nil:
			return err
		case bad == nil:
			each(row)
		}
	}
}

// At opens the text of a list from an offset on, so many bytes of it or, with -1,
// all; file is the file as it is stored.
func At(file io.ReadSeeker, encoding string, offset, length int64) (io.Reader, error) {
	if encoding == "" || encoding == "utf-8" {
		head := make([]byte, len(bom))
		n, _ := io.ReadFull(file, head) // a shorter file has no mark
		if string(head[:n]) == string(bom) {
			offset += int64(len(bom))
		}
		if _, err := file.Seek(offset, io.SeekStart); err != nil {
			return nil, err
		}
		return limit(file, length), nil
	}
	text, err := utf8Of(file, encoding)
	if err != nil {
		return nil, err
	}
	if _, err := io.CopyN(io.Discard, text, offset); err != nil {
		return nil, err
	}
	return limit(text, length), nil
}

func limit(r io.Reader, n int64) io.Reader {
	if n < 0 {
		return r
	}
	return io.LimitReader(r, n)
}
