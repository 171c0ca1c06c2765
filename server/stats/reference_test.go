package stats_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// reference reads the columns of a published table.
func reference(t testing.TB, name string) map[string][]float64 {
	b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", name))
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(b))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	columns := make(map[string][]float64)
	for _, row := range rows[1:] {
		for i, cell := range row {
			x, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			columns[rows[0][i]] = append(columns[rows[0][i]], x)
		}
	}
	return columns
}

// requireDigits asks for that many significant digits.
func requireDigits(t testing.TB, want, got float64, digits int, of string) {
	t.Helper()
	require.InDelta(t, want, got, math.Abs(want)*0.5*math.Pow10(1-digits), of)
}
