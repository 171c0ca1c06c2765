package web

import (
	"net/http"
	"reflect"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/static"
)

// routes is the table of contents. A line binds an address, its twin below
// /api/v1 and a use case of the desk.
func (h *house) routes(e *router) {
	e.GET("/livez", alive)
	e.GET("/readyz", h.readyz)
	e.GET("/metrics", h.showMetrics)
	e.GET("/static/*", echo.WrapHandler(static.Handler()))

	// Who is here
	e.GET("/sign-in", h.signInForm)
	e.POST("/sign-in", h.signIn)
	e.GET("/sign-out", h.outPage)
	e.POST("/sign-out", h.signOut)
	e.GET("/pin", h.pinForm)
	e.POST("/pin", h.choosePIN)
	e.GET("/device", h.deviceForm)
	e.POST("/device", h.enrol)
	e.GET("/begin", h.beginForm)
	e.POST("/begin", h.begin)
	h.programs(e)

	h.fromElsewhere(e)
	h.telling(e)
	h.settingUp(e)
	h.correcting(e)
	h.packLists(e)
	h.evidence(e)
	h.caring(e)
	h.restingOn(e)
	h.training(e)
	h.phones(e)
	h.maintaining(e)
	h.identity(e)
	h.importing(e)
	h.calendars(e)

	// Which sealer for which pouch
	e.GET("/", h.boardHere)
	question(e, "/board", h.askBoard)
	e.GET("/board/part", h.boardPart)
	e.GET("/events", h.events)
	e.GET("/S", h.lookUp)

	// A sealer
	view(e, "/S/:code", "/sealers/:code", h.askSealer, h.drawSealer)
	e.GET("/S/:code/fresh", h.freshSealer)
	e.GET("/S/:code/fail", h.sealerForm(h.failPage))
	e.GET("/S/:code/not-valid", h.sealerForm(h.notValidPage))
	both(h, e, "/S/:code/checks", "/sealers/:code/checks", h.desk.Check, afterCheck, h.checkAgain)

	view(e, "/S/:code/where", "/sealers/:code/where", h.askWhere, h.drawWhere)
	view(e, "/S/:code/history", "/sealers/:code/history", h.askHistory, h.drawHistory)

	// On paper, and back from it
	e.GET("/S/:code/card", h.card)
	e.GET("/S/:code/sides", h.sides)
	e.GET("/S/:code/tag", h.tag)
	e.GET("/S/:code/downtime", h.downtime)
	e.GET("/S/:code/late", h.sealerForm(h.latePage))
	e.POST("/S/:code/late", h.postLate)

	// Whatever else happens to it
	e.GET("/S/:code/more", h.more)
	both(h, e, "/S/:code/changeovers", "/sealers/:code/changeovers", h.desk.Changeover,
		afterMore("changeover", func(in desk.ChangeoverIn) string { return in.Code }), moreAgain[desk.ChangeoverIn](h))
	both(h, e, "/S/:code/disturbances", "/sealers/:code/disturbances", h.desk.Disturb, afterDisturb, moreAgain[desk.DisturbIn](h))
	both(h, e, "/disturbances", "/disturbances", h.desk.Disturb, afterDisturb, nil)
	both(h, e, "/S/:code/packs", "/sealers/:code/packs", h.desk.LogPacks,
		afterMore("packs", func(in desk.PacksIn) string { return in.Code }), moreAgain[desk.PacksIn](h))
	both(h, e, "/not-used", "/not-used", h.desk.NotUsed, afterNotUsed, nil)

	// A bad seal
	e.GET("/S/:code/bad-seal", h.badSealForm)
	e.POST("/S/:code/bad-seal", h.postBadSeal)
	command(e, "/sealers/:code/bad-seals", h.desk.ReportBadSeal)
	e.GET("/photographs/:id", h.photograph)

	// A problem and its three endings
	view(e, "/problems", "/problems", h.askProblems, h.drawProblems)
	view(e, "/problems/:problem", "/problems/:problem", h.askProblem, h.drawProblem)
	e.GET("/problems/:problem/fresh", h.freshProblem)
	problemStep(h, e, "/tag", "tagged", h.desk.Tag, nil)
	e.GET("/problems/:problem/judgement", h.stepForm(h.judgementPage))
	problemStep(h, e, "/judgement", "saved", h.desk.Judge, stepAgain[desk.JudgeIn](h, h.judgementPage))
	e.GET("/problems/:problem/fix", h.stepForm(h.fixPage))
	problemStep(h, e, "/fix", "fixed", h.desk.FirstLineFix, stepAgain[desk.FixIn](h, h.fixPage))
	e.GET("/problems/:problem/close", h.stepForm(h.closePage))
	problemStep(h, e, "/close", "closed", h.desk.CloseProblem, stepAgain[desk.FinishIn](h, h.closePage))
	e.POST("/problems/:problem/notes", h.postNote)
	command(e, "/problems/:problem/notes", h.desk.AddNote)

	// Its packs
	view(e, "/problems/:problem/hold", "/problems/:problem/hold", h.askHold, h.drawHold)
	e.GET("/problems/:problem/hold.csv", h.holdCSV)
	problemStep(h, e, "/packs", "packs-ended", h.desk.SettlePacks, h.holdAgain)
	problemStep(h, e, "/located", "located", h.desk.LocatePacks, h.locateAgain)
	problemStep(h, e, "/told", "told", h.desk.TellOfHold, func(c echo.Context, in desk.ToldIn, err error) error {
		return h.holdAgain(c, desk.SettleIn{}, err)
	})
	e.GET("/problems/:problem/window", h.windowForm)
	problemStep(h, e, "/window", "window", h.desk.ChangeHold, h.windowAgain)
	e.GET("/problems/:problem/answer", h.stepForm(h.answerPage))
	problemStep(h, e, "/answer", "window", h.desk.AnswerHold, stepAgain[desk.AnswerHoldIn](h, h.answerPage))
	e.GET("/problems/:problem/settled", h.stepForm(h.settledPage))
	problemStep(h, e, "/settled", "settled", h.desk.FinishPacks, stepAgain[desk.FinishIn](h, h.settledPage))

	// Clinical engineering, signed in
	view(e, "/queue", "/queue", h.askQueue, h.drawQueue)
	e.GET("/queue/fresh", h.freshQueue)
	problemStep(h, e, "/seen", "seen", h.desk.MarkSeen, h.seenAgain)
	e.GET("/problems/:problem/work", h.workForm)
	problemStep(h, e, "/work", "saved", h.desk.Work, h.workAgain)
	e.GET("/problems/:problem/hand-back", h.handBackForm)
	problemStep(h, e, "/hand-back", "handed-back", h.desk.HandBack, h.handBackAgain)

	// The same by a one-time link, without an account
	e.GET("/seen", h.linkOver)
	view(e, "/seen/:token", "/seen/:token", h.askLink, h.drawLink)
	both(h, e, "/seen/:token/seen", "/seen/:token/seen", h.desk.MarkSeen,
		linkStepped[desk.SeenIn]("seen"), h.linkSeenAgain)
	e.GET("/seen/:token/note", h.linkNoteForm)
	e.POST("/seen/:token/note", h.postLinkNote)
	command(e, "/seen/:token/note", h.desk.NoteByLink)
	e.GET("/seen/:token/work", h.linkWorkForm)
	both(h, e, "/seen/:token/work", "/seen/:token/work", h.desk.Work,
		linkStepped[desk.WorkIn]("saved"), h.linkWorkAgain)
	e.GET("/seen/:token/hand-back", h.linkHandBackForm)
	both(h, e, "/seen/:token/hand-back", "/seen/:token/hand-back", h.desk.HandBack, linkEnded,
		h.linkHandBackAgain)

	// The shift that follows
	view(e, "/hand-over", "/hand-over", h.askHandOver, h.drawHandOver)
	view(e, "/letters", "/letters", h.askLetters, h.drawLetters)

	h.asked(e)
}

