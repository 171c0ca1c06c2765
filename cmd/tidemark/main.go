// Command tidemark serves a department's heat sealers: the approved setting, the
// check of the day, bad seals and their way to clinical engineering and back, and
// the records of it. Each subcommand has a file of its own.
package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/alecthomas/kong"

	"tidemark/server/fault"
)

type cli struct {
	Serve   serveCmd      `cmd:"" help:"Serve a data folder."`
	Demo    demoCmd       `cmd:"" help:"Serve an invented hospital on this machine, to try things out."`
	Verify  verifyCmd     `cmd:"" help:"Check a data folder (every record, the state, private values, photographs), or a record pack."`
	Labels  labelsCmd     `cmd:"" help:"Print the labels of all sealers of a data folder to a PDF."`
	Backup  backupCmd     `cmd:"" help:"Write a backup of a data folder, in use or not."`
	Restore restoreCmd    `cmd:"" help:"Make a data folder out of a backup, and verify it."`
	Accept  acceptLossCmd `cmd:"" name:"accept-loss" help:"After an older backup was restored on purpose: store records again, though newer ones were seen."`
	NewPINs newPINsCmd    `cmd:"" name:"new-pins" help:"Make a new PIN for each lead and administrator, through the server that runs: after a restore without the keys."`
	Rotate  rotateKeyCmd  `cmd:"" name:"rotate-key" help:"Take a new signing key into use, through the server that runs; the one before signs for it."`
	SetUp   setUpCmd      `cmd:"" name:"set-up-link" help:"Print a new one-time set-up link of a server that runs."`
}

func main() {
	var c cli
	parser, err := kong.New(&c, kong.Name("tidemark"),
		kong.Description("Heat sealers in sterile processing: settings, checks, bad seals and their records. "+
			"The IFU, local policy and local codes come first."),
		kong.ShortUsageOnError())
	if err != nil {
		panic(err) // the struct above is wrong
	}
	ctx, err := parser.Parse(withShortFlags(os.Args[1:]))
	parser.FatalIfErrorf(err)
	if err := ctx.Run(); err != nil {
		fmt.Fprintln(os.Stderr, "tidemark: "+inWords(err))
		os.Exit(1)
	}
}

// inWords is an error as a person at a terminal reads it: the fault's words,
// then the cause.
func inWords(err error) string {
	var f *fault.Error
	if errors.As(err, &f) {
		return f.Error()
	}
	return err.Error()
}

// withShortFlags lets flags be written with one hyphen, -data as well as --data.
func withShortFlags(args []string) []string {
	out := make([]string, len(args))
	for i, a := range args {
		if len(a) > 2 && a[0] == '-' && a[1] != '-' {
			a = "-" + a
		}
		out[i] = a
	}
	return out
}
