// Package packlist reads lists of packs that a department's own system wrote:
// delimited text (RFC 4180, with the separators and encodings that are met in
// practice), a first line with the names of the columns, a pack or several in a
// row. It streams: of a file of any length it keeps a row and, of each 256 rows,
// 40 bytes (Index), by which the rows of a sealer and a time are found again
// without reading the others.
//
// Nothing is guessed when a list is taken: how dates are written, in which zone,
// and what the time is the time of are stated (record.PackColumns). A row that
// cannot be read is told by its line, with the reason; it never ends the reading.
//
// The package knows no clock, disk or store.
package packlist

// Limits of a list.
const (
	MaxBytes = 20 << 20
	MaxCells = 1_000_000
	maxCell  = 400 // bytes
)
