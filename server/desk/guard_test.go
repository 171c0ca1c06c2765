package desk_test

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// needs names what a method asks for in the table of who may do what, where
// that is not its own name.
var needs = map[string]string{
	"Board": "Look", "Entry": "Look", "Care": "Erase", "Problem": "Look", "Problems": "Look", "Queue": "Look", "HandOver": "Look", "Hold": "Look",
	"History": "Look", "Records": "Look", "Sealer": "Look", "Sealers": "Look", "Facts": "Look",
	"Boxes": "Look", "Questions": "Questions", "Answers": "Look", "Where": "Where", "Pouches": "Look", "Pouch": "Look", "SetUp": "Look", "Department": "Look", "Plan": "Look", "LabelsFor": "Look", "NumbersFor": "Look",
	"Photograph": "Look", "Glance": "Look", "Blank": "Look", "ChoosePIN": "Look",
	"People": "ManagePeople", "Person": "ManagePeople", "AddPerson": "ManagePeople", "ChangePerson": "ManagePeople",
	"ResetPIN": "ManagePeople", "InviteDevice": "ManageDevices", "RevokeDevice": "ManageDevices",
	"Waiting": "AcceptKept", "Evidence": "Look", "Lot": "Look", "CutOut": "Look", "StorePackFile": "ImportPacks", "PreviewPacks": "ImportPacks", "PackLists": "PackLists", "PackList": "PackLists", "Training": "Training",
	"FoundInbox": "TakeFound", "FoundReport": "TakeFound", "FoundPhotograph": "TakeFound", "Poster": "ManagePoster",
	"RecordSection": "RecordPack",
	"Documents":     "Look",
	"Feed":          "Look",
	"PreviewImport": "Import", "TakeImport": "Import", "Calendars": "Calendars",
	"Due": "Look", "DueHere": "Look", "Calibration": "Look", "Held": "Settings", "Maintenance": "Look", "SetTask": "SetMaintenance", "StartMaintenance": "SetMaintenance",
}

// open are methods for which no role is asked: they end a session, or look for
// themselves at a ticket or at a link.
var open = []string{"SignOut", "StillIn", "TakeKept", "TakeKeptPhoto", "ByLinkView"}

// unwritten methods of the table write no record, or write it by another one.
var unwritten = []string{"MakeCalendar", "EndCalendar", "StorePackFile", "PackLists", "PreviewPacks", "ChoosePIN", "ResetPIN", "InviteDevice", "AcceptKept", "LeaveOutKept", "TakeFound", "RecordPack"}

func TestEveryMethodThatTakesACallerNamesWhoMay(t *testing.T) {
	for m := range methods() {
		if slices.Contains(open, m.Name) {
			continue
		}
		require.NotEmpty(t, desk.RolesFor(useOf(m.Name)), "who may %s? Name it in guard.go, or in this test", m.Name)
		_, written := commands[m.Name]
		_, asked := needs[m.Name]
		require.True(t, written || asked || slices.Contains(unwritten, m.Name),
			"%s has no test that it is one record when it is sent twice: add it to commands", m.Name)
	}
}

// methods are those of the desk that take a Caller.
func methods() map[reflect.Method]bool {
	found := map[reflect.Method]bool{}
	for m := range reflect.TypeFor[*desk.Desk]().Methods() {
		for in := range m.Type.Ins() {
			if in == reflect.TypeFor[desk.Caller]() {
				found[m] = true
			}
		}
	}
	return found
}

func useOf(method string) string {
	if use, ok := needs[method]; ok {
		return use
	}
	return method
}

func TestStrangersAreAskedToSignIn(t *testing.T) {
	w := newWorkplace(t)
	size := w.Size()
	for m := range methods() {
		if slices.Contains(open, m.Name) || commands[m.Name].do != nil {
			continue
		}
		require.Equal(t, fault.SignIn, fault.CodeOf(call(w, m, desk.Caller{})), m.Name)
	}
	for name, c := range commands {
		_, err := c.do(w, w.ctx, desk.Caller{}, w.from())
		require.Error(t, err, name)
		require.Contains(t, []fault.Code{fault.SignIn, fault.Unknown}, fault.CodeOf(err), "%s: %v", name, err)
	}
	require.Equal(t, size, w.Size(), "nothing is written for a stranger")
}

// call calls a method with a caller and nothing else.
func call(w *workplace, m reflect.Method, who desk.Caller) error {
	in := []reflect.Value{reflect.ValueOf(w.Desk)}
	for t := range m.Type.Ins() {
		switch t {
		case reflect.TypeFor[*desk.Desk]():
		case reflect.TypeFor[context.Context]():
			in = append(in, reflect.ValueOf(w.ctx))
		case reflect.TypeFor[desk.Caller]():
			in = append(in, reflect.ValueOf(who))
		default:
			in = append(in, reflect.Zero(t))
		}
	}
	out := m.Func.Call(in)
	err, _ := out[len(out)-1].Interface().(error)
	return err
}

func TestCommandsAreRefusedToOthersAndAreOneRecordForTwoSendings(t *testing.T) {
	for name, c := range commands {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := newWorkplace(t)
			if c.before != nil {
				c.before(w)
			}
			requireRefusedToOthers(t, w, name)
			requireOnce(t, w, name)
		})
	}
}

// requireRefusedToOthers tries a command as everybody who may not. The lead of
// the workplace administers it, too.
func requireRefusedToOthers(t *testing.T, w *workplace, name string) {
	size := w.Size()
	for role, who := range w.staff {
		if slices.Contains(desk.RolesFor(useOf(name)), role) || role == record.Lead {
			continue
		}
		_, err := commands[name].do(w, w.ctx, who, w.from())
		require.Equal(t, fault.Forbidden, fault.CodeOf(err), "%s by %s: %v", name, role, err)
	}
	require.Equal(t, size, w.Size(), "nothing is written of what was refused")
}

// requireOnce sends a command twice.
func requireOnce(t *testing.T, w *workplace, name string) {
	from := w.from()
	first, err := commands[name].do(w, w.ctx, w.lead(), from)
	require.NoError(t, err)
	require.False(t, first.Repeat)
	require.Equal(t, from.ID, first.ID)
	size := w.Size()
	require.Equal(t, int(size-from.Seen), first.Count, "as many records as the receipt says")

	again, err := commands[name].do(w, w.ctx, w.lead(), from)
	require.NoError(t, err)
	require.True(t, again.Repeat)
	require.Equal(t, size, w.Size(), "no second record")
	again.Repeat, again.Size = first.Repeat, first.Size
	require.Equal(t, first, again, "the same receipt")
}

func TestOtherContentUnderAnIDIsAConflict(t *testing.T) {
	w := newWorkplace(t)
	from := w.from()
	_, err := w.LogPacks(w.ctx, w.lead(), desk.PacksIn{From: from, Code: w.code, Pouch: w.paper, Count: 4})
	require.NoError(t, err)
	size := w.Size()
	_, err = w.LogPacks(w.ctx, w.lead(), desk.PacksIn{From: from, Code: w.code, Pouch: w.paper, Count: 5})
	require.Equal(t, fault.Conflict, fault.CodeOf(err))
	require.Equal(t, size, w.Size())
}
