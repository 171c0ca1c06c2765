package ledger

import "testing"

func BenchmarkFull256(b *testing.B) {
	for b.Loop() {
		b.ReportMetric(perSecond(256, appendFull(b)), "full/s")
	}
}
