package web

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Every kind of record reads as a sentence or two; a new kind cannot be forgotten.
func TestEveryKindIsPutIntoWords(t *testing.T) {
	noon, _ := record.ParseDate("2026-01-13")
	at := record.TimeOf(noon.UTC()).Add(12 * 3600e9)
	span := record.Span{From: at, To: at}
	cases := []told{
		{&record.DepartmentOpened{Name: "Packing room"}, "Department opened", "Packing room"},
		{
			&record.DepartmentChanged{Reason: "new hours"},
			"Settings of the department changed",
			"new hours",
		},
		{
			&record.PlanSet{
				SealerType: record.BarDial,
				Plan: record.Plan{Places: []record.Place{record.Left, record.Right},
					Tests: []record.Test{
						record.Look,
						record.Dye,
					}},
			},
			"Check plan changed: bar with a dial",
			"left and right, visual inspection and dye test",
		},
		{
			&record.NotUsed{Sealers: []record.ID{{1}}, From: noon, To: noon},
			"Not used 13 Jan 2026",
			"",
		},
		{&record.BoxOpened{What: record.DyeBox, Lot: "D-11", Expires: noon}, "New box of dye: lot D-11", "until 13 Jan 2026"},
		{
			&record.NotUsed{From: noon, To: noon + 1, Why: "holiday"},
			"Department closed 13 Jan 2026 to 14 Jan 2026",
			"holiday",
		},
		{
			&record.PersonAdded{Roles: []record.Role{record.Technician, record.Lead}},
			"Person added",
			"technician, lead",
		},
		{&record.PersonChanged{Left: true}, "Person has left", ""},
		{&record.Imported{What: "check", Outcome: "pass", Row: 7}, "From a file: check", "pass, line 7"},
		{&record.FileImported{What: "sealers", Rows: 40}, "File taken in: sealers", "40 rows"},
		{&record.SealerAway{To: "another site", Back: noon}, "Left for another site", "expected back 13 Jan 2026"},
		{&record.SealerBack{Place: "Bench 2"}, "Back, at Bench 2", ""},
		{&record.StandsIn{For: record.ID{1}, Why: "element on order"}, "Stands in for another sealer", "element on order"},
		{&record.StandsIn{}, "Stands in for no other sealer any more", ""},
		{&record.OldCardDown{Card: 7}, "Old card is down", ""},
		{
			&record.DocumentFiled{What: record.DocCertificate, Document: record.Document{Title: "Probe 3"}, Until: noon},
			"Document named: Probe 3",
			"certificate, good until 13 Jan 2026",
		},
		{&record.DocumentEnded{Why: "replaced"}, "Document taken off the list", "replaced"},
		{
			&record.Trained{Types: []record.SealerType{record.Impulse, record.Continuous},
				For: record.Skills(), On: noon, DueAgain: noon + 1},
			"Signed off: checks, first-line fix",
			"impulse bar, continuous-feed, 13 Jan 2026, until 14 Jan 2026",
		},
		{
			&record.TrainingEnded{Types: []record.SealerType{record.Impulse},
				For: []record.Skill{record.ToFix}, Why: "long away"},
			"Sign-off taken back: first-line fix",
			"impulse bar, long away",
		},
		{&record.TrainingAsked{Ask: true, Reason: "policy 4"}, "Sign-offs asked for", "policy 4"},
		{&record.TrainingAsked{}, "Sign-offs not asked for any more", ""},
		{&record.CheckAccepted{Reason: "watched it"}, "A lead let the check count", "Flat pouch, watched it"},
		{&record.DeviceLetIn{}, "Device let in", ""},
		{&record.DeviceRevoked{Why: "lost"}, "Device shut out", "lost"},
		{
			&record.PouchAdded{
				PouchFacts: record.PouchFacts{
					Name: "Flat pouch",
					IFU:  record.Document{Title: "IFU P", Revision: "C", Page: "4"},
				},
			},
			"Pouch added: Flat pouch",
			"IFU P, revision C, page 4",
		},
		{
			&record.PouchRevised{
				PouchFacts: record.PouchFacts{Name: "Flat pouch"},
				Recheck:    true,
				Reason:     "new film",
			},
			"Pouch revised: Flat pouch",
			"new film; approvals before do not stand",
		},
		{&record.LotHeld{Lot: "7781"}, "Lot 7781 on hold", ""},
		{
			&record.LotReleased{Lot: "7781", Why: "maker's letter"},
			"Lot 7781 released",
			"maker's letter",
		},
		{
			&record.SealerAdded{
				SealerFacts: record.SealerFacts{Number: "2", Type: record.Impulse, Asset: "20417"},
			},
			"Sealer 2 added",
			"impulse bar, asset 20417",
		},
		{
			&record.SealerChanged{
				SealerFacts: record.SealerFacts{Type: record.Impulse},
				Code:        "K7QM3XK",
			},
			"New label, the old one ends",
			"impulse bar",
		},
		{&record.SealerMoved{Place: "Bench 3"}, "Moved to Bench 3", ""},
		{&record.SealerRetired{Why: "beyond repair"}, "Retired", "beyond repair"},
		{
			&record.ApprovalGiven{
				Value:       "7 1/2",
				Unit:        "mark",
				Hold:        "2 s",
				Basis:       record.FromIFU,
				IFU:         record.Document{Title: "IFU S", Page: "9"},
				Provisional: noon,
			},
			"Approved for Flat pouch: 7½, 2 s",
			"IFU S, page 9, provisional until 13 Jan 2026",
		},
		{&record.ApprovalEnded{Why: "other pouch"}, "Approval ended for Flat pouch", "other pouch"},
		{
			&record.ApprovalQuestioned{Why: record.DoubtIFU, Face: "132.1 °C", Window: "120.0 °C to 130.0 °C"},
			"Do not use for Flat pouch until the lead decides",
			"outside the window of the revised IFU, at the sealing face 132.1 °C, " +
				"window 120.0 °C to 130.0 °C",
		},
		{
			&record.TemperatureTable{
				Source:     record.Measured,
				Condition:  record.AsFound,
				Points:     make([]record.TablePoint, 6),
				Instrument: record.Instrument{Name: "probe 3", Certificate: "C-12", Due: noon},
			},
			"Temperature table measured",
			"as found, 6 points, with probe 3, certificate C-12, good until 13 Jan 2026",
		},
		{
			&record.Reading{
				Set:   record.Quantity{Value: "7 1/2", Unit: "mark"},
				Face:  record.Quantity{Value: "356", Unit: "degF"},
				Place: record.Left,
			},
			"Measured 356 °F at 7½",
			"left",
		},
		{
			&record.LadderTrial{Steps: make([]record.LadderStep, 5), Lot: "7781"},
			"Ladder trial for Flat pouch",
			"5 seals, pouch lot 7781",
		},
		{
			&record.StrengthTested{
				SealsMade: record.SealsMade{Setting: record.Quantity{Value: "180", Unit: "degC"}},
				Strips:    []string{"2.1", "2.4"},
			},
			"Seal strength tested: Flat pouch",
			"2 strips, sealed at 180 °C",
		},
		{
			&record.WidthMeasured{
				Ribs:  []string{"2", "2", "2.5"},
				Unit:  "mm",
				Least: record.Quantity{Value: "6", Unit: "mm"},
			},
			"Seal width measured: Flat pouch",
			"2 + 2 + 2.5 mm, at least 6 mm",
		},
		{
			&record.AfterSterilizing{Process: "steam", Before: 10, BeforeGood: 10, After: 10},
			"Seals tested after sterilizing: Flat pouch",
			"steam, good before 10 of 10, after 0 of 10",
		},
		{
			&record.Check{
				Outcome: record.Pass,
				Places:  []record.Place{record.Whole},
				Tests:   []record.Test{record.Peel},
				Shown:   "180",
			},
			"Good check",
			"Flat pouch, all along, peel, display 180",
		},
		{
			&record.Check{
				Outcome: record.Fail,
				Kind:    record.Channel,
				Place:   record.Left,
				AtCM:    "3",
			},
			"Failed check: channel, left, 3 cm from the left",
			"Flat pouch",
		},
		{
			&record.Check{Outcome: record.NotYet, Reason: "warming"},
			"Not ready, no test made",
			"still heating or cooling",
		},
		{
			&record.Check{Outcome: record.NotValid, Reason: "crept"},
			"Test not valid",
			"dye crept into the paper; Flat pouch",
		},
		{
			&record.Changeover{Minutes: 40},
			"Changeover to Flat pouch",
			"a check 40 minutes later at the earliest",
		},
		{&record.Disturbance{What: record.PowerOff}, "Power was off", ""},
		{
			&record.BadSeal{
				Kind:     record.Crease,
				Place:    record.Middle,
				Found:    record.AtStore,
				SealedAt: &span,
			},
			"Bad seal: crease, middle",
			"Flat pouch, found in store, sealed 12:00",
		},
		{
			&record.Packs{Count: 1, Load: "S2-0205-03"},
			"1 pack sealed",
			"Flat pouch, load S2-0205-03",
		},
		{&record.Tagged{}, "Tagged and switched off", ""},
		{&record.Seen{}, "Seen by Biomed", ""},
		{
			&record.Work{
				Stage:    record.Vendor,
				Vendor:   "service desk",
				Order:    "47960",
				Expected: noon,
			},
			"Vendor called",
			"service desk, order 47960, expected 13 Jan 2026",
		},
		{
			&record.HandedBack{Finding: "cover", Action: "replaced", Safety: "ok", Wiped: true},
			"Handed back: non-stick cover",
			"replaced, electrical safety ok, wiped down",
		},
		{
			&record.FirstLineFix{Did: []string{"set", "warmed-up"}, Cause: "setting"},
			"First-line fix",
			"it was the setting, set again, warmed up",
		},
		{&record.Judged{Blame: record.BlamePlace}, "The fault comes from a place on the bar", ""},
		{
			&record.HoldChanged{From: at, To: at, Reason: "one more found"},
			"Hold set to 12:00 to 12:00",
			"one more found",
		},
		{
			&record.HoldAnswered{Accept: true, Reason: "ends not tested"},
			"The wider hold counts",
			"ends not tested",
		},
		{
			&record.PhotoMarked{X: 500, Y: 500},
			"Place marked on a photograph",
			"",
		},
		{
			&record.PacksListed{Packs: 47, LeftOut: 1, Columns: record.PackColumns{Which: record.TimeSterilized}},
			"List of packs came in",
			"47 packs, sterilizing times, 1 row left out",
		},
		{
			&record.PacksUnlisted{Why: "wrong columns"},
			"List of packs taken back",
			"wrong columns",
		},
		{
			&record.PacksTurnedUp{Packs: 4},
			"4 packs turned up in a list",
			"the packs are not settled any more",
		},
		{
			&record.PacksLocated{Count: 17, Where: record.InStore},
			"17 packs found: store",
			"kept aside, no end yet",
		},
		{
			&record.HoldTold{Whom: record.InfectionPrevention, Reference: "IR-2231"},
			"Infection prevention told",
			"reference IR-2231",
		},
		{
			&record.PackSettled{Count: 17, End: "repackaged", Where: "store"},
			"17 packs repackaged",
			"store",
		},
		{&record.PacksSettled{Packs: 47}, "Packs settled", "47 packs known"},
		{&record.ProblemClosed{}, "Problem closed", ""},
		{&record.Note{}, "Note", ""},
		{&record.Photograph{}, "Photograph", ""},
		{&record.RouteSet{People: []record.OnRoute{{}}, Minutes: 30, Reason: "nights"}, "Whom to tell was changed",
			"1 person, the next after 30 minutes, nights"},
		{&record.Called{Mail: true, Hook: record.ID{1}, Urgent: true}, "Told",
			"by mail, by webhook, urgent: a pouch has no sealer left"},
		{&record.HookSet{Reason: "ticket inbox"}, "Webhook named", "ticket inbox"},
		{&record.HookSet{Off: true}, "Webhook ended", ""},
		{&record.PostDecided{Decision: "send", Messages: 12}, "12 messages sent again", ""},
		{&record.PostDecided{Decision: "drop", Messages: 1}, "1 message dropped", ""},
		{&record.Rang{Waiting: 1}, "A bad pack was found elsewhere", "the leads are told"},
		{&record.NotOurs{Why: "another hospital's sticker"}, "Found elsewhere, not ours", "another hospital's sticker"},
		{&record.Voided{Why: "wrong sealer"}, "Taken back", "wrong sealer"},
		{&record.Corrected{Why: "typed wrong"}, "Correction", "typed wrong"},
		{&record.VoidConfirmed{}, "Agreed to take back", ""},
		{&record.Erased{Records: []record.Seq{4}, Why: "two years are over"}, "Private words removed from record 4", "two years are over"},
		{
			&record.ClockCorrected{Was: at},
			"Clock of the server put right",
			"it had run ahead to 12:00",
		},
	}
	cases = append(cases, maintenanceWords()...)
	f := &desk.Frame{
		Now: at,
		Dept: &rules.Department{
			DepartmentSettings: record.DepartmentSettings{Zone: "UTC", Engineering: "Biomed"},
		},
	}
	left := record.Kinds()
	for _, c := range cases {
		r, err := record.New(c.body)
		require.NoError(t, err)
		delete(left, r.Kind)
		w := describe(f, &desk.Line{Kind: r.Kind, Body: c.body, Pouch: "Flat pouch"})
		require.Equal(t, c.title, w.Title)
		require.Equal(t, c.text, w.Text, c.title)
	}
	require.Empty(t, left, "kinds that nothing describes")
}

