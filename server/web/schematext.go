package web

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// knownTypes are types whose text has a form of its own. Empty text stands for
// "none" in all of them.
var knownTypes = map[reflect.Type]schema{
	reflect.TypeFor[record.ID](): {"type": "string", "pattern": "^([0-9a-f]{32})?$",
		"description": "16 random bytes in lower-case hex; empty: none."},
	reflect.TypeFor[record.Time](): {"type": "string",
		"pattern":     `^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z)?$`,
		"description": "An instant, RFC 3339 in UTC with three decimals; empty: not said."},
	reflect.TypeFor[record.Date](): {"type": "string", "pattern": `^(\d{4}-\d\d-\d\d)?$`,
		"description": "A day, YYYY-MM-DD; empty: none."},
	reflect.TypeFor[record.Seq](): {"type": "integer", "minimum": -1,
		"description": "The place of a record in the ledger, from 0; -1: none."},
	reflect.TypeFor[record.Commitment](): {"type": "string", "pattern": "^[0-9a-f]{64}$",
		"description": "A salted SHA-256 of a private value that can be erased."},
	reflect.TypeFor[time.Time]():       {"type": "string", "format": "date-time"},
	reflect.TypeFor[json.RawMessage](): {},

	reflect.TypeFor[record.Basis]():      oneOf(record.FromIFU, record.FromTable, record.FromLadder),
	reflect.TypeFor[record.Blame]():      oneOf(record.BlamePlace, record.BlameHeat, record.BlameBoth),
	reflect.TypeFor[record.Fault]():      oneOf(record.Faults()...),
	reflect.TypeFor[record.Material]():   oneOf(record.PaperFilm, record.Nonwoven, record.Gusseted),
	reflect.TypeFor[record.Outcome]():    oneOf(record.Pass, record.Fail, record.NotYet, record.NotValid),
	reflect.TypeFor[record.Place]():      oneOf(record.Left, record.Middle, record.Right, record.Whole),
	reflect.TypeFor[record.SealerType](): oneOf(record.BarDial, record.BarDisplay, record.Impulse, record.Continuous),
	reflect.TypeFor[record.Source]():     oneOf(record.Clock, record.Typed, record.Doubtful),
	reflect.TypeFor[record.Test]():       oneOf(record.Look, record.Dye, record.Indicator, record.Peel),
	reflect.TypeFor[record.State](): oneOf(record.Ready, record.CheckDue, record.NotReady, record.OutOfService,
		record.WithEngineering, record.Retired),
	reflect.TypeFor[record.Need](): oneOf(record.NeedCheck, record.NeedTestSeal, record.NeedFresh,
		record.NeedPlaces, record.NeedReturn),
	reflect.TypeFor[record.Role](): oneOf(record.Technician, record.Lead, record.Engineering, record.Surveyor,
		record.Administrator),
	reflect.TypeFor[record.Via](): oneOf(record.ViaPIN, record.ViaPassword, record.ViaSSO, record.ViaLink,
		record.ViaNone, record.ViaConsole, record.ViaImport),
	reflect.TypeFor[fault.Code](): oneOf(slices.Sorted(maps.Keys(statusOf))...),
}

// oneOf is text from a list, or empty.
func oneOf[T ~string](values ...T) schema {
	return schema{"type": "string", "enum": append(slices.Clone(values), "")}
}