// asked is what a surveyor asks, and what other programs take.
func (h *house) asked(e *router) {
	view(e, "/records", "/completeness", h.askRecords, h.drawRecords)
	view(e, "/answers", "/answers", h.askAnswers, h.drawAnswers)
	view(e, "/questions", "/questions", h.askQuestions, h.drawQuestions)
	e.GET("/records/pack", h.packForm)
	e.GET("/records/pack.zip", h.sendPack)
	offered(e, "/record-pack", h.sendPack)
	question(e, "/records", h.askFeed)
	view(e, "/records/pack/:section", "/record-pack/:section", h.askSection, h.drawSection)
}

// offered binds an address of the JSON interface to bytes that are no JSON.
func offered(e *router, api string, send echo.HandlerFunc) {
	e.offers = append(e.offers, offer{http.MethodGet, api, nil, reflect.TypeFor[zipped]()})
	e.GET(apiRoot+api, send)
}

// fromElsewhere is for bad packs found outside the department: a poster, its page
// without an account, and the inbox that it leads to.
func (h *house) fromElsewhere(e *router) {
	e.GET("/F/:poster", h.foundForm)
	e.POST("/F/:poster", h.postFound)
	e.GET("/F/:poster/thanks", h.foundThanks)
	take(e, "/posters/:poster/reports", h.foundByProgram)

	view(e, "/found", "/found", h.askFoundInbox, h.drawFoundInbox)
	view(e, "/found/:report", "/found/:report", h.askFoundReport, h.drawFoundReport)
	e.GET("/found/:report/photograph", h.foundPhotograph)
	both(h, e, "/found/:report/take", "/found/:report/take", h.desk.TakeFound, afterTake, foundAgain[desk.TakeFoundIn](h, nil))
	both(h, e, "/found/:report/record", "/found/:report/record", h.desk.RecordFound, afterFound, foundAgain(h, typedFound))
	both(h, e, "/found/:report/not-ours", "/found/:report/not-ours", h.desk.NotOurs, afterNotOurs,
		foundAgain[desk.NotOursIn](h, nil))

	view(e, "/poster", "/poster", h.askPoster, h.drawPoster)
	both(h, e, "/poster", "/poster", h.desk.MakePoster, afterPoster, nil)
	e.GET("/poster/sheet.pdf", h.printPoster)
}