func TestWhatIsKnownBesidesIsToldInWords(t *testing.T) {
	f := &desk.Frame{
		Dept: &rules.Department{DepartmentSettings: record.DepartmentSettings{Zone: "UTC"}},
	}
	l := desk.Line{
		Body:   &record.Check{Outcome: record.Pass},
		Who:    "V. Costa",
		For:    "T. Osei",
		Late:   true,
		Note:   "from paper",
		Effect: record.Effect{Nothing: "earlier-day"},
		Photos: []record.ID{{1}, {2}},
	}
	list := timeline(f, []desk.Line{l})
	require.Len(t, list, 2, "a line for each photograph")
	require.Equal(t, "V. Costa for T. Osei", list[0].Who)
	require.Equal(t, "it counts for its own day; “from paper”", list[0].Text)
	require.True(t, list[0].Late)
	require.NotEqual(t, list[0].Photo.Src, list[1].Photo.Src)
}

// told is a record and the words for it.
type told struct {
	body        record.Body
	title, text string
}

func maintenanceWords() []told {
	july, _ := record.ParseDate("2026-07-01")
	return []told{
		{&record.MaintenanceSet{SealerType: record.Impulse, Tasks: make([]record.Task, 2), Reason: "new IFU"},
			"Maintenance plan changed: impulse bar", "2 tasks, new IFU"},
		{&record.TaskDone{Task: "pad", Part: "pad 40 cm", Reading: "even"}, "Done: pad", "even, put in pad 40 cm"},
		{&record.TaskSkipped{Task: "pad", Reason: "no part"}, "Skipped: pad", "no part"},
		{&record.TaskExtended{Task: "calibration", Until: july, Reason: "the firm is late"},
			"May wait until 1 Jul 2026: calibration", "the firm is late"},
		{&record.Calibrated{Instrument: record.Instrument{Name: "reference 2", Certificate: "K-7"}, Report: "R-1"},
			"Calibrated", "nothing was adjusted, with reference 2, certificate K-7, report R-1"},
		{&record.FoundJudged{Found: record.Missed, Face: "132.0 °C", Place: record.Left, Window: "120.0 °C to 130.0 °C",
			Confidence: "less than 0.1 %"}, "Window missed as found: Flat pouch", "found at the sealing face 132.0 °C left, " +
			"window 120.0 °C to 130.0 °C, probability that it was met less than 0.1 %"},
		{&record.BulkAssessed{Packs: 31, End: "used", Reason: "no harm was found"}, "31 packs assessed: used",
			"no harm was found, the first of two names"},
		{&record.BulkConfirmed{}, "Assessment confirmed by a second person", ""},
	}
}
