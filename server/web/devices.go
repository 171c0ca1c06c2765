package web

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type invitePage struct {
	Page
	Code, Until string
	Address     string // where it is typed
	QR          labels.Drawing
}

// invite answers with the page that tells a code: an address must not carry it.
func (h *house) invite(c echo.Context) error {
	i, err := h.desk.InviteDevice(c.Request().Context(), caller(c))
	if err != nil {
		return err
	}
	v, err := h.desk.People(caller(c))
	if err != nil {
		return err
	}
	p := invitePage{Page: h.page(c, &v.Frame, "Let a device in"), Code: i.Code[:4] + " " +
		i.Code[4:],
		Until: v.Clock(record.TimeOf(i.Until)), Address: h.public.Host + "/device"}
	p.Back = &Link{Href: "/people", Text: "People and devices"}
	if p.QR, err = labels.Draw(h.public.Scheme + "://" + h.public.Host + "/device?code=" +
		i.Code); err != nil {
		return fault.Wrap(err, fault.Internal, "The code could not be drawn.")
	}
	return h.render(c, http.StatusOK, "invite", p)
}

type inviteIn struct{}

// inviteJSON is the invitation for programs.
func (h *house) inviteJSON(ctx context.Context, who desk.Caller, _ inviteIn) (desk.Invitation,
	error) {
	return h.desk.InviteDevice(ctx, who)
}

type endDevicePage struct {
	Page
	hidden
	Device  desk.DeviceRow
	Name    string
	Why     string
	Err     map[string]string
	Summary *Summary
}

func (h *house) endDevice(c echo.Context) error {
	return h.endDevicePage(c, http.StatusOK, desk.RevokeIn{}, nil)
}

func (h *house) endDeviceAgain(c echo.Context, in desk.RevokeIn, err error) error {
	return h.endDevicePage(c, status(err), in, err)
}

func (h *house) endDevicePage(c echo.Context, code int, in desk.RevokeIn, err error) error {
	v, viewErr := h.desk.People(caller(c))
	if viewErr != nil {
		return viewErr
	}
	for _, d := range v.Devices {
		if d.ID.String() != c.Param("device") || d.Revoked {
			continue
		}
		p := endDevicePage{Page: h.page(c, &v.Frame, deviceName(d)), hidden: formFor(&v.Frame,
			in.From, ""),
			Device: d, Why: in.Why, Err: fieldErrors(err), Summary: summaryOf(err)}
		p.Back = &Link{Href: "/people", Text: "People and devices"}
		return h.render(c, code, "enddevice", p)
	}
	return fault.New(fault.Unknown, "There is no such device here.")
}

func afterDevice(echo.Context, desk.RevokeIn, desk.Done) string { return "/people?said=shut-out" }
