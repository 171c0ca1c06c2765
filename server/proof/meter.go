package proof

import (
	"crypto/sha256"
	"hash"
	"hash/crc32"
	"io"
)

// Meter passes on what is written and takes down what a pack has to say of it.
type Meter struct {
	to   io.Writer
	size int64
	sum  hash.Hash
	crc  hash.Hash32
}

// NewMeter makes a meter in front of a writer.
func NewMeter(to io.Writer) *Meter { return &Meter{to: to, sum: sha256.New(), crc: crc32.NewIEEE()} }

func (m *Meter) Write(b []byte) (int, error) {
	n, err := m.to.Write(b)
	m.size += int64(n)
	m.sum.Write(b[:n])
	m.crc.Write(b[:n])
	return n, err
}

// Content describes what was written so far as a file of a pack. Open reads it.
func (m *Meter) Content(name string, open func() (io.ReadCloser, error)) Content {
	f := File{Name: name, Size: m.size}
	m.sum.Sum(f.Sum[:0])
	return Content{File: f, CRC: m.crc.Sum32(), Open: open}
}
