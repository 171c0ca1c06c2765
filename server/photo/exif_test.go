package photo_test

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// exif is a hand-written Exif block (TIFF 6.0 section 2; CIPA DC-008 4.6 for
// the tags), as a phone would write it.
type exif struct {
	orientation  uint16
	littleEndian bool
	place        bool // with a GPS directory: 12 34.5678 S, 23 45.6789 W, open sea
}

type entry struct {
	tag, kind uint16
	count     uint32
	value     []byte // at most 4 bytes stand in the entry, more behind the directory
}

const (
	kindASCII, kindShort, kindLong, kindRational = 2, 3, 4, 5
	noDirectory                                  = 0
)

// tiff gives the block from its byte order mark on.
func (e exif) tiff() []byte {
	mark, order := "MM", binary.AppendByteOrder(binary.BigEndian)
	if e.littleEndian {
		mark, order = "II", binary.LittleEndian
	}
	b := order.AppendUint32(order.AppendUint16([]byte(mark), 42), 8)
	main := []entry{
		{0x010e, kindASCII, 16, []byte("Pouch at 12.576\x00")},
		{0x0112, kindShort, 1, order.AppendUint16(nil, e.orientation)},
	}
	if !e.place {
		return appendDirectory(b, order, main)
	}
	gps := uint32(8 + 2 + 3*12 + 4 + 16) // behind the main directory and its text
	main = append(main, entry{0x8825, kindLong, 1, order.AppendUint32(nil, gps)})
	rationals := func(values ...uint32) (b []byte) {
		for _, v := range values {
			b = order.AppendUint32(b, v)
		}
		return b
	}
	return appendDirectory(appendDirectory(b, order, main), order, []entry{
		{1, kindASCII, 2, []byte("S\x00")},
		{2, kindRational, 3, rationals(12, 1, 345678, 10000, 0, 1)},
		{3, kindASCII, 2, []byte("W\x00")},
		{4, kindRational, 3, rationals(23, 1, 456789, 10000, 0, 1)},
		{29, kindASCII, 11, []byte("2026:03:04\x00")},
	})
}

func appendDirectory(b []byte, order binary.AppendByteOrder, entries []entry) []byte {
	behind := uint32(len(b) + 2 + 12*len(entries) + 4)
	var far []byte
	b = order.AppendUint16(b, uint16(len(entries)))
	for _, e := range entries {
		b = order.AppendUint32(order.AppendUint16(order.AppendUint16(b, e.tag), e.kind), e.count)
		if len(e.value) > 4 {
			b = order.AppendUint32(b, behind+uint32(len(far)))
			far = append(far, e.value...)
			continue
		}
		b = append(b, append(slices.Clone(e.value), 0, 0, 0, 0)[:4]...)
	}
	return append(order.AppendUint32(b, noDirectory), far...)
}

// segment frames a JPEG marker segment (ITU-T T.81 B.1.1.4).
func segment(marker byte, payload []byte) []byte {
	b := binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(payload)+2))
	return append(b, payload...)
}

func exifSegment(e exif) []byte {
	return segment(0xe1, append([]byte("Exif\x00\x00"), e.tiff()...))
}

// xmpSegment is the second place where phones leave a position, as text.
func xmpSegment() []byte {
	return segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00"+
		`<x:xmpmeta exif:GPSLatitude="12,34.5678S" exif:GPSLongitude="23,45.6789W"/>`))
}

// withSegments puts segments behind the start of a JPEG.
func withSegments(jpeg []byte, segments ...[]byte) []byte {
	return slices.Concat(jpeg[:2], bytes.Join(segments, nil), jpeg[2:])
}
