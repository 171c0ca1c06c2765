package web_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// upload sends a file as the form at path does.
func (v *visitor) upload(path, file string) {
	v.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "table.csv")
	require.NoError(v.t, err)
	_, err = part.Write([]byte(file))
	require.NoError(v.t, err)
	require.NoError(v.t, form.Close())
	r, err := http.NewRequest(http.MethodPost, officeURL+path, &body)
	require.NoError(v.t, err)
	r.Header.Set("Content-Type", form.FormDataContentType())
	v.send(r)
}

func TestAFileIsLookedAtBeforeItComesIn(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	v.open("/set-up")
	v.follow("From a file")
	v.sees("Past records")
	v.open("/import/sealers")
	v.sees("number, type, asset")

	v.upload("/import/sealers/preview", "number,type,place\n1,impulse,<b>Bench</b> 1\n2,iron,Bench 2\n")
	require.Equal(t, http.StatusOK, v.status, v.text())
	v.sees("Of 2 rows 1 can be taken in, 1 cannot.", "write bar-dial", "<b>Bench</b> 1")
	require.NotContains(t, v.raw, "<b>Bench", "what a file says is text")
	v.press("Take it in")
	v.refused(http.StatusUnprocessableEntity, "Not every row can be taken: 1 cannot")
	v.open("/sealers")
	v.sees("No sealer yet")

	v.upload("/import/sealers/preview", "number,type,place\n1,impulse,Bench 1\n2,iron,Bench 2\n")
	v.press("Take it in", "good", "true")
	require.Equal(t, http.StatusOK, v.status, v.text())
	v.sees("1 taken in.", "Left out", "Print the labels")
	v.open("/sealers")
	v.sees("Sealer 1")
	v.upload("/import/sealers/preview", "number,type,place\n1,impulse,Bench 1\n2,iron,Bench 2\n")
	v.sees("1 came in before and stay as they are", "There is nothing new to take in.")

	v.upload("/import/sealers/preview", "")
	v.refused(http.StatusUnprocessableEntity, "Choose a file")
	v.upload("/import/songs/preview", "a\nb\n")
	require.Equal(t, http.StatusNotFound, v.status)
}

func TestFirstPINsOfAFileOfPeopleAreShownOnce(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	const file = "name,role\nL. Marsh,technician\nT. Osei,technician\n"
	v.upload("/import/people/preview", file)
	v.press("Take it in")
	require.Len(t, shownPIN.FindAllString(v.text(), -1), 2)
	pin := strings.ReplaceAll(shownPIN.FindString(v.text()), " ", "")
	phone := o.phone(v)
	phone.signIn("L. Marsh", pin)
	require.Equal(t, "/pin", phone.url.Path, "a PIN of their own comes first")
	v.upload("/import/people", file)
	require.Empty(t, shownPIN.FindString(v.text()))
}

func TestTechniciansTakeNoFiles(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	pin := v.addPerson("L. Marsh", "technician")
	phone := o.phone(v)
	phone.signIn("L. Marsh", pin)
	phone.press("Use this PIN", "pin", "739164")
	for _, path := range []string{"/import", "/import/people"} {
		phone.open(path)
		require.Equal(t, http.StatusForbidden, phone.status)
	}
	phone.upload("/import/people", "name,role\nX. Y,lead\n")
	require.Equal(t, http.StatusForbidden, phone.status)
}
