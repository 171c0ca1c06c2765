package web_test

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSurveyorsQuestionsAreAnsweredFromTheRecords(t *testing.T) {
	_, v, code := ready(t)
	v.open("/answers")
	v.sees("How is each sealer tested?", "How do you know this sealer works?", "0 of 1 may seal now.",
		"No day in use is over yet.", "No failure is on record.", "Who approved this setting, and why?", "Sealer manual, page 9",
		"0 of 1 sealers have a calibration on record.", "No plan of maintenance is on record.", "Can these records be changed?")

	v.open("/answers?sealer=" + code)
	v.sees("sealer 2, as of", "0 of 1 may seal now.")
	v.open("/answers?sealer=KKKKKKK")
	require.Equal(t, http.StatusNotFound, v.status)

	var view struct {
		Works []struct {
			Number string `json:"number"`
		} `json:"works"`
	}
	v.open("/api/v1/answers?sealer=" + code)
	require.NoError(t, json.Unmarshal([]byte(v.raw), &view))
	require.Len(t, view.Works, 1)
	require.Equal(t, "2", view.Works[0].Number)
}

func TestWhereAndWhySaysTooFewUntilThereAreEnough(t *testing.T) {
	_, v, code := ready(t)
	v.open("/S/" + code + "/where")
	v.sees("No fault of this sealer is on record.", "How sure", "Good test seals in a row")
}
