package sealing

import "tidemark/server/fault"

// Judgement says whether one pouch's window was kept at what a calibration
// found. A daily pass proves nothing here: dye sees no overheating.
type Judgement struct {
	Pouch  string
	Effect Effect
	Places []Conformity
	Worst  Conformity // the place that decides, with its probability
}

// Effect is what a finding means for the packs of one pouch. Its text is stored
// in records.
type Effect string

const (
	WindowKept   Effect = "window-kept"   // within, with enough probability: nothing to hold
	WindowMissed Effect = "window-missed" // outside: its packs are to be held
	Unclear      Effect = "unclear"       // within, but not surely: the lead decides
)

// JudgeFound holds the face temperatures as found, at the setting that was
// approved for the pouch, against the pouch's window. faces come from
// [Measured] at that setting, or from [Curve.At] of the table as found. enough
// is the least probability of conformity, 0 for [DefaultEnough].
func JudgeFound(w Window, faces []Prediction, enough float64) (Judgement, error) {
	limits, err := w.Limits()
	if err != nil {
		return Judgement{}, err
	}
	if len(faces) == 0 {
		return Judgement{}, fault.Field("faces", "Give at least one temperature as found.")
	}
	if enough == 0 {
		enough = DefaultEnough
	}
	j := Judgement{Pouch: w.Pouch, Effect: Unclear, Places: against(faces, limits)}
	j.Worst = worst(j.Places)
	switch {
	case j.missed(limits):
		j.Effect = WindowMissed
	case j.Worst.Probability() >= enough:
		j.Effect = WindowKept
	}
	return j, nil
}

// missed reports whether any place was found outside the window. That need not
// be the place of the least probability, if another is known badly.
func (j Judgement) missed(l Limits) bool {
	for _, c := range j.Places {
		if c.T < l.Low || c.T > l.High {
			return true
		}
	}
	return false
}
