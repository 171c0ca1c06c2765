package rules

import (
	"encoding/hex"
	"net/url"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Identity is what is known of a sealer as a thing: where it is if not here,
// what it stands in for, which papers belong to it.
type Identity struct {
	For       record.ID   `json:"for,omitzero"`   // the sealer it stands in for
	Away      string      `json:"away,omitempty"` // where it is, if not here
	Back      record.Date `json:"back,omitzero"`  // when it is expected back
	OldCard   record.Seq  `json:"old_card"`       // the decision that an older card does not show, 0 if none
	Documents []Document  `json:"documents,omitempty"`
}

// Document is a document that still counts.
type Document struct {
	record.DocumentFiled
	Seq record.Seq `json:"seq"`
}

// identify puts a record's facts into a copy of the identity, and reports
// whether there were any.
func (i *Identity) identify(r *record.Record, body record.Body) bool {
	switch b := body.(type) {
	case *record.StandsIn:
		i.For = b.For
	case *record.SealerAway:
		i.Away, i.Back, i.For = b.To, b.Back, record.ID{}
	case *record.SealerBack:
		i.Away, i.Back = "", 0
	case *record.SealerRetired:
		i.For, i.Away, i.Back = record.ID{}, "", 0
	case *record.DocumentFiled, *record.DocumentEnded:
		i.Documents = filed(i.Documents, r, body)
	case *record.OldCardDown:
		if b.Card >= i.OldCard {
			i.OldCard = 0
		}
	default:
		return false
	}
	return true
}

// filed is a copy of a list of documents with one more, or one less.
func filed(list []Document, r *record.Record, body record.Body) []Document {
	switch b := body.(type) {
	case *record.DocumentFiled:
		return last(with(list, Document{*b, r.Seq}), keptFiled)
	case *record.DocumentEnded:
		return slices.DeleteFunc(slices.Clone(list), func(d Document) bool { return d.Seq == b.Document })
	}
	return list
}

// outdates reports whether a decision makes a card that hangs beside the sealer
// tell something that is no longer approved.
func (s *Sealer) outdates(body record.Body) bool {
	pouch := record.ID{}
	switch b := body.(type) {
	case *record.ApprovalGiven:
		pouch = b.Pouch
	case *record.ApprovalEnded:
		pouch = b.Pouch
	case *record.ApprovalQuestioned:
		pouch = b.Pouch
	}
	return slices.ContainsFunc(s.Approvals, func(a Approval) bool { return a.Pouch == pouch })
}

// StandIn is the sealer that stands in for another one, nil if none does.
func StandIn(v record.View, s *Sealer) *Sealer {
	d := GetDepartment(v, s.Dept)
	if d == nil {
		return nil
	}
	for _, id := range slices.Backward(d.Sealers) {
		if o := GetSealer(v, id); o != nil && o.For == s.ID && o.Readiness.State != record.Retired {
			return o
		}
	}
	return nil
}

// notHere is why nothing can be done at a sealer that is not in use.
func (s *Sealer) notHere() error {
	if s.Away != "" {
		return fault.New(fault.Gone, "Sealer %s is not here: it is at %s.", s.Number, s.Away)
	}
	return fault.New(fault.Gone, "Sealer %s is retired.", s.Number)
}

// identityIsSound looks at what is said of where a sealer is, of papers and of lists.
func identityIsSound(v record.View, d *Department, subject record.Subject, now record.Time, facts record.Body) error {
	s := GetSealer(v, subject.ID)
	switch b := facts.(type) {
	case *record.PacksUnlisted:
		return d.listIsThere(b)
	case *record.StandsIn:
		return s.mayStandIn(v, b)
	case *record.SealerAway:
		switch st := Standing(v, s, now); {
		case strings.TrimSpace(b.To) == "":
			return fault.Field("to", "Say where it is.")
		case s.Readiness.State == record.Retired:
			return s.notHere()
		case !st.Problem.IsZero():
			return fault.New(fault.Stale, "Sealer %s has an open problem that keeps it from sealing. "+
				"Let clinical engineering hand it back and test it first, or record the vendor at the problem.", s.Number)
		}
	case *record.SealerBack:
		switch {
		case s.Away == "":
			return fault.New(fault.Stale, "Sealer %s is here already.", s.Number)
		case strings.TrimSpace(b.Place) == "":
			return fault.Field("place", "Say where it stands now.")
		}
	case *record.DocumentFiled:
		if subject.Type != record.Sealer && subject.Type != record.Department {
			return fault.New(fault.Invalid, "Documents belong to a sealer or to the department.")
		}
		return documentIsSound(b)
	case *record.DocumentEnded:
		list := d.Documents
		if s != nil {
			list = s.Documents
		}
		if !slices.ContainsFunc(list, func(k Document) bool { return k.Seq == b.Document }) {
			return fault.New(fault.Stale, "This document was taken off the list already.")
		}
	}
	return nil
}

func (s *Sealer) mayStandIn(v record.View, b *record.StandsIn) error {
	if b.For.IsZero() {
		if s.For.IsZero() {
			return fault.New(fault.Stale, "Sealer %s stands in for none.", s.Number)
		}
		return nil
	}
	o := GetSealer(v, b.For)
	switch {
	case s.Readiness.State == record.Retired:
		return s.notHere()
	case o == nil || o.Dept != s.Dept || o.ID == s.ID:
		return fault.Field("for", "Choose the sealer that it stands in for.")
	}
	if other := StandIn(v, o); other != nil && other.ID != s.ID {
		return fault.Field("for", "Sealer %s stands in for sealer %s already.", other.Number, o.Number)
	}
	return nil
}

func documentIsSound(b *record.DocumentFiled) error {
	switch {
	case !slices.Contains(record.Documents(), b.What):
		return fault.Field("what", "Choose what it is.")
	case strings.TrimSpace(b.Title) == "":
		return fault.Field("title", "Give its title.")
	}
	if b.Link != "" {
		u, err := url.Parse(b.Link)
		if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.User != nil {
			return fault.Field("link", "Give an address that begins with https:// or leave it empty.")
		}
	}
	if sum, err := hex.DecodeString(b.SHA256); b.SHA256 != "" && (err != nil || len(sum) != 32) {
		return fault.Field("sha256", "A SHA-256 has 64 digits and letters a to f.")
	}
	return nil
}

// leave takes a sealer out of use here, and the way back asks for a check.
func (s *Sealer) leave(st record.Readiness, facts record.Body, r *record.Record) {
	next := st
	next.From, next.Until, next.Good, next.Of, next.NotValid = r.Happened.From, 0, 0, 0, 0
	switch facts.(type) {
	case *record.SealerAway:
		next.State, next.Why, next.Need = record.Retired, WhyAway, record.NeedNothing
	case *record.SealerBack:
		next.State, next.Why, next.Need = record.CheckDue, WhyMoved, record.NeedCheck
		next.Day = max(r.Day, r.Effect.Arrived)
	}
	r.Effect.Takes, r.Effect.Readiness = true, &next
}
