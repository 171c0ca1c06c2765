// Package sealing turns what a pouch needs into what a sealer must be set to.
//
// It is pure: values in, values out. It knows no clock, disk, network or HTTP,
// and nothing in it changes what a technician sees: it answers a lead who is
// about to approve a setting, and warns afterwards.
//
// # Questions and calls
//
//	what did they type?                  ParseQuantity, then QuestionScale, Table.Questions
//	which window do these pouches share? Intersect, or a *Clash that names two
//	what do the positions mean?          Table.Compile once, then Curve.At
//	which position, or reading, is best? Request.Propose
//	is an approved setting still good?   Curve.At it, then JudgeFound
//	what was sealed out of tolerance?    Measured or Curve.At, then JudgeFound for each pouch
//	no thermometer?                      Ladder.Assess
//	does the display show what is set?   Differs
//	does the heat drift?                 Series.Assess
//	are seals strong and wide enough?    StrengthTest.Assess, SealWidth
//
// # Numbers
//
// What people type is a [Decimal] with a [Unit], together a [Quantity]. Both
// are exact: no float is in them, so a record written on one machine is read
// alike on every other. A record stores the typed text and the unit's text; the
// texts of the units never change. Floats live only in predictions, which are
// computed again whenever they are wanted and are never stored. Where floats
// decide between positions they are rounded first, so that every machine
// proposes the same.
//
// All temperatures are degrees Celsius inside, times seconds, speeds metres per
// minute, lengths millimetres, seal strengths newtons per 15 mm, pressures
// kilopascal.
//
// Inputs that cannot be taken come back as a [fault.Invalid] whose Field names
// the form field. A [Warning] refuses nothing.
//
// # What it does not do
//
// It approves nothing, stores nothing and draws nothing. Its limits for common
// pouches are questions to the person typing, never rules: the instructions for
// use (IFU) of the pouch decide.
package sealing
