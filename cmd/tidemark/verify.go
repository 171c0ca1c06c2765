package main

import (
	"fmt"
	"os"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/ledger"
)

type verifyCmd struct {
	Data    string   `required:"" help:"Data folder."`
	Key     string   `help:"Public key of the ledger, if known from elsewhere."`
	Witness []string `help:"What was seen of the ledger earlier: a size and root from a print or mail, such as \"1204 9f3a00c1\"."`
}

// Run checks a folder and says in plain words what was looked at.
func (c *verifyCmd) Run() error {
	if _, err := os.Stat(c.Data); err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no data folder %s", c.Data)
	}
	report, err := ledger.Verify(ledger.Verification{Dir: c.Data, Fold: desk.Fold(), Key: c.Key, Witnesses: c.Witness})
	if err != nil {
		return err
	}
	for _, line := range report.Checked {
		fmt.Println("ok    " + line)
	}
	for _, line := range report.Wrong {
		fmt.Println("WRONG " + line)
	}
	fmt.Printf("%d records, root %x\n", report.Size, report.Root)
	if len(report.Wrong) > 0 {
		return fault.New(fault.Internal, "%d things are not as they should be", len(report.Wrong))
	}
	return nil
}
