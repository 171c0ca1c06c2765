package labels

import (
	"fmt"
	"iter"
	"math"

	"github.com/skip2/go-qrcode"
)

const (
	quiet       = 4   // modules kept white around a symbol: ISO/IEC 18004
	leastModule = 0.4 // mm; smaller ones are lost by office printers and wear
)

// symbol is a QR symbol without its quiet zone.
type symbol struct {
	dark [][]bool // dark[y][x], square
}

// newSymbol encodes payload in the smallest version that holds it.
func newSymbol(payload string, level qrcode.RecoveryLevel) (symbol, error) {
	q, err := qrcode.New(payload, level)
	if err != nil {
		return symbol{}, fmt.Errorf("encode QR symbol: %w", err)
	}
	bits := q.Bitmap()
	bits = bits[quiet : len(bits)-quiet]
	for y := range bits {
		bits[y] = bits[y][quiet : len(bits[y])-quiet]
	}
	return symbol{dark: bits}, nil
}

// fitSymbol returns the sturdiest symbol for payload that fits a square of
// side mm, quiet zone included, and the width of its modules. On a device with
// dots, dot mm apart, a module is a whole number of dots; dot 0 means finely
// divided. When nothing fits, need is the side that would do.
func fitSymbol(payload string, side, dot float64) (s symbol, module, need float64, err error) {
	for _, level := range []qrcode.RecoveryLevel{qrcode.Highest, qrcode.High} { // H, then Q
		if s, err = newSymbol(payload, level); err != nil {
			continue // Q holds more than H
		}
		across := float64(len(s.dark) + 2*quiet)
		module, need = side/across, across*leastModule
		if dot > 0 {
			module = dot * math.Floor(module/dot+1e-6)
			need = across * dot * math.Ceil(leastModule/dot-1e-6)
		}
		if module >= leastModule-1e-9 {
			return s, module, need, nil
		}
	}
	return symbol{}, 0, need, err
}

// run is w dark modules beside each other, starting at column x of row y.
type run struct{ x, y, w int }

// runs yields the dark modules, row by row.
func (s symbol) runs() iter.Seq[run] {
	return func(yield func(run) bool) {
		for y, row := range s.dark {
			for x := 0; x < len(row); x++ {
				from := x
				for x < len(row) && row[x] {
					x++
				}
				if x > from && !yield(run{from, y, x - from}) {
					return
				}
			}
		}
	}
}

// Terminal returns payload as a QR symbol of block characters, two rows of
// modules to a line, for a terminal with light text on a dark background. A
// screen does not wear: level M.
func Terminal(payload string) (string, error) {
	q, err := qrcode.New(payload, qrcode.Medium)
	if err != nil {
		return "", fmt.Errorf("encode QR symbol: %w", err)
	}
	return q.ToSmallString(false), nil
}