// telling is whom to tell outside the department, how, and what waits to be told.
func (h *house) telling(e *router) {
	view(e, "/set-up/route", "/route", h.askRoute, h.drawRoute)
	both(h, e, "/set-up/route", "/route", h.desk.SetRoute, afterSetUp[desk.RouteIn], h.routeAgain)

	view(e, "/webhooks", "/webhooks", h.askHooks, h.drawHooks)
	e.POST("/webhooks", h.addHook)
	command(e, "/webhooks", h.desk.AddHook)
	both(h, e, "/webhooks/:hook", "/webhooks/:hook", h.desk.ChangeHook, afterHook, nil)
	e.POST("/webhooks/:hook/secret", h.renewSecret)
	command(e, "/webhooks/:hook/secret", h.desk.RenewSecret)
	e.POST("/webhooks/:hook/test", h.tryHook)
	command(e, "/webhooks/:hook/test", h.desk.TryHook)

	view(e, "/outbox", "/outbox", h.askOutbox, h.drawOutbox)
	both(h, e, "/outbox", "/outbox", h.desk.DecideMessages, afterMessages, h.outboxAgain)
}

// settingUp is how a department comes to its first Ready, and what it changes
// later.
func (h *house) settingUp(e *router) {
	view(e, "/set-up", "/set-up", h.askSetUp, h.drawSetUp)
	view(e, "/set-up/department", "/department", h.askDepartment, h.drawDepartment)
	both(h, e, "/set-up/department", "/department", h.desk.ChangeDepartment,
		afterSetUp[desk.DepartmentIn], h.departmentAgain)
	view(e, "/set-up/plans/:type", "/plans/:type", h.askPlan, h.drawPlan)
	both(h, e, "/set-up/plans/:type", "/plans/:type", h.desk.SetPlan, afterSetUp[desk.PlanIn], h.planAgain)

	view(e, "/people", "/people", h.askPeople, h.drawPeople)
	e.GET("/people/new", h.newPerson)
	e.POST("/people", h.addPerson)
	command(e, "/people", h.desk.AddPerson)
	view(e, "/people/:person", "/people/:person", h.askPerson, h.drawPerson)
	both(h, e, "/people/:person", "/people/:person", h.desk.ChangePerson, afterPerson, h.personAgain)
	e.POST("/people/:person/pin", h.resetPIN)
	command(e, "/people/:person/pin", h.desk.ResetPIN)
	e.POST("/devices", h.invite)
	command(e, "/devices", h.inviteJSON)
	e.GET("/devices/:device", h.endDevice)
	both(h, e, "/devices/:device", "/devices/:device", h.desk.RevokeDevice, afterDevice, h.endDeviceAgain)

	view(e, "/pouches", "/pouches", h.askPouches, h.drawPouches)
	e.GET("/pouches/new", h.newPouch)
	both(h, e, "/pouches", "/pouches", h.desk.AddPouch, afterPouch, h.newPouchAgain)
	view(e, "/pouches/:pouch", "/pouches/:pouch", h.askPouch, h.drawPouch)
	e.GET("/pouches/:pouch/revise", h.revisePouch)
	both(h, e, "/pouches/:pouch", "/pouches/:pouch", h.desk.RevisePouch, afterPouch, h.reviseAgain)
	both(h, e, "/pouches/:pouch/releases", "/pouches/:pouch/releases", h.desk.ReleaseLot, afterRelease, h.releaseAgain)

	view(e, "/boxes", "/boxes", h.askBoxes, h.drawBoxes)
	e.POST("/boxes", h.postBox)
	command(e, "/boxes", h.desk.OpenBox)

	view(e, "/sealers", "/sealers", h.askSealers, h.drawSealers)
	e.GET("/sealers/new", h.newSealer)
	both(h, e, "/sealers", "/sealers", h.desk.AddSealer, afterSealer, h.newSealerAgain)
	view(e, "/S/:code/facts", "/sealers/:code/facts", h.askFacts, h.drawFacts)
	e.GET("/S/:code/change", h.changeSealer)
	both(h, e, "/S/:code/facts", "/sealers/:code/facts", h.desk.ChangeSealer, afterFacts[desk.SealerIn], h.changeSealerAgain)
	e.GET("/S/:code/move", h.farewell)
	both(h, e, "/S/:code/move", "/sealers/:code/move", h.desk.MoveSealer, afterFacts[desk.MoveIn], h.moveAgain)
	both(h, e, "/S/:code/retire", "/sealers/:code/retire", h.desk.RetireSealer, afterFacts[desk.RetireIn], h.retireAgain)

	e.GET("/labels", h.labelsForm)
	e.GET("/labels/sheet.pdf", h.printLabels)
	e.GET("/stickers", h.stickersForm)
	e.GET("/stickers/sheet.pdf", h.printStickers)
	e.GET("/labels/:code", h.labelPicture)

	e.GET("/S/:code/approve", h.approve)
	both(h, e, "/S/:code/approve", "/sealers/:code/approvals", h.desk.Approve, afterApproval, h.approveAgain)
	view(e, "/S/:code/approvals", "", h.askFacts, h.drawApprovals)
	e.GET("/S/:code/approvals/end", h.endApproval)
	both(h, e, "/S/:code/approvals/end", "/sealers/:code/approvals/end", h.desk.EndApproval, afterEnd, h.endAgain)
}

