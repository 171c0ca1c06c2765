package sealing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

// ladder reads steps like "3 good", "2 weak" or "6 burnt".
func ladder(t testing.TB, steps ...string) sealing.Ladder {
	results := map[string]sealing.Step{
		"good":    {Dye: sealing.Pass, Peel: sealing.Pass, Look: sealing.Even},
		"weak":    {Dye: sealing.Pass, Peel: sealing.Fail, Look: sealing.Even},
		"channel": {Dye: sealing.Fail, Peel: sealing.Pass, Look: sealing.Even},
		"open":    {Look: sealing.Open},
		"burnt":   {Look: sealing.Burnt},
		"torn":    {Dye: sealing.Pass, Peel: sealing.Pass, Look: sealing.Torn},
		"no-dye":  {Peel: sealing.Pass, Look: sealing.Even},
		"no-peel": {Dye: sealing.Pass, Look: sealing.Even},
		"no-look": {Dye: sealing.Pass, Peel: sealing.Pass},
	}
	var l sealing.Ladder
	for _, s := range steps {
		i := strings.LastIndex(s, " ")
		step, ok := results[s[i+1:]]
		require.True(t, ok, s)
		step.Setting = q(t, s[:i])
		l.Steps = append(l.Steps, step)
	}
	return l
}

func TestALadderProposesAStepBetween(t *testing.T) {
	c, err := ladder(t, "5 good", "2 open", "3 weak", "3 1/2 good", "4 good", "6 burnt",
		"4½ good").Assess()
	require.NoError(t, err)
	require.Equal(t, "3½", c.FirstPass.String())
	require.Equal(t, "6", c.FirstOver.String())
	require.Len(t, c.Passed, 4)
	require.Equal(t, "4", c.Proposal.String(), "of the two in the middle the lower")
	require.Empty(t, c.Warnings)
}

func TestASettingPassesOnlyIfAllItsSealsDo(t *testing.T) {
	c, err := ladder(t, "0.6 s weak", "0.8 s good", "0.80 s channel", "1 s good",
		"1.2 s torn").Assess()
	require.NoError(t, err)
	require.Equal(t, "1 s", c.Proposal.String())
	require.Len(t, c.Warnings, 1)
	require.Equal(t, sealing.OneStep, c.Warnings[0].Code)
}

func TestALadderSaysWhichEndItDidNotFind(t *testing.T) {
	c, err := ladder(t, "3 good", "4 good", "5 good").Assess()
	require.NoError(t, err)
	require.Equal(t, "4", c.Proposal.String())
	require.True(t, c.FirstOver.Missing())
	require.Equal(t, sealing.NoLowEnd, c.Warnings[0].Code)
	require.Equal(t, sealing.NoHighEnd, c.Warnings[1].Code)
}

func TestALadderRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		steps   []string
		message string
	}{
		"no steps":            {nil, "at least 3"},
		"two settings":        {[]string{"3 good", "3 good", "4 good"}, "at least 3"},
		"none passed":         {[]string{"3 open", "4 weak", "5 burnt"}, "No step passed"},
		"dye left out":        {[]string{"3 good", "4 no-dye", "5 good"}, "Step 2, 4"},
		"peel left out":       {[]string{"3 good", "4 no-peel", "5 good"}, "Step 2, 4"},
		"look left out":       {[]string{"3 good", "4 no-look", "5 good"}, "Step 2, 4"},
		"fails between":       {[]string{"3 good", "4 weak", "5 good"}, "4 did not"},
		"fails above":         {[]string{"3 good", "4 good", "5 channel"}, "does not follow"},
		"passes above a burn": {[]string{"3 good", "4 burnt", "5 good"}, "5 does not follow"},
		"burns below a pass":  {[]string{"3 burnt", "4 good", "5 good"}, "3 burned or tore"},
		"marks and seconds":   {[]string{"3 good", "4 s good", "5 good"}, "unit of the others"},
	} {
		_, err := ladder(t, c.steps...).Assess()
		require.True(t, fault.Is(err, fault.Invalid), name)
		require.Regexp(t, c.message, err.Error(), name)
	}
}

// Whatever the results, what is proposed passed, and below it and above it, as
// far as the run goes, everything passed too.
func TestALadderProposesOnlyWhatPassed(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var steps []string
		marks := []string{"1", "2", "3", "4", "5", "6"}
		kinds := []string{"good", "weak", "channel", "open", "burnt", "torn"}
		passed := make(map[string]bool)
		for _, m := range marks {
			kind := rapid.SampledFrom(kinds).Draw(r, "kind")
			steps, passed[m] = append(steps, m+" "+kind), kind == "good"
		}
		c, err := ladder(t, steps...).Assess()
		if err != nil {
			return
		}
		if !passed[c.Proposal.String()] {
			r.Fatalf("%v proposes %s", steps, c.Proposal)
		}
		for m, yes := range passed {
			in := false
			for _, p := range c.Passed {
				in = in || p.String() == m
			}
			if in != yes {
				r.Fatalf("%v: passed %v", steps, c.Passed)
			}
		}
	})
}
