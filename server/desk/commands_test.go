package desk_test

import (
	"context"
	"os"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// command is a use case with what has to be so before.
type command struct {
	before func(*workplace)
	do     func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error)
}

// commands has one sound way to say each thing that is written down, by the name
// of the desk's method.
var commands = map[string]command{
	"AddPerson": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		done, err := w.AddPerson(ctx, who, desk.PersonIn{From: from, Name: "L. Marsh", Roles: []record.Role{record.Technician}})
		return done.Done, err
	}},
	"ChangePerson": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ChangePerson(ctx, who, desk.PersonIn{From: from, Person: w.staff[record.Technician].Person, Name: "L. Marsh",
			Roles: []record.Role{record.Technician}, FirstLine: true})
	}},
	"StandIn": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.StandIn(ctx, who, desk.StandInIn{From: from, Code: w.spare, For: "2", Why: "element on order"})
	}},
	"SendAway": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SendAway(ctx, who, desk.AwayIn{From: from, Code: w.spare, To: "the site at Cobbler Street"})
	}},
	"BringBack": {before: sendAway, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.BringBack(ctx, who, desk.MoveIn{From: from, Code: w.spare, Place: "Bench 2"})
	}},
	"TakeCardDown": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.TakeCardDown(ctx, who, desk.CardDownIn{From: from, Code: w.code, Card: w.approval})
	}},
	"FileDocument": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.FileDocument(ctx, who, desk.DocumentIn{From: from, Code: w.code, What: record.DocIFU, Title: "Bar sealer, manual"})
	}},
	"EndDocument": {before: fileDocument, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.EndDocument(ctx, who, desk.EndDocumentIn{From: from, Document: w.document, Why: "a newer one"})
	}},
	"SignOff": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SignOff(ctx, who, w.trained(from))
	}},
	"EndSignOff": {before: signOffTechnician, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.EndSignOff(ctx, who, desk.EndSignOffIn{From: from, Person: w.staff[record.Technician].Person,
			Types: []record.SealerType{record.BarDial}, For: []record.Skill{record.ToCheck}, Why: "wants a refresher"})
	}},
	"AskTraining": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AskTraining(ctx, who, desk.AskTrainingIn{From: from, Ask: true, Reason: "policy 4.2"})
	}},
	"AcceptCheck": {before: checkUntrained, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AcceptCheck(ctx, who, desk.AcceptCheckIn{From: from, Code: w.spare, Check: w.waiting, Reason: "I watched it"})
	}},
	"RevokeDevice": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.RevokeDevice(ctx, who, desk.RevokeIn{From: from, Device: who.Device})
	}},
	"ChangeDepartment": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ChangeDepartment(ctx, who, desk.DepartmentIn{From: from, Name: "Packing", Zone: "America/New_York"})
	}},
	"SetPlan": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SetPlan(ctx, who, desk.PlanIn{From: from, SealerType: record.BarDial, Places: []record.Place{record.Left},
			Tests: []record.Test{record.Look}, ReturnGood: 2})
	}},
	"NotUsed": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.NotUsed(ctx, who, desk.NotUsedIn{From: from, Codes: []string{w.spare}, FromDay: record.DateOf(w.now)})
	}},
	"OpenBox": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.OpenBox(ctx, who, desk.BoxIn{From: from, What: record.DyeBox, Lot: "D-11"})
	}},
	"AddPouch": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AddPouch(ctx, who, desk.PouchIn{From: from, Name: "Nonwoven 10 cm", Material: record.Nonwoven})
	}},
	"RevisePouch": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.RevisePouch(ctx, who, desk.PouchIn{From: from, Pouch: w.paper, Name: "Paper/film 25 cm",
			Material: record.PaperFilm})
	}},
	"ReleaseLot": {before: holdLot, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ReleaseLot(ctx, who, desk.ReleaseIn{From: from, Pouch: w.paper, Lot: "L-7", Why: "the maker looked at it"})
	}},
	"AddSealer": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AddSealer(ctx, who, desk.SealerIn{From: from, Number: "9", Type: record.Impulse})
	}},
	"ChangeSealer": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ChangeSealer(ctx, who, desk.SealerIn{From: from, Code: w.code, Number: "2", Type: record.BarDial, Asset: "20417",
			NewLabel: true})
	}},
	"MoveSealer": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.MoveSealer(ctx, who, desk.MoveIn{From: from, Code: w.code, Place: "bench 3"})
	}},
	"RetireSealer": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.RetireSealer(ctx, who, desk.RetireIn{From: from, Code: w.spare, Why: "worn out"})
	}},
	"Approve": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Approve(ctx, who, w.approval6(from, w.code))
	}},
	"EndApproval": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.EndApproval(ctx, who, desk.EndApprovalIn{From: from, Code: w.code, Pouch: w.paper, Why: "another pouch now"})
	}},
	"Check": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Check(ctx, who, desk.CheckIn{From: from, Code: w.code, Pouch: w.paper, Approval: w.approval, Outcome: record.Pass})
	}},
	"Changeover": {before: addNonwoven, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Changeover(ctx, who, desk.ChangeoverIn{From: from, Code: w.code, Pouch: w.nonwoven})
	}},
	"Disturb": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Disturb(ctx, who, desk.DisturbIn{From: from, All: true, What: record.PowerOff})
	}},
	"LogPacks": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.LogPacks(ctx, who, desk.PacksIn{From: from, Code: w.code, Pouch: w.paper, Count: 4})
	}},
	"ReportBadSeal": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ReportBadSeal(ctx, who, desk.BadSealIn{From: from, Code: w.code, Kind: record.Channel})
	}},
	"AddPhotograph": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		b, err := os.ReadFile("../../testdata/photos/rotated.jpg")
		require.NoError(w.t, err)
		done, err := w.AddPhotograph(ctx, who, desk.PhotoIn{From: from, Of: w.report, Bytes: b})
		return done.Done, err
	}},
	"Tag": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Tag(ctx, who, desk.TagIn{ProblemIn: w.in(from)})
	}},
	"MarkSeen": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		from.OnBehalfOf = w.staff[record.Engineering].Person
		return w.MarkSeen(ctx, who, desk.SeenIn{ProblemIn: w.in(from)})
	}},
	"Work": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Work(ctx, who, desk.WorkIn{ProblemIn: w.in(from), Stage: record.AtWork})
	}},
	"HandBack": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.HandBack(ctx, who, desk.HandBackIn{ProblemIn: w.in(from), Finding: "cover", Action: "replaced"})
	}},
	"FirstLineFix": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.FirstLineFix(ctx, who, desk.FixIn{ProblemIn: w.in(from), Did: []string{"jaw-cleaned"}, What: "dirt"})
	}},
	"Judge": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Judge(ctx, who, desk.JudgeIn{ProblemIn: w.in(from), Blame: record.BlamePlace})
	}},
	"ChangeHold": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ChangeHold(ctx, who, desk.ChangeHoldIn{ProblemIn: w.in(from), FromTime: "2026-01-12T06:00", ToTime: "2026-01-13T08:00",
			Reason: "one check further back"})
	}},
	"AnswerHold": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AnswerHold(ctx, who, desk.AnswerHoldIn{ProblemIn: w.in(from), Accept: true, Reason: "to be sure"})
	}},
	"SettlePacks": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SettlePacks(ctx, who, desk.SettleIn{ProblemIn: w.in(from), Packs: w.packs, Count: 3, End: "repackaged"})
	}},
	"ImportPacks": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		file, err := w.StorePackFile(ctx, w.lead(), strings.NewReader("Sealer,Sealed\n2,2026-01-12 08:00\n"))
		require.NoError(w.t, err)
		return w.ImportPacks(ctx, who, desk.PackListIn{From: from, File: file.SHA256, Sealer: "Sealer", Date: "Sealed", Order: "ymd",
			Which: record.TimeSealed, Separator: ","})
	}},
	"TakeListBack": {before: func(w *workplace) { w.importList("Sealer,Sealed\n2,2026-01-12 08:00\n", "") },
		do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.TakeListBack(ctx, who, desk.UnlistIn{From: from, List: w.list, Why: "wrong column"})
		}},
	"MarkPhoto": {before: func(w *workplace) {
		w.goWrong()
		b, err := os.ReadFile("../../testdata/photos/rotated.jpg")
		require.NoError(w.t, err)
		done, err := w.AddPhotograph(w.ctx, w.lead(), desk.PhotoIn{From: w.from(), Of: w.report, Bytes: b})
		require.NoError(w.t, err)
		w.packs = done.ID
	}, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.MarkPhoto(ctx, who, desk.MarkIn{ProblemIn: w.in(from), Photo: w.packs, X: 250, Y: 700})
	}},
	"LocatePacks": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.LocatePacks(ctx, who, desk.LocateIn{ProblemIn: w.in(from), Rows: []record.ID{w.packs}, Where: record.InStore})
	}},
	"TellOfHold": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.TellOfHold(ctx, who, desk.ToldIn{ProblemIn: w.in(from), Whom: record.InfectionPrevention, Reference: "IR-2231"})
	}},
	"FinishPacks": {before: settle, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.FinishPacks(ctx, who, desk.FinishIn{ProblemIn: w.in(from)})
	}},
	"Erase": {before: leave, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Erase(ctx, who, desk.EraseIn{From: from, Person: w.gone, Why: "two years are over"})
	}},
	"CorrectClock": {before: func(w *workplace) {
		w.now = w.now.Add(48 * time.Hour)
		w.logPacks()
		w.now = w.now.Add(-40 * time.Hour)
	}, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.CorrectClock(ctx, who, desk.ClockIn{From: from, Was: record.TimeOf(w.now.Add(40 * time.Hour))})
	}},
	"Correct": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Correct(ctx, who, desk.CorrectIn{From: from, Entry: w.bad, Version: w.bad, Why: "typed wrong", Kind: record.Weak})
	}},
	"Void": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Void(ctx, who, desk.VoidIn{From: from, Entry: w.bad, Version: w.bad, Why: "wrong sealer"})
	}},
	"ConfirmVoid": {before: askBack, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ConfirmVoid(ctx, who, desk.VoidIn{From: from, Entry: w.bad, Version: w.bad})
	}},
	"CloseProblem": {before: returnIt, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.CloseProblem(ctx, who, desk.FinishIn{ProblemIn: w.in(from)})
	}},
	"RecordFound": {before: leaveReport, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		in := desk.RecordFoundIn{Report: w.left, Sealer: w.code}
		in.From, in.Kind, in.SealedAt = from, record.Channel, "2026-01-13"
		return w.RecordFound(ctx, who, in)
	}},
	"NotOurs": {before: leaveReport, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.NotOurs(ctx, who, desk.NotOursIn{From: from, Report: w.left, Why: "no number of ours"})
	}},
	"SetRoute": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		in := w.route(30)
		in.From = from
		return w.SetRoute(ctx, who, in)
	}},
	"AddHook": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		done, err := w.AddHook(ctx, who, desk.HookIn{From: from, Name: "Tickets", URL: "https://tickets.example/in"})
		return done.Done, err
	}},
	"ChangeHook": {before: addHook, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ChangeHook(ctx, who, desk.HookIn{From: from, Hook: w.hook, Name: "Tickets", URL: "https://tickets.example/new"})
	}},
	"DecideMessages": {before: parkOne, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.DecideMessages(ctx, who, desk.DecideMessagesIn{From: from, Decision: desk.DropMessages, Key: w.key})
	}},
	"MakePoster": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.MakePoster(ctx, who, from)
	}},
	"StartMaintenance": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.StartMaintenance(ctx, who, desk.CommonIn{From: from, SealerType: record.BarDial, Plan: record.None})
	}},
	"SetTask": {before: planned, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SetTask(ctx, who, desk.TaskSetIn{From: from, SealerType: record.BarDial, Code: "new", Plan: w.plan,
			Name: "Wipe the table", Days: 1, Who: []record.Role{record.Lead}})
	}},
	"DoTask": {before: planned, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.DoTask(ctx, who, desk.TaskIn{From: from, Code: w.code, Task: "pad", Part: "pad 40 cm"})
	}},
	"SkipTask": {before: planned, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.SkipTask(ctx, who, desk.SkipIn{From: from, Code: w.code, Task: "pad", Reason: "no part"})
	}},
	"ExtendTask": {before: planned, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ExtendTask(ctx, who, desk.ExtendIn{From: from, Code: w.code, Task: "calibration",
			Until: record.DateOf(w.now) + 5, Reason: "the firm comes on Monday"})
	}},
	"Calibrate": {before: addDisplay, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.Calibrate(ctx, who, w.lyingDisplay(from))
	}},
	"AssessInBulk": {before: calibrate, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.AssessInBulk(ctx, who, desk.AssessIn{ProblemIn: w.in(from), End: "released", Reason: "peels were whole"})
	}},
	"ConfirmBulk": {before: assess, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		return w.ConfirmBulk(ctx, who, desk.ConfirmIn{ProblemIn: w.in(from), Assessed: w.assessed})
	}},
	"AddNote": {before: (*workplace).goWrong, do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
		from.Note = "the order comes on Friday"
		return w.AddNote(ctx, who, w.in(from))
	}},
}

