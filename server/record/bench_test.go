package record_test

import (
	"testing"

	"tidemark/server/record"
)

func BenchmarkAppend(b *testing.B) {
	r := sample(b)
	line := r.Append(nil)
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		line = r.Append(line[:0])
	}
}

func BenchmarkParse(b *testing.B) {
	r := sample(b)
	line := r.Append(nil)
	b.SetBytes(int64(len(line)))
	for b.Loop() {
		if _, err := record.Parse(line); err != nil {
			b.Fatal(err)
		}
	}
}
