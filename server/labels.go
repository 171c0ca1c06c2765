package server

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/ledger"
)

// urlFile keeps the public address that a folder was last served under, so that
// labels can be printed without asking for it again.
const urlFile = "public-url"

func (s *Server) keepURL() error {
	old, err := os.ReadFile(filepath.Join(s.config.Dir, urlFile))
	if err == nil && string(old) == s.config.PublicURL {
		return nil
	}
	return durable.WriteFile(s.config.Dir, urlFile, []byte(s.config.PublicURL))
}

// Labels returns the label of every sealer in a data folder that no server
// holds. An empty publicURL is that of the last serve.
func Labels(dir, publicURL string) (list []labels.Label, err error) {
	if _, err := os.Stat(dir); err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "There is no data folder %s", dir)
	}
	if publicURL == "" {
		b, err := os.ReadFile(filepath.Join(dir, urlFile))
		if errors.Is(err, os.ErrPermission) {
			return nil, fault.Wrap(err, fault.Forbidden, "The data folder %s belongs to another user", dir)
		}
		if err != nil {
			return nil, fault.Wrap(err, fault.Invalid, "Say with -public-url what the labels point to")
		}
		publicURL = strings.TrimSpace(string(b))
	}
	book, err := openEither(ledger.Options{Dir: dir, Fold: desk.Fold()})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	return desk.New(desk.Options{Ledger: book, PublicURL: publicURL}).Labels()
}

// openEither opens a folder of a department or of a demo.
func openEither(o ledger.Options) (*ledger.Ledger, error) {
	book, err := ledger.Open(o)
	if fault.Is(err, fault.Forbidden) {
		o.Demo = true
		return ledger.Open(o)
	}
	return book, err
}
