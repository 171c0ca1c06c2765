package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"tidemark/labels"
	"tidemark/server"
	"tidemark/server/fault"
)

type labelsCmd struct {
	Data      string `required:"" help:"Data folder. The server must not be running on it: print from its labels page then."`
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
	list, err := server.Labels(c.Data, c.PublicURL)
	if err != nil {
		return err
	}
	f, err := os.Create(c.Output)
	if err != nil {
		return fault.Wrap(err, fault.Invalid, "cannot write %s", c.Output)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if err := labels.PDF(f, sheet, list, labels.Options{Start: c.Start, Made: time.Now()}); err != nil {
		return err
	}
	fmt.Printf("%d labels in %s. Print at 100 %%, without fitting to the page.\n", len(list), c.Output)
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
