package labels

import (
	"io"
	"testing"

	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/require"
)

// A sheet of 24 labels, beside what no design could avoid: encoding its 24
// symbols, and a page with the same fonts and one word.
func BenchmarkSheetOf24(b *testing.B) {
	sheet, _ := FindSheet("a4-3x8")
	labels := sealers(b, 24, usualAddress)
	b.Run("sheet", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.NoError(b, PDF(io.Discard, sheet, labels, Options{Made: made}))
		}
	})
	b.Run("symbols alone", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			for _, l := range labels {
				q, err := qrcode.New(l.Payload, qrcode.Highest)
				require.NoError(b, err)
				q.Bitmap()
			}
		}
	})
	b.Run("fonts alone", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			doc := newPDF(sheet.Page, "", Options{Made: made})
			doc.f.AddPage()
			doc.text(10, 10, 5, regular, "Sealer")
			doc.text(10, 20, 5, bold, "Sealer")
			require.NoError(b, doc.write(io.Discard))
		}
	})
}

func BenchmarkPNGOfOneLabel(b *testing.B) {
	sheet, _ := FindSheet("single-62x29")
	label := sealers(b, 1, usualAddress)[0]
	for b.Loop() {
		require.NoError(b, PNG(io.Discard, sheet, label, 300))
	}
}
