package photo

import (
	"bytes"
	"encoding/binary"
)

// A scan goes over the whole picture and may take a few bytes to write, so a
// small file could keep the decoder busy for hours. ITU-T T.81 allows one scan
// per component where they are sequential; progressive encoders use about ten
// (common practice, no source).
const (
	maxScans            = 4
	maxProgressiveScans = 32
)

// jpegNotes is what the standard decoder does not tell about a JPEG.
type jpegNotes struct {
	progressive bool
	scans       int
	turn        orientation
}

// JPEG markers, ITU-T T.81 table B.1, without their leading FF.
const (
	markerSOF2 = 0xc2 // progressive frame
	markerRST0 = 0xd0
	markerRST7 = 0xd7
	markerEOI  = 0xd9
	markerSOS  = 0xda
	markerAPP1 = 0xe1
)

// readJPEGNotes walks the markers of b up to the end of the picture. It never
// fails: what it cannot follow is for the decoder to refuse.
func readJPEGNotes(b []byte) jpegNotes {
	notes := jpegNotes{turn: 1}
	exif := false
	for i := len("\xff\xd8"); ; {
		marker, at := nextMarker(b, i)
		if marker == markerEOI || at+2 > len(b) {
			return notes
		}
		end := at + int(binary.BigEndian.Uint16(b[at:]))
		if end < at+2 || end > len(b) {
			return notes
		}
		switch segment := b[at+2 : end]; marker {
		case markerSOF2:
			notes.progressive = true
		case markerSOS:
			notes.scans++
		case markerAPP1:
			if tiff, ok := bytes.CutPrefix(segment, []byte("Exif\x00\x00")); ok && !exif {
				notes.turn, exif = tiffOrientation(tiff), true
			}
		}
		i = end
	}
}

// nextMarker finds the next marker at or after i, and the place behind it. It
// passes over picture data, in which FF is always followed by 00 or a restart
// marker (T.81 B.1.1.5), and over stray bytes as decoders do. At the end of b it
// gives the end of the picture.
func nextMarker(b []byte, i int) (marker byte, at int) {
	for {
		n := bytes.IndexByte(b[i:], 0xff)
		if n < 0 || i+n+1 >= len(b) {
			return markerEOI, len(b)
		}
		i += n + 1
		switch m := b[i]; {
		case m == 0xff: // a fill byte: the marker may follow it
		case m == 0 || markerRST0 <= m && m <= markerRST7:
			i++
		default:
			return m, i + 1
		}
	}
}

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngOrientation reads the eXIf chunk (PNG, third edition) if b, a PNG
// that decodes, has one.
func pngOrientation(b []byte) orientation {
	const frame = 12 // length, type and CRC around a chunk's data
	for b = b[len(pngSignature):]; len(b) >= frame; {
		n := binary.BigEndian.Uint32(b)
		if uint64(n) > uint64(len(b)-frame) {
			break
		}
		if string(b[4:8]) == "eXIf" {
			return tiffOrientation(b[8 : 8+n])
		}
		b = b[frame+n:]
	}
	return 1
}

// tiffOrientation finds the Orientation tag in the first directory of a TIFF
// block (TIFF 6.0, section 2), the shape of Exif. It gives 1 where there is none
// or the block is damaged: an odd tag is no reason to refuse a photograph.
func tiffOrientation(b []byte) orientation {
	const tagOrientation, typeShort, entrySize = 0x0112, 3, 12
	var order binary.ByteOrder = binary.BigEndian
	if bytes.HasPrefix(b, []byte("II")) {
		order = binary.LittleEndian
	}
	if len(b) < 8 || order.Uint16(b[2:]) != 42 {
		return 1
	}
	start := uint64(order.Uint32(b[4:]))
	if start+2 > uint64(len(b)) {
		return 1
	}
	entries := b[start+2:]
	for range order.Uint16(b[start:]) {
		if len(entries) < entrySize {
			break
		}
		if order.Uint16(entries) == tagOrientation && order.Uint16(entries[2:]) == typeShort {
			return orientation(order.Uint16(entries[8:]))
		}
		entries = entries[entrySize:]
	}
	return 1
}
