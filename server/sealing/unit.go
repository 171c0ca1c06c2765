package sealing

import (
	"math/big"
	"strings"
)

// Unit is what a number is counted in. Its text is stored in records: add
// units, never change a text.
type Unit string

const (
	Mark           Unit = "mark" // a position on a dial or switch; no physical unit
	Celsius        Unit = "degC"
	Fahrenheit     Unit = "degF"
	Seconds        Unit = "s"
	MetresPerMin   Unit = "m/min"
	FeetPerMin     Unit = "ft/min"
	Millimetres    Unit = "mm"
	Centimetres    Unit = "cm"
	Inches         Unit = "in"
	NewtonsPer15mm Unit = "N/15mm"
	PoundsPerInch  Unit = "lbf/in"
	Kilopascals    Unit = "kPa"
	Bars           Unit = "bar"
	PoundsPerSqIn  Unit = "psi"
)

// Dimension is what a unit measures, in words that fit a sentence.
type Dimension string

const (
	Position    Dimension = "a mark"
	Temperature Dimension = "a temperature"
	Time        Dimension = "a time"
	Speed       Dimension = "a speed"
	Length      Dimension = "a length"
	Strength    Dimension = "a seal strength"
	Pressure    Dimension = "a pressure"
)

// measure says how a unit relates to the base unit of its dimension:
// base = (value - zero) * scale, exactly. Source of the factors: NIST SP 811,
// Appendix B (1 lbf = 4.4482216152605 N and 1 in = 25.4 mm are exact).
type measure struct {
	dimension   Dimension
	symbol      string // as it stands beside a number
	zero, scale *big.Rat
	spellings   string // other ways to type it: lower case, no spaces, no degree sign
}

var units = map[Unit]measure{
	Mark:           {Position, "", rat("0"), rat("1"), ""},
	Celsius:        {Temperature, "°C", rat("0"), rat("1"), "c degc degreesc celsius ℃"},
	Fahrenheit:     {Temperature, "°F", rat("32"), rat("5/9"), "f degf degreesf fahrenheit ℉"},
	Seconds:        {Time, "s", rat("0"), rat("1"), "s sec secs second seconds"},
	MetresPerMin:   {Speed, "m/min", rat("0"), rat("1"), "m/min mpm"},
	FeetPerMin:     {Speed, "ft/min", rat("0"), rat("0.3048"), "ft/min fpm"},
	Millimetres:    {Length, "mm", rat("0"), rat("1"), "mm"},
	Centimetres:    {Length, "cm", rat("0"), rat("10"), "cm"},
	Inches:         {Length, "in", rat("0"), rat("25.4"), "in inch inches"},
	NewtonsPer15mm: {Strength, "N/15 mm", rat("0"), rat("1"), "n/15mm"},
	PoundsPerInch:  {Strength, "lbf/in", rat("0"), lbfPerInch(), "lbf/in lb/in"},
	Kilopascals:    {Pressure, "kPa", rat("0"), rat("1"), "kpa"},
	Bars:           {Pressure, "bar", rat("0"), rat("100"), "bar"},
	PoundsPerSqIn:  {Pressure, "psi", rat("0"), psi(), "psi lbf/in2 lbf/in²"},
}

// spelled finds a unit by any of its spellings.
var spelled = func() map[string]Unit {
	m := make(map[string]Unit)
	for u, d := range units {
		for _, s := range strings.Fields(d.spellings) {
			m[s] = u
		}
	}
	return m
}()

// UnitNamed finds a unit by the way people type it: "°F", "degF", "sec",
// "N/15 mm". ok is false if there is none.
func UnitNamed(typed string) (u Unit, ok bool) {
	s := strings.Join(strings.Fields(strings.ToLower(typed)), "")
	u, ok = spelled[strings.TrimLeft(s, "°º˚")]
	return u, ok
}

// Known reports whether u is one of the units above.
func (u Unit) Known() bool { _, ok := units[u]; return ok }

// Dimension returns what u measures, "" for an unknown unit.
func (u Unit) Dimension() Dimension { return units[u].dimension }

// Symbol returns u as it stands beside a number, "" for a mark.
func (u Unit) Symbol() string { return units[u].symbol }

// rat reads a constant of this file, in a form that big.Rat takes.
func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("sealing: constant " + s + " is not a number")
	}
	return r
}

// lbfPerInch is one pound-force per inch in newtons per 15 mm.
func lbfPerInch() *big.Rat {
	r := new(big.Rat).Mul(rat("4.4482216152605"), rat("15"))
	return r.Quo(r, rat("25.4"))
}

// psi is one pound-force per square inch in kilopascal: N/mm² is MPa.
func psi() *big.Rat {
	r := new(big.Rat).Mul(rat("4.4482216152605"), rat("1000"))
	return r.Quo(r, rat("645.16"))
}
