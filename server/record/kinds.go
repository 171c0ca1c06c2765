package record

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Body is the content of a record: a pointer to one of the structs of this
// package. Each kind has a file of its own or shares it with its pair.
type Body interface {
	// kind returns the kind and the version of its shape. Versions only grow;
	// leaves are never migrated: a reader of an old version lifts it instead.
	kind() (Kind, int)
}

// blank makes an empty body for each kind and version that can be read.
var blank = func() map[Kind]func(v int) Body {
	m := map[Kind]func(int) Body{}
	for _, make := range []func() Body{
		func() Body { return new(DepartmentOpened) },
		func() Body { return new(DepartmentChanged) },
		func() Body { return new(PlanSet) },
		func() Body { return new(NotUsed) },
		func() Body { return new(BoxOpened) },
		func() Body { return new(PersonAdded) },
		func() Body { return new(PersonChanged) },
		func() Body { return new(FileImported) },
		func() Body { return new(Imported) },
		func() Body { return new(StandsIn) },
		func() Body { return new(SealerAway) },
		func() Body { return new(SealerBack) },
		func() Body { return new(DocumentFiled) },
		func() Body { return new(DocumentEnded) },
		func() Body { return new(OldCardDown) },
		func() Body { return new(Trained) },
		func() Body { return new(TrainingEnded) },
		func() Body { return new(TrainingAsked) },
		func() Body { return new(CheckAccepted) },
		func() Body { return new(DeviceLetIn) },
		func() Body { return new(DeviceRevoked) },
		func() Body { return new(PouchAdded) },
		func() Body { return new(PouchRevised) },
		func() Body { return new(LotHeld) },
		func() Body { return new(LotReleased) },
		func() Body { return new(SealerAdded) },
		func() Body { return new(SealerChanged) },
		func() Body { return new(SealerMoved) },
		func() Body { return new(SealerRetired) },
		func() Body { return new(ApprovalGiven) },
		func() Body { return new(ApprovalEnded) },
		func() Body { return new(ApprovalQuestioned) },
		func() Body { return new(TemperatureTable) },
		func() Body { return new(Reading) },
		func() Body { return new(LadderTrial) },
		func() Body { return new(StrengthTested) },
		func() Body { return new(WidthMeasured) },
		func() Body { return new(AfterSterilizing) },
		func() Body { return new(Check) },
		func() Body { return new(Changeover) },
		func() Body { return new(Disturbance) },
		func() Body { return new(BadSeal) },
		func() Body { return new(Packs) },
		func() Body { return new(Tagged) },
		func() Body { return new(Seen) },
		func() Body { return new(Work) },
		func() Body { return new(HandedBack) },
		func() Body { return new(FirstLineFix) },
		func() Body { return new(Judged) },
		func() Body { return new(HoldChanged) },
		func() Body { return new(HoldAnswered) },
		func() Body { return new(PhotoMarked) },
		func() Body { return new(PacksListed) },
		func() Body { return new(PacksTurnedUp) },
		func() Body { return new(PacksUnlisted) },
		func() Body { return new(PacksLocated) },
		func() Body { return new(HoldTold) },
		func() Body { return new(PackSettled) },
		func() Body { return new(PacksSettled) },
		func() Body { return new(ProblemClosed) },
		func() Body { return new(Note) },
		func() Body { return new(Photograph) },
		func() Body { return new(RouteSet) },
		func() Body { return new(Called) },
		func() Body { return new(HookSet) },
		func() Body { return new(PostDecided) },
		func() Body { return new(Rang) },
		func() Body { return new(NotOurs) },
		func() Body { return new(Corrected) },
		func() Body { return new(Voided) },
		func() Body { return new(VoidConfirmed) },
		func() Body { return new(Erased) },
		func() Body { return new(ClockCorrected) },
		func() Body { return new(MaintenanceSet) },
		func() Body { return new(TaskDone) },
		func() Body { return new(TaskSkipped) },
		func() Body { return new(TaskExtended) },
		func() Body { return new(Calibrated) },
		func() Body { return new(FoundJudged) },
		func() Body { return new(BulkAssessed) },
		func() Body { return new(BulkConfirmed) },
	} {
		k, v := make().kind()
		m[k] = func(wanted int) Body {
			if wanted != v {
				return nil
			}
			return make()
		}
	}
	return m
}()

// Kinds returns an empty body of every kind, in no order.
func Kinds() map[Kind]Body {
	m := map[Kind]Body{}
	for k, make := range blank {
		m[k] = make(1)
	}
	return m
}

func decodeBody(k Kind, v int, raw json.RawMessage) (Body, error) {
	make, ok := blank[k]
	if !ok {
		return nil, fmt.Errorf("kind %q is not known here: the folder may be newer than this program", k)
	}
	body := make(v)
	if body == nil {
		return nil, fmt.Errorf("kind %q has no version %d here: the folder may be newer than this program", k, v)
	}
	if err := json.Unmarshal(raw, body); err != nil {
		return nil, fmt.Errorf("body of %s: %w", k, err)
	}
	again, err := json.Marshal(body) // tells unknown fields, too
	if err != nil || !bytes.Equal(again, raw) {
		return nil, fmt.Errorf("body of %s: not in the form that records are written in", k)
	}
	return body, nil
}
