package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"tidemark/labels"
	"tidemark/server"
	"tidemark/server/fault"
)

type labelsCmd struct {
	Data      string `required:"" help:"Data folder; a server may run on it."`
	Output    string `short:"o" name:"o" required:"" help:"PDF file to write."`
	Sheet     string `default:"a4-3x8" help:"Sheet, by its id."`
	Start     int    `default:"1" help:"First free label of a partly used sheet, from 1."`
	PublicURL string `name:"public-url" help:"What labels point to; that of the last serve if not given."`
}

// Run writes the labels of every sealer to a file.
func (c *labelsCmd) Run() (err error) {
	sheet, ok := labels.FindSheet(c.Sheet)
	if !ok {
		return fault.New(fault.Invalid, "there is no sheet %q; there are: %s", c.Sheet, sheetIDs())
	}
	f, err := os.Create(c.Output)
	if err != nil {
		return fault.Wrap(err, fault.Invalid, "cannot write %s", c.Output)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if err := c.print(f, sheet); err != nil {
		return errors.Join(err, os.Remove(c.Output))
	}
	fmt.Printf("Labels in %s. Print at 100 %%, without fitting to the page.\n", c.Output)
	return nil
}

func sheetIDs() (ids string) {
	for i, s := range labels.Sheets {
		if i > 0 {
			ids += ", "
		}
		ids += s.ID
	}
	return ids
}

// print asks the server that runs on the folder, or opens the folder itself.
func (c *labelsCmd) print(w io.Writer, sheet labels.Sheet) error {
	answer, err := server.Ask("GET", c.Data, fmt.Sprintf("/labels?sheet=%s&start=%d", sheet.ID, c.Start))
	if err == nil {
		_, err = io.Copy(w, answer)
		return errors.Join(err, answer.Close())
	}
	if !fault.Is(err, fault.Unknown) {
		return err
	}
	list, err := server.Labels(c.Data, c.PublicURL)
	if err != nil {
		return err
	}
	return labels.PDF(w, sheet, list, labels.Options{Start: c.Start, Made: time.Now()})
}
