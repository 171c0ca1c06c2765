package sealing_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

// A display that reads 7 low on a sealer shared by both pouches: the paper/film
// pouch set to 180 was sealed at 187, the nonwoven one set to 125 at 132.
func TestADisplayThatReadsLowMissesOnlyTheNarrowWindow(t *testing.T) {
	found := compile(t, tableOf(t, sealing.DisplayBar, standard(t, "1 °C"),
		"110 °C = 117 °C", "190 °C = 197 °C"))
	film := sealing.Window{Pouch: "Paper/film", Low: q(t, "165 °C"), High: q(t, "200 °C")}
	nonwoven := sealing.Window{Pouch: "Nonwoven", Low: q(t, "120 °C"), High: q(t, "130 °C")}

	faces, err := found.At(q(t, "180 °C"))
	require.NoError(t, err)
	j, err := sealing.JudgeFound(film, faces, 0)
	require.NoError(t, err)
	require.Equal(t, sealing.WindowKept, j.Effect)

	faces, err = found.At(q(t, "125 °C"))
	require.NoError(t, err)
	j, err = sealing.JudgeFound(nonwoven, faces, 0)
	require.NoError(t, err)
	require.Equal(t, sealing.WindowMissed, j.Effect)
	require.InDelta(t, 0.0227501, j.Worst.Probability(), 1e-6) // Phi(-2), JCGM 106
}

func TestJustWithinIsForTheLeadToDecide(t *testing.T) {
	film := sealing.Window{Pouch: "Paper/film", Low: q(t, "170 °C"), High: q(t, "190 °C")}
	face, err := sealing.Measured(sealing.Left, q(t, "171 °C"), standard(t, "1 °C"))
	require.NoError(t, err)
	j, err := sealing.JudgeFound(film, []sealing.Prediction{face}, 0)
	require.NoError(t, err)
	require.Equal(t, sealing.Unclear, j.Effect)
	require.InDelta(t, .841344746069, j.Worst.Probability(), 1e-9) // JCGM 106
	j, err = sealing.JudgeFound(film, []sealing.Prediction{face}, 0.8)
	require.NoError(t, err)
	require.Equal(t, sealing.WindowKept, j.Effect)
}

func TestOnTheLimitIsWithin(t *testing.T) {
	film := sealing.Window{Pouch: "Paper/film", Low: q(t, "170 °C"), High: q(t, "190 °C")}
	for face, effect := range map[string]sealing.Effect{
		"170 °C": sealing.Unclear, "190 °C": sealing.Unclear,
		"169.9 °C": sealing.WindowMissed, "190.1 °C": sealing.WindowMissed,
	} {
		p, err := sealing.Measured(sealing.WholeBar, q(t, face), standard(t, "1 °C"))
		require.NoError(t, err)
		j, err := sealing.JudgeFound(film, []sealing.Prediction{p}, 0)
		require.NoError(t, err)
		require.Equal(t, effect, j.Effect, face)
	}
}

func TestOnePlaceOutsideMissesTheWindow(t *testing.T) {
	film := sealing.Window{Pouch: "Paper/film", Low: q(t, "170 °C"), High: q(t, "190 °C")}
	left, err := sealing.Measured(sealing.Left, q(t, "169.9 °C"), standard(t, "0.1 °C"))
	require.NoError(t, err)
	right, err := sealing.Measured(sealing.Right, q(t, "171 °C"), standard(t, "40 °C"))
	require.NoError(t, err)
	j, err := sealing.JudgeFound(film, []sealing.Prediction{right, left}, 0)
	require.NoError(t, err)
	require.Equal(t, sealing.WindowMissed, j.Effect)

	_, err = sealing.JudgeFound(film, nil, 0)
	require.True(t, fault.Is(err, fault.Invalid))
}

func TestShownIsComparedWithSetExactly(t *testing.T) {
	for _, c := range []struct {
		set, shown, tolerance string
		differs               bool
	}{
		{"180 °C", "173 °C", "5 °C", true},
		{"180 °C", "185 °C", "5 °C", false},
		{"356 °F", "185 °C", "9 °F", false},
		{"356 °F", "185.1 °C", "9 °F", true},
		{"176 °C", "150 °C", "5 °C", true},
		{"180 °C", "180 °C", "", false},
		{"180 °C", "181 °C", "", true},
	} {
		differs, err := sealing.Differs(q(t, c.set), q(t, c.shown), q(t, c.tolerance))
		require.NoError(t, err)
		require.Equal(t, c.differs, differs, "%s %s", c.set, c.shown)
	}
	_, err := sealing.Differs(q(t, "180 °C"), q(t, "7"), q(t, "5 °C"))
	require.Error(t, err)
}