// trained signs the technician off for checks, assessed by somebody from outside.
func (w *workplace) trained(from desk.From) desk.TrainedIn {
	from.Note = "made three checks while I watched"
	return desk.TrainedIn{From: from, Person: w.staff[record.Technician].Person, Types: []record.SealerType{record.BarDial},
		For: []record.Skill{record.ToCheck}, ShownBy: w.lead().Person, AssessedName: "P. Quillon, vendor", On: record.DateOf(w.now),
		DueAgain: record.DateOf(w.now) + 20}
}

func sendAway(w *workplace) {
	_, err := w.SendAway(w.ctx, w.lead(), desk.AwayIn{From: w.from(), Code: w.spare, To: "the site at Cobbler Street"})
	require.NoError(w.t, err)
}

// fileDocument names a policy of the department.
func fileDocument(w *workplace) {
	done, err := w.FileDocument(w.ctx, w.lead(), desk.DocumentIn{From: w.from(), What: record.DocPolicy, Title: "Policy SP-07"})
	require.NoError(w.t, err)
	w.document = done.Seq
}

func signOffTechnician(w *workplace) {
	_, err := w.SignOff(w.ctx, w.lead(), w.trained(w.from()))
	require.NoError(w.t, err)
}

// checkUntrained has a phone send a good check on sealer 4 of somebody who is not
// signed off.
func checkUntrained(w *workplace) {
	_, err := w.AskTraining(w.ctx, w.lead(), desk.AskTrainingIn{From: w.from(), Ask: true})
	require.NoError(w.t, err)
	page, err := w.Sealer(w.lead(), w.spare, w.paper)
	require.NoError(w.t, err)
	from := w.from()
	from.Made, from.Sent = record.TimeOf(w.now), record.TimeOf(w.now)
	who := w.staff[record.Technician]
	who.Queued = true
	done, err := w.Check(w.ctx, who, desk.CheckIn{From: from, Code: w.spare, Pouch: w.paper, Outcome: record.Pass,
		Approval: page.Pouch.Setting.Approval})
	require.NoError(w.t, err)
	require.Equal(w.t, "not-signed-off", done.Nothing)
	w.waiting = done.Seq
}

