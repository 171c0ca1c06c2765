package web_test

import (
	"net/http"
	"testing"
)

func TestABoxIsNamedOnceAndChecksCarryItsLot(t *testing.T) {
	_, v, code := ready(t)
	v.open("/S/" + code + "/more")
	v.follow("A new box was opened")
	v.press("This box is in use now", "what", "dye", "lot", "D-11", "expires", "2020-01-31")
	v.refused(http.StatusUnprocessableEntity, "This box is past its date. Do not use it.")
	v.press("This box is in use now", "lot", "D-12", "expires", "2099-01-31")
	v.sees("The new box is in use.")
	v.sees("lot D-12")
	v.sees("until 31 Jan 2099")
	v.press("This box is in use now", "what", "Flat pouch", "lot", "L-7")
	v.sees("lot L-7")
}
