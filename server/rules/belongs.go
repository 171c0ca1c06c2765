package rules

import (
	"tidemark/server/fault"
	"tidemark/server/record"
)

// belongs is the type of subject that a kind of record can be about; "" if there
// is more than one.
func belongs(body record.Body) record.Type {
	switch body.(type) {
	case *record.DepartmentOpened, *record.DepartmentChanged, *record.PlanSet, *record.NotUsed, *record.BoxOpened,
		*record.DeviceLetIn, *record.DeviceRevoked, *record.RouteSet, *record.HookSet, *record.PostDecided,
		*record.Rang, *record.NotOurs, *record.MaintenanceSet, *record.PacksListed, *record.Erased:
		return record.Department
	case *record.PersonAdded, *record.PersonChanged:
		return record.Person
	case *record.PouchAdded, *record.PouchRevised, *record.LotHeld, *record.LotReleased:
		return record.Pouch
	case *record.SealerAdded, *record.SealerChanged, *record.SealerMoved, *record.SealerRetired,
		*record.ApprovalGiven, *record.ApprovalEnded, *record.ApprovalQuestioned,
		*record.TemperatureTable, *record.LadderTrial, *record.Reading, *record.StrengthTested,
		*record.WidthMeasured, *record.AfterSterilizing, *record.Check, *record.Changeover,
		*record.Disturbance, *record.Packs, *record.TaskDone, *record.TaskSkipped, *record.TaskExtended,
		*record.Calibrated, *record.FoundJudged:
		return record.Sealer
	case *record.Tagged, *record.Seen, *record.Work, *record.HandedBack, *record.FirstLineFix,
		*record.Judged, *record.HoldChanged, *record.HoldAnswered, *record.PacksLocated, *record.PhotoMarked, *record.PacksTurnedUp, *record.HoldTold,
		*record.PackSettled, *record.PacksSettled, *record.ProblemClosed, *record.Called,
		*record.BulkAssessed, *record.BulkConfirmed:
		return record.Problem
	case *record.StandsIn, *record.SealerAway, *record.SealerBack, *record.OldCardDown:
		return record.Sealer
	case *record.FileImported, *record.PacksUnlisted:
		return record.Department
	case *record.Imported:
		return record.Sealer
	case *record.TrainingAsked:
		return record.Department
	case *record.Trained, *record.TrainingEnded:
		return record.Person
	case *record.CheckAccepted:
		return record.Sealer
	}
	return ""
}

// makesSense reports whether a record of this kind can be about this subject.
func makesSense(body record.Body, s record.Subject) bool {
	t := belongs(body)
	return t == "" || t == s.Type
}

// subjectIsSound wants what is added to be new, and what is changed to be there
// and to be the department's.
func subjectIsSound(v record.View, d *Department, s record.Subject, facts record.Body) error {
	if !makesSense(facts, s) {
		return fault.New(fault.Invalid, "This cannot be said of a %s.", s.Type)
	}
	home, found := home(v, s)
	switch facts.(type) {
	case *record.DepartmentOpened, *record.ClockCorrected:
		return nil
	case *record.PersonAdded, *record.PouchAdded, *record.SealerAdded:
		if found {
			return fault.New(fault.Conflict, "This was added already.")
		}
		return nil
	}
	if !found || home != d.ID {
		return fault.New(fault.Unknown, "There is no such %s here.", s.Type)
	}
	return nil
}

// home is the department that a subject belongs to.
func home(v record.View, s record.Subject) (dept record.ID, found bool) {
	switch value := v.Value(s).(type) {
	case *Department:
		return value.ID, true
	case *Person:
		return value.Dept, true
	case *Pouch:
		return value.Dept, true
	case *Sealer:
		return value.Dept, true
	}
	return dept, false
}