// holdLot has a lot of the pouch put on hold by a fault of the maker's seal.
func holdLot(w *workplace) {
	_, err := w.ReportBadSeal(w.ctx, w.lead(), desk.BadSealIn{From: w.from(), Code: w.code, Kind: record.Channel, Whose: "maker",
		Pouch: w.paper, Lot: "L-7"})
	require.NoError(w.t, err)
}

// addNonwoven approves sealer 2 for a second pouch; it has to be checked anew for
// the first.
func addNonwoven(w *workplace) {
	pouch, err := w.AddPouch(w.ctx, w.lead(), desk.PouchIn{From: w.from(), Name: "Nonwoven", Material: record.Nonwoven})
	require.NoError(w.t, err)
	w.nonwoven = pouch.Subject
	in := w.approval6(w.from(), w.code)
	in.Pouch = w.nonwoven
	_, err = w.Approve(w.ctx, w.lead(), in)
	require.NoError(w.t, err)
}

// settle gives every pack of the hold an end.
func settle(w *workplace) {
	w.goWrong()
	_, err := w.SettlePacks(w.ctx, w.lead(), desk.SettleIn{ProblemIn: w.in(w.from()), All: true, End: "repackaged"})
	require.NoError(w.t, err)
}

// returnIt has the sealer mended, checked and its packs settled.
func returnIt(w *workplace) {
	settle(w)
	_, err := w.FinishPacks(w.ctx, w.lead(), desk.FinishIn{ProblemIn: w.in(w.from())})
	require.NoError(w.t, err)
	_, err = w.HandBack(w.ctx, w.lead(), desk.HandBackIn{ProblemIn: w.in(w.from()), Finding: "cover", Action: "replaced"})
	require.NoError(w.t, err)
	for {
		page, err := w.Sealer(w.lead(), w.code, w.paper)
		require.NoError(w.t, err)
		if page.Standing.State == record.Ready {
			return
		}
		w.pass()
	}
}

// askBack has another lead ask to take the bad seal of goWrong back.
func askBack(w *workplace) {
	w.goWrong()
	other, err := w.AddPerson(w.ctx, w.lead(), desk.PersonIn{From: w.from(), Name: "B. Iyer", Roles: []record.Role{record.Lead}})
	require.NoError(w.t, err)
	who := w.lead()
	who.Person = other.Subject
	_, err = w.Void(w.ctx, who, desk.VoidIn{From: w.from(), Entry: w.bad, Version: w.bad, Why: "wrong sealer"})
	require.NoError(w.t, err)
}

// leave has a person come and go.
func leave(w *workplace) {
	done, err := w.AddPerson(w.ctx, w.lead(), desk.PersonIn{From: w.from(), Name: "T. Osei", Roles: []record.Role{record.Technician}})
	require.NoError(w.t, err)
	w.gone = done.Subject
	_, err = w.ChangePerson(w.ctx, w.lead(), desk.PersonIn{From: w.from(), Person: w.gone, Name: "T. Osei",
		Roles: []record.Role{record.Technician}, Left: true})
	require.NoError(w.t, err)
}
