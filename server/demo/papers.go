package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// papers names the documents behind the department and two of its sealers. One
// certificate ends within the month.
func (h *house) papers() {
	lead := h.callers[castellune]
	for _, in := range []desk.DocumentIn{
		{What: record.DocPolicy, Title: "Policy SP-07, heat sealers", Revision: "C", Link: "https://papers.lanternfield.example/sp-07"},
		{What: record.DocCertificate, Title: "Calibration of contact probe 3", Page: "1", Until: h.day(0) + 24},
		{Code: h.codes[feed], What: record.DocIFU, Title: "Continuous-feed sealer, manual", Revision: "4"},
		{Code: h.codes[five], What: record.DocIFU, Title: "Bar sealer with display, manual", Revision: "B"},
	} {
		in.From = h.from(0)
		_, err := h.desk.FileDocument(h.ctx, lead, in)
		h.keep("file document "+in.Title, err)
	}
}