// caring is what an administrator does for the records themselves.
func (h *house) caring(e *router) {
	view(e, "/care", "/care", h.askCare, h.drawCare)
	both(h, e, "/care/removals", "/care/removals", h.desk.Erase, afterCare[desk.EraseIn]("removed"), careAgain[desk.EraseIn](h))
	both(h, e, "/care/clock", "/care/clock", h.desk.CorrectClock, afterCare[desk.ClockIn]("clock"), careAgain[desk.ClockIn](h))
}

// correcting is how an entry is corrected or taken back; it stays, and is shown
// beside its correction.
func (h *house) correcting(e *router) {
	view(e, "/entries/:seq", "/entries/:seq", h.askEntry, h.drawEntry)
	entryStep(h, e, "/correct", "corrected", h.desk.Correct, func(in desk.CorrectIn) desk.CorrectIn { return in })
	entryStep(h, e, "/void", "taken-back", h.desk.Void, nil)
	entryStep(h, e, "/confirm", "taken-back", h.desk.ConfirmVoid, nil)
}

// evidence is what whoever mends a sealer has to see.
func (h *house) evidence(e *router) {
	view(e, "/problems/:problem/evidence", "/problems/:problem/evidence", h.askEvidence, h.drawEvidence)
	view(e, "/problems/:problem/lot", "/problems/:problem/lot", h.askLot, h.drawLot)
	view(e, "/seen/:token/evidence", "/seen/:token/evidence", h.askLinkEvidence, h.drawLinkEvidence)
	e.POST("/problems/:problem/marks", h.postMark)
	command(e, "/problems/:problem/marks", h.desk.MarkPhoto)
	e.GET("/photographs/:id/cut-out", h.cutOut)
}

