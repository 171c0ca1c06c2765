package desk_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

func TestTheSealerPageSaysBeforeTheCheckWhoIsNotSignedOff(t *testing.T) {
	w := newWorkplace(t)
	tech := w.staff[record.Technician]
	page := func() desk.Trained {
		v, err := w.Sealer(tech, w.spare, w.paper)
		require.NoError(t, err)
		return v.Training
	}
	require.Equal(t, desk.Trained{}, page(), "nobody is asked for a sign-off")
	_, err := w.AskTraining(w.ctx, w.lead(), desk.AskTrainingIn{From: w.from(), Ask: true})
	require.NoError(t, err)
	require.Equal(t, desk.Trained{Missing: true, Ask: []string{"V. Costa"}}, page(), "the lead can sign somebody off")
	signOffTechnician(w)
	require.Equal(t, desk.Trained{Until: record.DateOf(w.now) + 20}, page(), "it ends within a month: said in time")
}

func TestTheMatrixHasWhoeverMayCheckByTypesInUse(t *testing.T) {
	w := newWorkplace(t)
	signOffTechnician(w)
	v, err := w.Training(w.staff[record.Surveyor])
	require.NoError(t, err)
	require.Equal(t, []record.SealerType{record.BarDial}, v.Types)
	require.Len(t, v.Rows, 2, "the technician and the lead")
	require.Equal(t, "A technician", v.Rows[0].Person.Text)
	require.Equal(t, record.DateOf(w.now)+20, v.Rows[0].Cells[0].Check.Due)
	require.Zero(t, v.Rows[0].Cells[0].Fix)
	_, err = w.Training(w.staff[record.Technician])
	require.Equal(t, fault.Forbidden, fault.CodeOf(err), "who is signed off is not for everybody's eyes")

	person, err := w.Person(w.lead(), w.staff[record.Technician].Person)
	require.NoError(t, err)
	require.Len(t, person.SignOffs, 1)
	row := person.SignOffs[0]
	require.Equal(t, []string{"V. Costa", "P. Quillon, vendor", "V. Costa", "made three checks while I watched"},
		[]string{row.ShownBy, row.AssessedBy, row.EnteredBy, row.Note})

	over, err := w.HandOver(w.lead())
	require.NoError(t, err)
	require.Len(t, over.Training, 1)
	require.False(t, over.Training[0].Over)
}

func TestASignOffWithoutAnAssessorIsRefused(t *testing.T) {
	w := newWorkplace(t)
	in := w.trained(w.from())
	in.AssessedName = " "
	_, err := w.SignOff(w.ctx, w.lead(), in)
	require.ErrorContains(t, err, "who assessed it")
}

func TestAnAcceptedCheckMakesTheSealerReady(t *testing.T) {
	w := newWorkplace(t)
	checkUntrained(w)
	v, err := w.Sealer(w.lead(), w.spare, w.paper)
	require.NoError(t, err)
	require.Len(t, v.Training.Waiting, 1)
	require.Equal(t, "A technician", v.Training.Waiting[0].By)
	mine, err := w.Sealer(w.staff[record.Technician], w.spare, w.paper)
	require.NoError(t, err)
	require.Empty(t, mine.Training.Waiting, "it is for a lead")
	over, err := w.HandOver(w.lead())
	require.NoError(t, err)
	require.Len(t, over.Waiting, 1)

	done, err := w.AcceptCheck(w.ctx, w.lead(), desk.AcceptCheckIn{From: w.from(), Code: w.spare, Check: w.waiting, Reason: "watched"})
	require.NoError(t, err)
	require.Empty(t, done.Nothing)
	v, err = w.Sealer(w.lead(), w.spare, w.paper)
	require.NoError(t, err)
	require.Equal(t, record.Ready, v.Standing.State)
	_, err = w.AcceptCheck(w.ctx, w.lead(), desk.AcceptCheckIn{From: w.from(), Code: w.code, Check: w.waiting, Reason: "watched"})
	require.Equal(t, fault.Unknown, fault.CodeOf(err), "a check of another sealer")
}
