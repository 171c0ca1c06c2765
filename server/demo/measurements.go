package demo

import (
	"strconv"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// measurements: clinical engineering measured what the marks of sealer 1 mean, and
// reads one mark again every few days. It grows warmer, slowly.
func (h *house) measurements() {
	probe := desk.InstrumentIn{Instrument: "Contact probe 3", Certificate: "C-1187", Due: h.today + 200}
	known := desk.KnownIn{Known: "1.5 °C", Stated: "expanded"}
	h.at(h.weekday(66), "13:20", func() {
		p := h.as(brannock)
		in := desk.TableIn{From: p.from(p.page(one, paper).Size), Code: h.codes[one], Source: record.Measured, Scale: "degC",
			KnownIn: known, InstrumentIn: probe}
		for i, mark := range []string{"6", "6 1/2", "7", "7 1/2", "8", "9"} {
			middle := []float64{161.5, 168, 175.5, 182.5, 189.5, 203.5}[i]
			in.Points = append(in.Points, desk.PointIn{Place: record.Left, Position: mark, Face: degrees(middle - 2)},
				desk.PointIn{Place: record.Middle, Position: mark, Face: degrees(middle)},
				desk.PointIn{Place: record.Right, Position: mark, Face: degrees(middle - 1.5)})
		}
		_, err := h.desk.EnterTable(h.ctx, p.caller, in)
		h.keep("enter table of sealer 1", err)
	})
	for i, face := range []float64{182.4, 182.9, 183.1, 183.8, 184.0, 184.7, 185.2} {
		h.at(h.weekday(65-10*i), "13:40", func() {
			p := h.as(brannock)
			_, err := h.desk.RecordReading(h.ctx, p.caller, desk.ReadingIn{From: p.from(p.page(one, paper).Size), Code: h.codes[one],
				Setting: "7 1/2", Place: record.Middle, Face: degrees(face), Scale: "degC", KnownIn: known, InstrumentIn: probe})
			h.keep("enter reading of sealer 1", err)
		})
	}
}

func degrees(c float64) string { return strconv.FormatFloat(c, 'f', 1, 64) }