// packFiles is where lists of packs are sent to.
const packFiles = "/pack-lists/files"

// packLists are lists of packs from the department's own system.
func (h *house) packLists(e *router) {
	view(e, "/pack-lists", "/pack-lists", h.askPackLists, h.drawPackLists)
	e.POST(packFiles, h.postPackFile)
	h.takePackFile(e)
	e.GET("/pack-lists/new", h.packPreview)
	e.POST("/pack-lists/preview", h.packPreview)
	take(e, "/pack-lists/preview", h.previewPacks)
	both(h, e, "/pack-lists", "/pack-lists", h.desk.ImportPacks, afterImport, h.importAgain)
	view(e, "/pack-lists/:list", "/pack-lists/:list", h.askPackList, h.drawPackList)
	both(h, e, "/pack-lists/:list/take-back", "/pack-lists/:list/take-back", h.desk.TakeListBack, afterListBack, h.listBackAgain)
}

// restingOn is what the settings of a sealer rest on: measured, tried out, weighed
// and decided by a lead. Technicians see nothing of it.
func (h *house) restingOn(e *router) {
	view(e, "/S/:code/settings", "/sealers/:code/settings", h.askSettings, h.drawSettings)
	view(e, "/S/:code/settings/:pouch", "/sealers/:code/settings/:pouch", h.askAdvice, h.drawAdvice)
	both(h, e, "/S/:code/settings/:pouch", "/sealers/:code/settings/:pouch", h.desk.ApproveFrom, afterAdvice, h.adviceAgain)

	e.GET("/S/:code/tables/new", h.newTable)
	e.POST("/S/:code/tables/rows", h.moreTableRows)
	both(h, e, "/S/:code/tables", "/sealers/:code/tables", h.desk.EnterTable, afterTable, h.tableAgain)
	view(e, "/S/:code/tables/:seq", "/sealers/:code/tables/:seq", h.askTable, h.drawTable)

	e.GET("/S/:code/ladders/new", h.newLadder)
	e.GET("/S/:code/ladders/sheet", h.ladderSheet)
	e.POST("/S/:code/ladders/rows", h.moreLadderRows)
	both(h, e, "/S/:code/ladders", "/sealers/:code/ladders", h.desk.RecordLadder, afterLadder, h.ladderAgain)
	view(e, "/S/:code/ladders/:seq", "/sealers/:code/ladders/:seq", h.askLadder, h.drawLadder)

	e.GET("/S/:code/readings/new", h.newReading)
	both(h, e, "/S/:code/readings", "/sealers/:code/readings", h.desk.RecordReading, afterReading, h.readingAgain)
	e.GET("/S/:code/validation", h.newValidation)
	both(h, e, "/S/:code/strength", "/sealers/:code/strength", h.desk.TestStrength, afterValidation[desk.StrengthIn], h.strengthAgain)
	both(h, e, "/S/:code/width", "/sealers/:code/width", h.desk.MeasureWidth, afterValidation[desk.WidthIn], h.widthAgain)
	both(h, e, "/S/:code/sterilized", "/sealers/:code/sterilized", h.desk.TestSterilized,
		afterValidation[desk.SterilizedIn], h.sterilizedAgain)
}

