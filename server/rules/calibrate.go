package rules

import (
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// SaidCalibration is what a calibration measured. Found and Left are its points,
// compiled; nil where a single position makes no curve, or for Left if nothing
// was adjusted.
type SaidCalibration struct {
	Entry
	Sealer      record.ID
	Calibrated  record.Calibrated
	Who         *Person
	Found, Left *sealing.Curve
	Earlier     []EarlierSetting
}

// EarlierSetting is an approved setting that stood since the last good
// calibration and does not any more: its packs were sealed at it, too.
type EarlierSetting struct {
	Approval
	Ended record.Time
}

// Calibrate decides on a calibration. For each setting that stands, and each that
// stood since the last good one, it writes down whether the pouch's window was met
// as found and is met as left. Only where it was missed as found are packs on
// hold: a problem of its own for each. What was measured last becomes the newest
// temperature table, and a setting that it puts in doubt is not used until a lead
// decides; nothing else changes for technicians. A check is due after it.
func Calibrate(v record.View, c SaidCalibration, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	if err := c.isSound(v, s, d, now); err != nil {
		return nil, err
	}
	dr, err := c.draft(d, s.subject(), &c.Calibrated, now)
	if err != nil {
		return nil, err
	}
	s.disturb(Standing(v, s, now), &dr.Record, WhyCalibrated, 0)
	drafts := []Draft{dr}
	j := judging{v: v, s: s, d: d, c: &c, now: now, at: dr.Record.Happened.To}
	for _, a := range j.settings() {
		judged, err := j.judge(a)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, judged)
	}
	more, err := c.outcome(v, s, d, now)
	return append(drafts, more...), err
}

func (c *SaidCalibration) isSound(v record.View, s *Sealer, d *Department, now record.Time) error {
	b := &c.Calibrated
	t, planned := s.DueTask(v, record.CalibrationTask, d.Day(now))
	switch {
	case s.Readiness.State == record.Retired:
		return fault.New(fault.Gone, "Sealer %s is retired.", s.Number)
	case !KindOf(s.Type).HasTable():
		return fault.New(fault.Unknown, "The control of this kind of sealer shows no degrees. "+
			"Tell the calibration as a task done, with its report.")
	case planned && (c.Who == nil || !c.Who.Has(t.Who...)):
		return fault.New(fault.Forbidden, "Calibration is not for you to do, by the department's plan.")
	case len(b.Found) == 0 || len(b.Found)+len(b.Left) > mostPoints:
		return fault.Field("found", "Give what was measured as found: at least one position, at most %d temperatures.", mostPoints)
	case strings.TrimSpace(b.Instrument.Name) == "":
		return fault.Field("instrument", "Name the reference instrument.")
	case strings.TrimSpace(b.Instrument.Certificate) == "":
		return fault.Field("certificate", "Give the number of the instrument's certificate.")
	case b.Instrument.Due == 0:
		return fault.Field("due", "Give the day on which the certificate ends.")
	case planned && b.For != 0 && b.For != t.Due && !c.fact():
		return fault.New(fault.Stale, "It was calibrated meanwhile, or the plan was changed. Look at it again.")
	}
	_, err := UncertaintyOf(b.Uncertainty)
	return err
}

// outcome is the table as left, or as found if nothing was adjusted, and the
// settings that it puts in doubt.
func (c *SaidCalibration) outcome(v record.View, s *Sealer, d *Department, now record.Time) ([]Draft, error) {
	b, curve, why := &c.Calibrated, c.Found, record.DoubtFound
	table := record.TemperatureTable{Source: record.Measured, Condition: record.AsFound, Apart: b.Apart, Points: b.Found,
		Uncertainty: b.Uncertainty, Instrument: b.Instrument}
	if len(b.Left) > 0 {
		table.Condition, table.Points, curve, why = record.AsLeft, b.Left, c.Left, record.DoubtTable
	}
	if curve == nil {
		return nil, nil
	}
	e := c.Entry
	e.Sealed = nil // the note belongs to the calibration
	dr, err := e.draft(d, s.subject(), &table, now)
	if err != nil {
		return nil, err
	}
	q := newDoubter(v, d, e, now)
	err = q.byTable(s, curve, why)
	return append([]Draft{dr}, q.drafts...), err
}

// judging holds settings against what a calibration measured.
type judging struct {
	v      record.View
	s      *Sealer
	d      *Department
	c      *SaidCalibration
	now    record.Time
	at     record.Time
	opened int
}

