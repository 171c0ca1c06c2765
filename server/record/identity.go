package record

// StandsIn says for which sealer another one stands in: a loaner for one that is
// being mended, or what came after one that was retired. For is zero when it no
// longer does.
type StandsIn struct {
	For ID     `json:"for,omitzero"`
	Why string `json:"why,omitempty"`
}

// SealerAway says that a sealer left for another site, or for a vendor.
type SealerAway struct {
	To   string `json:"to"`
	Back Date   `json:"back,omitzero"` // when it is expected back
	Why  string `json:"why,omitempty"`
}

// SealerBack says that it came back.
type SealerBack struct {
	Place string `json:"place"`
}

// What a document is.
const (
	DocIFU         = "ifu"
	DocCertificate = "certificate"
	DocPolicy      = "policy"
	DocOther       = "other"
)

// Documents lists what a document can be in the order of a form.
func Documents() []string { return []string{DocIFU, DocCertificate, DocPolicy, DocOther} }

// DocumentFiled names a document that is kept elsewhere, for a sealer or a
// department.
type DocumentFiled struct {
	What string `json:"what"`
	Document
	Until  Date   `json:"until,omitzero"`   // last day it is good for, a certificate's for example
	Link   string `json:"link,omitempty"`   // where it is kept
	SHA256 string `json:"sha256,omitempty"` // of the file, in hex
}

// DocumentEnded says that a document no longer counts.
type DocumentEnded struct {
	Document Seq    `json:"document"` // the record that filed it
	Why      string `json:"why,omitempty"`
}

// OldCardDown says that the card beside a sealer shows what is approved now, or
// that none hangs there. Card is the number of the card: its newest decision.
type OldCardDown struct {
	Card Seq `json:"card"`
}

func (*StandsIn) kind() (Kind, int)      { return "stands-in", 1 }
func (*SealerAway) kind() (Kind, int)    { return "sealer-away", 1 }
func (*SealerBack) kind() (Kind, int)    { return "sealer-back", 1 }
func (*DocumentFiled) kind() (Kind, int) { return "document-filed", 1 }
func (*DocumentEnded) kind() (Kind, int) { return "document-ended", 1 }
func (*OldCardDown) kind() (Kind, int)   { return "old-card-down", 1 }