// calendars are what calendar programs read.
func (h *house) calendars(e *router) {
	view(e, "/calendars", "/calendars", h.askCalendars, h.drawCalendars)
	e.POST("/calendars", h.makeCalendar)
	command(e, "/calendars", h.desk.MakeCalendar)
	both(h, e, "/calendars/:calendar/end", "/calendars/:calendar/end", h.desk.EndCalendar, afterCalendar, nil)
	e.GET("/calendar/:token", h.calendar)
}

// importing takes in what is on a spreadsheet.
func (h *house) importing(e *router) {
	e.GET("/import", h.importStart)
	e.GET("/import/:what", h.importForm)
	e.GET("/import/:what/example.csv", h.importExample)
	e.POST("/import/:what/preview", h.importPreview)
	e.POST("/import/:what", h.takeImport)
	command(e, "/import/:what/preview", h.desk.PreviewImport)
	command(e, "/import/:what", h.desk.TakeImport)
}

// identity is where a sealer is, what stands in for it, and its papers.
func (h *house) identity(e *router) {
	both(h, e, "/S/:code/stand-in", "/sealers/:code/stand-in", h.desk.StandIn, afterFacts[desk.StandInIn], h.standInAgain)
	both(h, e, "/S/:code/away", "/sealers/:code/away", h.desk.SendAway, afterFacts[desk.AwayIn], h.awayAgain)
	both(h, e, "/S/:code/back", "/sealers/:code/back", h.desk.BringBack, afterBack, h.moveAgain)
	both(h, e, "/S/:code/card", "/sealers/:code/card", h.desk.TakeCardDown, afterCard, nil)
	for _, at := range []string{"/documents", "/S/:code/documents"} {
		api := strings.Replace(at, "/S/", "/sealers/", 1)
		view(e, at, api, h.askDocuments, h.drawDocuments)
		both(h, e, at, api, h.desk.FileDocument, afterDocument[desk.DocumentIn], h.documentsAgain)
		both(h, e, at+"/ended", api+"/ended", h.desk.EndDocument, afterDocument[desk.EndDocumentIn], nil)
	}
}

// training is who is signed off for what.
func (h *house) training(e *router) {
	view(e, "/training", "/training", h.askTraining, h.drawTraining)
	both(h, e, "/training", "/training", h.desk.AskTraining, afterTraining, h.trainingAgain)
	e.GET("/people/:person/training", h.signOffs)
	both(h, e, "/people/:person/training", "/people/:person/training", h.desk.SignOff, afterSignOff[desk.TrainedIn], h.signOffAgain)
	both(h, e, "/people/:person/training/end", "/people/:person/training/end", h.desk.EndSignOff,
		afterSignOff[desk.EndSignOffIn], h.endSignOffAgain)
	e.GET("/S/:code/accept", h.acceptForm)
	both(h, e, "/S/:code/accept", "/sealers/:code/accepted-checks", h.desk.AcceptCheck, afterAccept, h.acceptAgain)
}

// phones is what works without contact: pages that a phone keeps, entries that it
// sends later, and what a lead has to say to some of them.
func (h *house) phones(e *router) {
	e.GET("/sw.js", h.worker)
	e.GET("/cards", h.cards)
	e.GET("/kept", h.keptPage)
	e.GET("/repair", h.repairPage)
	take(e, "/queue", h.takeKept)
	h.keptPhotographs(e, "/queue/photographs")
	view(e, "/waiting", "/waiting", h.askWaiting, h.drawWaiting)
	both(h, e, "/waiting/:report/take", "/waiting/:report/take", h.acceptKept, afterWaiting[acceptIn]("taken"), nil)
	both(h, e, "/waiting/:report/leave-out", "/waiting/:report/leave-out", h.desk.LeaveOutKept, afterWaiting[desk.LeaveOutIn]("left-out"), nil)

	keep(h, "/S/:code/checks", h.desk.Check, goodCheck, afterCheck)
	keep(h, "/S/:code/bad-seal", h.desk.ReportBadSeal, taking, afterKeptBadSeal)
	keep(h, "/S/:code/changeovers", h.desk.Changeover, taking,
		afterMore("changeover", func(in desk.ChangeoverIn) string { return in.Code }))
	keep(h, "/S/:code/disturbances", h.desk.Disturb, taking, afterDisturb)
	keep(h, "/S/:code/packs", h.desk.LogPacks, taking, afterMore("packs", func(in desk.PacksIn) string { return in.Code }))
	keep(h, "/not-used", h.desk.NotUsed, giving, afterNotUsed)
	keep(h, "/problems/:problem/tag", h.desk.Tag, giving, afterKeptTag)
	keep(h, "/S/:code/tasks/:task/done", h.desk.DoTask, giving, afterKeptTask)
}

