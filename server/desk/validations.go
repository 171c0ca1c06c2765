package desk

import (
	"context"
	"strings"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// MadeIn is what the seals of a validation were made of and at. Unit is that of
// a setting typed without one.
type MadeIn struct {
	Pouch   record.ID `form:"pouch" json:"pouch"`
	Setting string    `form:"setting" json:"setting"`
	Unit    string    `form:"unit" json:"unit,omitempty"`
	Lot     string    `form:"lot" json:"lot,omitempty"`
}

func (in MadeIn) made(s *rules.Sealer, scale sealing.Unit) (record.SealsMade, error) {
	unit := controlUnit(s.Type, scale)
	if in.Unit == string(sealing.Seconds) {
		unit = sealing.Seconds
	}
	q, err := typed("setting", in.Setting, unit)
	return record.SealsMade{Pouch: in.Pouch, Setting: q, Lot: in.Lot}, err
}

// StrengthIn is a test of seal strength. Strips are numbers apart by spaces,
// lines or semicolons, without units: a comma is a decimal comma.
type StrengthIn struct {
	From
	Code string `param:"code" json:"-"`
	MadeIn
	Strips     string `form:"strips" json:"strips"`
	StripsUnit string `form:"strips_unit" json:"strips_unit"` // N/15mm or lbf/in
	Minimum    string `form:"minimum" json:"minimum"`
	Method     string `form:"method" json:"method,omitempty"`
}

// TestStrength records a test of seal strength.
func (d *Desk) TestStrength(ctx context.Context, who Caller, in StrengthIn) (Done, error) {
	return d.tryOut(ctx, who, "TestStrength", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			made, err := in.made(s, d.scale(who, sealing.Unit(in.Unit)))
			if err != nil {
				return nil, nil, err
			}
			b := &record.StrengthTested{SealsMade: made, Strips: several(in.Strips), Unit: in.StripsUnit,
				Method: in.Method}
			b.Minimum, err = typed("minimum", in.Minimum, sealing.NewtonsPer15mm)
			return b, nil, err
		})
}

// WidthIn tells how wide the ribs of a seal are. Ribs are apart as Strips are.
type WidthIn struct {
	From
	Code string `param:"code" json:"-"`
	MadeIn
	Ribs     string `form:"ribs" json:"ribs"`
	RibsUnit string `form:"ribs_unit" json:"ribs_unit"` // mm or in
	Least    string `form:"least" json:"least"`
}

// MeasureWidth records the width of a seal.
func (d *Desk) MeasureWidth(ctx context.Context, who Caller, in WidthIn) (Done, error) {
	return d.tryOut(ctx, who, "MeasureWidth", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			made, err := in.made(s, d.scale(who, sealing.Unit(in.Unit)))
			if err != nil {
				return nil, nil, err
			}
			b := &record.WidthMeasured{SealsMade: made, Ribs: several(in.Ribs), Unit: in.RibsUnit}
			b.Least, err = typed("least", in.Least, sealing.Millimetres)
			return b, nil, err
		})
}

// several takes apart numbers that stand in one field.
func several(text string) []string {
	list := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t\r\n;", r) })
	return append([]string{}, list...) // never null in a record
}

// SterilizedIn tells how many seals were tested before and after sterilizing,
// and how many of them were good.
type SterilizedIn struct {
	From
	Code string `param:"code" json:"-"`
	MadeIn
	Process    string `form:"process" json:"process"`
	Load       string `form:"load" json:"load,omitempty"`
	Before     int    `form:"before" json:"before"`
	BeforeGood int    `form:"before_good" json:"before_good"`
	After      int    `form:"after" json:"after"`
	AfterGood  int    `form:"after_good" json:"after_good"`
}

// TestSterilized records a test of seals before and after sterilizing.
func (d *Desk) TestSterilized(ctx context.Context, who Caller, in SterilizedIn) (Done, error) {
	return d.tryOut(ctx, who, "TestSterilized", in.From, in.Code,
		func(s *rules.Sealer) (record.Body, *sealing.Curve, error) {
			made, err := in.made(s, d.scale(who, sealing.Unit(in.Unit)))
			return &record.AfterSterilizing{SealsMade: made, Process: strings.TrimSpace(in.Process),
				Load: in.Load, Before: in.Before, BeforeGood: in.BeforeGood, After: in.After,
				AfterGood: in.AfterGood}, nil, err
		})
}
