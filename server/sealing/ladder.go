package sealing

import (
	"slices"

	"tidemark/server/fault"
)

// Ladder is a trial of rising steps, for impulse timers and for any sealer that
// nobody put a thermometer to: pouches sealed at each step are tested, and a
// step between the first that passes and the first that burns is proposed.
type Ladder struct{ Steps []Step }

// Step is one seal at one setting. Several seals at one setting are steps of
// their own; the setting passes only if all of them do.
type Step struct {
	Setting Quantity
	Dye     Result // dye penetration test
	Peel    Result
	Look    Look
}

// Result is the result of a test on a seal. Its text is stored in records.
type Result string

const (
	NotTested Result = ""
	Pass      Result = "pass"
	Fail      Result = "fail"
)

// Look is what visual inspection of the whole seal found. Its text is stored in
// records.
type Look string

const (
	NotLooked Look = ""
	Even      Look = "even" // closed and even
	Open      Look = "open" // channel, gap or unsealed area
	Burnt     Look = "burnt"
	Torn      Look = "torn"
)

// verdict of all seals at one setting.
type rung struct {
	setting      Quantity
	passed, over bool
}

// Climb is what a ladder shows.
type Climb struct {
	Passed    []Quantity // settings that passed, rising
	FirstPass Quantity
	FirstOver Quantity // the first that burns or tears; missing if none did
	Proposal  Quantity // the middle of those that passed; of two, the lower
	Warnings  []Warning
}

const leastSteps = 3

// Assess reads the ladder. A setting passes when dye and peel were tested and
// passed and the seal looks even. It refuses, as a [fault.Invalid]: fewer than
// three settings, settings of different dimensions, a seal with a test missing,
// no setting that passed, and results out of order (a setting fails above one
// that passed without burning, or passes above one that burned), which a second
// trial must clear up.
func (l Ladder) Assess() (Climb, error) {
	rungs, err := l.rungs()
	if err != nil {
		return Climb{}, err
	}
	first := slices.IndexFunc(rungs, func(r rung) bool { return r.passed })
	if first < 0 {
		return Climb{}, fault.Field("steps",
			"No step passed dye, peel and look. Try steps between, or have the sealer looked at.")
	}
	end := first
	for end < len(rungs) && rungs[end].passed {
		end++
	}
	if err := inOrder(rungs, first, end); err != nil {
		return Climb{}, err
	}
	c := Climb{FirstPass: rungs[first].setting}
	for _, r := range rungs[first:end] {
		c.Passed = append(c.Passed, r.setting)
	}
	if end < len(rungs) {
		c.FirstOver = rungs[end].setting
	}
	c.Proposal = c.Passed[(len(c.Passed)-1)/2]
	c.warn(first)
	return c, nil
}

// Check refuses, as Assess does, a ladder of which nothing could be said: fewer
// than three settings, settings of different dimensions, a test missing.
func (l Ladder) Check() error {
	_, err := l.rungs()
	return err
}

// rungs checks the steps and joins those of one setting, in rising order.
func (l Ladder) rungs() ([]rung, error) {
	var rungs []rung
	for i, s := range l.Steps {
		if err := s.check(i, l.Steps[0].Setting); err != nil {
			return nil, err
		}
		at := slices.IndexFunc(rungs, func(r rung) bool { return r.setting.Same(s.Setting) })
		if at < 0 {
			rungs = append(rungs, rung{setting: s.Setting, passed: true})
			at = len(rungs) - 1
		}
		rungs[at].passed = rungs[at].passed && s.Dye == Pass && s.Peel == Pass && s.Look == Even
		rungs[at].over = rungs[at].over || s.Look == Burnt || s.Look == Torn
	}
	if len(rungs) < leastSteps {
		return nil, fault.Field("steps", "A ladder needs at least %d different steps.", leastSteps)
	}
	slices.SortFunc(rungs, func(a, b rung) int {
		c, _ := a.setting.Cmp(b.setting) // one dimension: check saw to it
		return c
	})
	return rungs, nil
}

// check refuses a step that cannot be read. A seal that burned or tore, or that
// is open, needs no further test.
func (s Step) check(i int, first Quantity) error {
	if s.Setting.Missing() || s.Setting.Unit.Dimension() != first.Unit.Dimension() {
		return fault.Field("steps", "Step %d: type the setting in the unit of the others.", i+1)
	}
	if s.Look == Open || s.Look == Burnt || s.Look == Torn {
		return nil
	}
	if s.Dye == NotTested || s.Peel == NotTested || s.Look == NotLooked {
		return fault.Field("steps", "Step %d, %s: dye, peel and look are all needed.",
			i+1, s.Setting)
	}
	return nil
}

// inOrder refuses rungs that burn below the run of passes, or that pass, or fail
// without burning, above it.
func inOrder(rungs []rung, first, end int) error {
	for _, r := range rungs[:first] {
		if r.over {
			return fault.Field("steps",
				"%s burned or tore, yet %s above it passed. Seal both again.", r.setting,
				rungs[first].setting)
		}
	}
	for _, r := range rungs[end:] {
		if r.passed || !r.over {
			return fault.Field("steps",
				"%s does not follow: %s passed, %s did not. Seal all three again.",
				r.setting, rungs[end-1].setting, rungs[end].setting)
		}
	}
	return nil
}

func (c *Climb) warn(stepsBelow int) {
	if stepsBelow == 0 {
		c.Warnings = append(c.Warnings, Warning{NoLowEnd,
			"The lowest step passed already: where a seal becomes too weak is not known."})
	}
	if c.FirstOver.Missing() {
		c.Warnings = append(c.Warnings, Warning{NoHighEnd,
			"No step burned or tore: where a seal becomes too hot is not known."})
	}
	if len(c.Passed) == 1 {
		c.Warnings = append(c.Warnings, Warning{OneStep,
			"Only one step passed: there is no room on either side. Try smaller steps."})
	}
}