// maintaining is what is done to sealers again and again, and when.
func (h *house) maintaining(e *router) {
	view(e, "/due", "/due", h.askDue, h.drawDue)
	view(e, "/S/:code/due", "/sealers/:code/due", h.askDueHere, h.drawDueHere)
	e.GET("/S/:code/tasks/:task", h.taskForm("done"))
	e.POST("/S/:code/tasks/:task/done", h.postDone)
	command(e, "/sealers/:code/tasks/:task/done", h.desk.DoTask)
	e.GET("/S/:code/tasks/:task/skip", h.taskForm("skip"))
	both(h, e, "/S/:code/tasks/:task/skip", "/sealers/:code/tasks/:task/skip", h.desk.SkipTask, afterTask[desk.SkipIn], h.skipAgain)
	e.GET("/S/:code/tasks/:task/extend", h.taskForm("extend"))
	both(h, e, "/S/:code/tasks/:task/extend", "/sealers/:code/tasks/:task/extend", h.desk.ExtendTask,
		afterTask[desk.ExtendIn], h.extendAgain)

	e.GET("/S/:code/calibrate", h.newCalibration)
	e.POST("/S/:code/calibrate/rows", h.moreCalibrationRows)
	both(h, e, "/S/:code/calibrations", "/sealers/:code/calibrations", h.desk.Calibrate, afterCalibration, h.calibrateAgain)
	view(e, "/S/:code/calibrations/:seq", "/sealers/:code/calibrations/:seq", h.askCalibration, h.drawCalibration)
	view(e, "/S/:code/held", "/sealers/:code/held", h.askHeld, h.drawHeld)
	e.GET("/problems/:problem/assess", h.stepForm(h.assessPage))
	problemStep(h, e, "/assess", "assessed", h.desk.AssessInBulk, stepAgain[desk.AssessIn](h, h.assessPage))
	e.GET("/problems/:problem/confirm", h.stepForm(h.confirmPage))
	problemStep(h, e, "/confirm", "settled", h.desk.ConfirmBulk, stepAgain[desk.ConfirmIn](h, h.confirmPage))

	view(e, "/set-up/maintenance/:type", "/maintenance/:type", h.askMaintenance, h.drawMaintenance)
	both(h, e, "/set-up/maintenance/:type", "/maintenance/:type", h.desk.StartMaintenance,
		afterMaintenance[desk.CommonIn], h.startAgain)
	e.GET("/set-up/maintenance/:type/:task", h.taskSetForm)
	both(h, e, "/set-up/maintenance/:type/:task", "/maintenance/:type/tasks/:task", h.desk.SetTask,
		afterMaintenance[desk.TaskSetIn], h.taskSetAgain)
}

func alive(c echo.Context) error { return c.String(http.StatusOK, "alive\n") }

func (h *house) readyz(c echo.Context) error {
	if h.ready != nil {
		if err := h.ready(); err != nil {
			return c.String(http.StatusServiceUnavailable, err.Error()+"\n")
		}
	}
	return c.String(http.StatusOK, "ready\n")
}

// lookUp is the scan box without script.
func (h *house) lookUp(c echo.Context) error {
	code, err := labels.ParseCode(c.QueryParam("code"))
	if err != nil {
		return fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	return c.Redirect(http.StatusSeeOther, "/S/"+string(code))
}
