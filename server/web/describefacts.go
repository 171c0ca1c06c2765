package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// describeFacts puts into words what is recorded of sealers, settings and
// pouches.
func describeFacts(_ *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.SealerAdded:
		return words{Title: "Sealer " + b.Number + " added", Text: sealerText(b.SealerFacts)}
	case *record.SealerChanged:
		w := words{Title: "Facts changed", Text: listed(sealerText(b.SealerFacts), b.Reason)}
		if b.Code != "" {
			w.Title = "New label, the old one ends"
		}
		return w
	case *record.SealerMoved:
		return words{Title: "Moved to " + b.Place}
	case *record.Imported:
		return words{Title: "From a file: " + b.What, Text: listed(b.Outcome, b.Pouch, "line "+itoa(b.Row))}
	case *record.SealerAway:
		return words{Title: "Left for " + b.To, Text: listed(with("expected back", dateText(b.Back)), b.Why)}
	case *record.SealerBack:
		return words{Title: "Back, at " + b.Place}
	case *record.StandsIn:
		if b.For.IsZero() {
			return words{Title: "Stands in for no other sealer any more", Text: b.Why}
		}
		return words{Title: "Stands in for another sealer", Text: b.Why}
	case *record.OldCardDown:
		return words{Title: "Old card is down"}
	case *record.DocumentFiled:
		return words{Title: "Document named: " + b.Title, Text: listed(docWords[b.What], with("revision", b.Revision),
			with("page", b.Page), with("good until", dateText(b.Until)))}
	case *record.DocumentEnded:
		return words{Title: "Document taken off the list", Text: b.Why}
	case *record.SealerRetired:
		return words{Title: "Retired", Text: b.Why}
	case *record.ApprovalGiven:
		return words{Title: listed("Approved for "+l.Pouch+": "+settingText(b.Value, b.Unit),
			b.Hold, b.Speed),
			Text: listed(basisWords[b.Basis], documentText(b.IFU), with("provisional until",
				dateText(b.Provisional)))}
	case *record.ApprovalEnded:
		return words{Title: "Approval ended for " + l.Pouch, Text: b.Why, Tone: "out"}
	}
	return pouchWords(l)
}

func pouchWords(l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.PouchAdded:
		return words{Title: "Pouch added: " + b.Name, Text: documentText(b.IFU)}
	case *record.PouchRevised:
		w := words{Title: "Pouch revised: " + b.Name, Text: listed(documentText(b.IFU), b.Reason)}
		if b.Recheck {
			w.Text = sentences(w.Text, "approvals before do not stand")
		}
		if b.Retired {
			w.Title = "Pouch not used any more: " + b.Name
		}
		return w
	case *record.LotHeld:
		return words{Title: "Lot " + b.Lot + " on hold", Text: lotWhy(b.Why), Tone: "out"}
	case *record.LotReleased:
		return words{Title: "Lot " + b.Lot + " released", Text: b.Why, Tone: "ready"}
	}
	return words{}
}

// lotWhy tells why a lot is on hold: a fault of the maker's seal, or as typed.
func lotWhy(why string) string {
	if w, ok := faultWords[record.Fault(why)]; ok {
		return "maker's seal: " + strings.ToLower(w)
	}
	return why
}

func sealerText(s record.SealerFacts) string {
	return listed(
		typeWords[s.Type],
		with("asset", s.Asset),
		with("serial", s.Serial),
		s.Model,
		s.Place,
		documentText(s.IFU),
	)
}

// documentText is "IFU of the pouch, revision C, page 4".
func documentText(d record.Document) string {
	return listed(d.Title, with("revision", d.Revision), with("page", d.Page), dateText(d.Date))
}

var basisWords = map[record.Basis]string{
	record.FromIFU: "", record.FromTable: "from the temperature table",
	record.FromLadder: "from a ladder trial",
}

// describeHouse puts into words what is recorded of the department and its
// people.
func describeHouse(f *desk.Frame, l *desk.Line) words {
	switch b := l.Body.(type) {
	case *record.DepartmentOpened:
		return words{Title: "Department opened", Text: b.Name}
	case *record.DepartmentChanged:
		return words{Title: "Settings of the department changed", Text: b.Reason}
	case *record.PacksListed:
		return words{Title: "List of packs came in", Text: listed(packsText(b.Packs), whichWords[b.Columns.Which]+" times",
			leftOutText(b.LeftOut))}
	case *record.PacksUnlisted:
		return words{Title: "List of packs taken back", Text: b.Why}
	case *record.PlanSet:
		return words{Title: "Check plan changed: " + typeWords[b.SealerType],
			Text: listed(placesLine(b.Places), testsLine(b.Tests), b.Policy, b.Reason)}
	case *record.BoxOpened:
		w := words{Title: "New box of " + strings.ToLower(supplyWords[b.What]) + ": lot " + b.Lot}
		if b.Expires != 0 {
			w.Text = "until " + b.Expires.UTC().Format("2 Jan 2006")
		}
		return w
	case *record.NotUsed:
		return notUsedWords(b)
	case *record.PersonAdded:
		return words{Title: "Person added", Text: rolesText(b.Roles)}
	case *record.PersonChanged:
		if b.Left {
			return words{Title: "Person has left", Text: b.Why}
		}
		return words{Title: "Person changed", Text: listed(rolesText(b.Roles), b.Why)}
	case *record.FileImported:
		return words{Title: "File taken in: " + b.What, Text: itoa(b.Rows) + " rows"}
	case *record.Trained:
		return words{Title: "Signed off: " + skillsText(b.For), Text: listed(typesText(b.Types), dateText(b.On),
			with("until", dateText(b.DueAgain)))}
	case *record.TrainingEnded:
		return words{Title: "Sign-off taken back: " + skillsText(b.For), Text: listed(typesText(b.Types), b.Why)}
	case *record.TrainingAsked:
		if !b.Ask {
			return words{Title: "Sign-offs not asked for any more", Text: b.Reason}
		}
		return words{Title: "Sign-offs asked for", Text: b.Reason}
	case *record.DeviceLetIn:
		return words{Title: "Device let in"}
	case *record.DeviceRevoked:
		return words{Title: "Device shut out", Text: b.Why}
	case *record.Erased:
		return words{Title: "Private words removed from " + recordsText(b.Records), Text: b.Why}
	case *record.ClockCorrected:
		return words{Title: "Clock of the server put right", Text: "it had run ahead to " +
			f.Clock(b.Was)}
	}
	return words{}
}

func skillsText(skills []record.Skill) string {
	var list []string
	for _, s := range skills {
		list = append(list, strings.ToLower(skillWords[s]))
	}
	return strings.Join(list, ", ")
}

func typesText(types []record.SealerType) string {
	var list []string
	for _, t := range types {
		list = append(list, typeWords[t])
	}
	return strings.Join(list, ", ")
}

func notUsedWords(b *record.NotUsed) words {
	w := words{Title: "Not used " + dateText(b.From), Text: b.Why}
	if len(b.Sealers) == 0 {
		w.Title = "Department closed " + dateText(b.From)
	}
	if b.To != b.From {
		w.Title += " to " + dateText(b.To)
	}
	return w
}

func rolesText(roles []record.Role) string {
	var list []string
	for _, r := range roles {
		list = append(list, strings.ToLower(roleWords[r]))
	}
	return strings.Join(list, ", ")
}