// settings are those that stand and those that stood, the first approved first.
func (j *judging) settings() []EarlierSetting {
	list := slices.Clone(j.c.Earlier)
	for _, a := range j.s.Approvals {
		list = append(list, EarlierSetting{Approval: a})
	}
	slices.SortStableFunc(list, func(a, b EarlierSetting) int { return int(a.Seq - b.Seq) })
	return list
}

// judge drafts what the calibration means for one setting, and opens a problem
// about its packs if the window was missed.
func (j *judging) judge(a EarlierSetting) (Draft, error) {
	b := record.FoundJudged{Pouch: a.Pouch, Approval: a.Seq, Setting: record.Quantity{Value: a.Value, Unit: a.Unit},
		Found: record.Unjudged, Left: record.Unjudged}
	if p := GetPouch(j.v, a.Pouch); p != nil {
		if w, ok := WindowOf(&p.PouchFacts); ok {
			if err := j.weigh(&b, &a, w); err != nil {
				return Draft{}, err
			}
		}
	}
	if b.Found == record.Missed {
		b.Since = j.since(&a)
	}
	e := j.c.Entry
	e.Sealed = nil
	dr, err := e.draft(j.d, j.s.subject(), &b, j.now)
	if err == nil && b.Found == record.Missed {
		j.opened++
		dr.Record.Effect.Opens = GetSite(j.v).Problems + j.opened
	}
	return dr, err
}

func (j *judging) weigh(b *record.FoundJudged, a *EarlierSetting, w sealing.Window) error {
	limits, err := w.Limits()
	if err != nil {
		return err
	}
	b.Window = limits.Text(j.d.Scale())
	found, ok, err := judgeAt(&a.Approval, w, j.c.Found, j.c.Calibrated.Found, j.c.Calibrated.Uncertainty)
	if err != nil {
		return err
	}
	if ok {
		b.Found, b.Place = verdicts[found.Effect], record.Place(found.Worst.Place)
		b.Face, b.Confidence = sealing.Degrees(found.Worst.T, j.d.Scale()), sealing.Percent(found.Worst.Probability())
	}
	if a.Ended != 0 {
		return nil // how it was left is nothing to a setting that has ended
	}
	curve, points := j.c.Left, j.c.Calibrated.Left
	if len(points) == 0 {
		curve, points = j.c.Found, j.c.Calibrated.Found
	}
	left, ok, err := judgeAt(&a.Approval, w, curve, points, j.c.Calibrated.Uncertainty)
	if ok {
		b.Left = verdicts[left.Effect]
		b.LeftFace, b.LeftSure = sealing.Degrees(left.Worst.T, j.d.Scale()), sealing.Percent(left.Worst.Probability())
	}
	return err
}

var verdicts = map[sealing.Effect]record.Verdict{sealing.WindowKept: record.Kept, sealing.WindowMissed: record.Missed,
	sealing.Unclear: record.Unclear}

// judgeAt holds the faces at a setting against a window: those measured at just
// that position, or what the curve says between positions. ok is false if neither
// reaches it.
func judgeAt(a *Approval, w sealing.Window, curve *sealing.Curve, points []record.TablePoint,
	common record.Uncertainty) (j sealing.Judgement, ok bool, err error) {
	set, err := a.Setting()
	if err != nil {
		return j, false, nil
	}
	faces, err := measuredAt(set, points, common)
	if err != nil {
		return j, false, err
	}
	if len(faces) == 0 && curve != nil {
		faces, _ = curve.At(set) // beyond what was measured: nobody can tell
	}
	if len(faces) == 0 {
		return j, false, nil
	}
	j, err = sealing.JudgeFound(w, faces, 0)
	return j, err == nil, err
}

// measuredAt are the faces measured at one position.
func measuredAt(set sealing.Quantity, points []record.TablePoint, common record.Uncertainty) (faces []sealing.Prediction, err error) {
	for i, p := range points {
		point, err := pointOf(p, common)
		if err != nil {
			return nil, numbered("points", "Point", i, err)
		}
		if !point.Position.Same(set) {
			continue
		}
		face, err := sealing.Measured(point.Place, point.Face, point.Uncertainty)
		if err != nil {
			return nil, numbered("points", "Point", i, err)
		}
		faces = append(faces, face)
	}
	return faces, nil
}

// since is when the setting's window was last known to be met: the last good
// calibration for its pouch. A setting that was approved after the last calibration
// of all cannot have been missed before that. 0: nobody knows.
func (j *judging) since(a *EarlierSetting) record.Time {
	newest := record.Time(0)
	for _, g := range j.s.Calibrated {
		if g.Pouch == a.Pouch {
			return g.Began
		}
		if g.Seq < a.Seq {
			newest = max(newest, g.Began)
		}
	}
	return newest
}
