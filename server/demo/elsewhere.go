package demo

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// hangPoster makes the poster that operating rooms and stores write from.
func (h *house) hangPoster() {
	_, err := h.desk.MakePoster(h.ctx, h.callers[castellune], desk.From{ID: entryID("poster")})
	h.keep("make poster", err)
}

// foundElsewhere: a while ago an operating room found a bad pack of sealer 4. It
// waits in the inbox.
func (h *house) foundElsewhere() {
	at := h.end.Add(-34 * time.Minute)
	sealed := record.DateOf(h.moment(h.weekday(4), "10:00"))
	h.add(at, func() {
		poster, err := h.desk.Poster(h.callers[castellune])
		if !h.keep("look at poster", err) {
			return
		}
		_, err = h.desk.Found(h.ctx, desk.FoundIn{ID: entryID("found elsewhere"), Poster: poster.Code, Kind: record.Channel,
			Number: sealers[four].Number, SealedOn: sealed.String(), Where: record.AtTheatre, Used: "no",
			Load: "S1-0902", Reach: "Operating room 4, ext. 5104", Photo: drawChannel(12, 45)})
		h.keep("report bad pack from elsewhere", err)
	})
}
