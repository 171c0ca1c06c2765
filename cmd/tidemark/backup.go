package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tidemark/server"
	"tidemark/server/fault"
)

type backupCmd struct {
	Data   string `required:"" help:"Data folder; a server may run on it."`
	Output string `short:"o" name:"o" required:"" help:"File to write; must not exist."`
	Keys   string `help:"Folder of the keys, if no server runs and it is not DATA/keys. They do not go into the backup."`
}

// Run writes a backup beside its final name and moves it there when it is whole.
func (c *backupCmd) Run() (err error) {
	if _, err := os.Stat(c.Data); err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no data folder %s", c.Data)
	}
	if _, err := os.Stat(c.Output); err == nil {
		return fault.New(fault.Conflict, "%s exists already; choose another name", c.Output)
	}
	f, err := os.CreateTemp(filepath.Dir(c.Output), ".backup-")
	if err != nil {
		return fault.Wrap(err, fault.Invalid, "cannot write %s", c.Output)
	}
	err = errors.Join(c.write(f), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), c.Output)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	fmt.Printf("Backup in %s. The keys are not in it: keep the folder of keys apart, in another place.\n", c.Output)
	return nil
}

// write asks the server that runs on the folder, or opens the folder itself.
func (c *backupCmd) write(w io.Writer) error {
	answer, err := server.Ask("GET", c.Data, "/backup")
	if fault.Is(err, fault.Unknown) {
		return server.Backup(c.Data, c.Keys, w)
	}
	if err != nil {
		return err
	}
	_, err = io.Copy(w, answer)
	return errors.Join(err, answer.Close())
}

type restoreCmd struct {
	From    string `required:"" help:"Backup file."`
	Data    string `required:"" help:"Data folder to make; must not exist or be empty."`
	Key     string `help:"Public key of the ledger, if known from elsewhere."`
	Removed string `help:"The file called removed of the folder that is replaced: what was removed for good since the backup goes again."`
}

// Run restores a backup and says what was checked.
func (c *restoreCmd) Run() (err error) {
	f, err := os.Open(c.From)
	if err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no backup %s", c.From)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var removed []byte
	if c.Removed != "" {
		if removed, err = os.ReadFile(c.Removed); err != nil {
			return fault.Wrap(err, fault.Unknown, "there is no list %s", c.Removed)
		}
	}
	report, err := server.Restore(f, c.Data, c.Key, removed)
	if err != nil {
		return err
	}
	for _, line := range report.Checked {
		fmt.Println("ok    " + line)
	}
	fmt.Printf("%d records restored to %s. Put the keys back into %s, or start with -new-key; then every PIN has to be set anew.\n",
		report.Size, c.Data, filepath.Join(c.Data, "keys"))
	return nil
}

type setUpCmd struct {
	Data string `required:"" help:"Data folder on which the server runs."`
}

// Run prints a new link, as long as nothing is set up.
func (c *setUpCmd) Run() error {
	return ask(c.Data, "/set-up")
}

// ask has a server that runs on a folder do something and prints what it says.
func ask(data, what string) error {
	answer, err := server.Ask("POST", data, what)
	if err != nil {
		return err
	}
	_, err = io.Copy(os.Stdout, answer)
	return errors.Join(err, answer.Close())
}

type newPINsCmd struct {
	Data string `required:"" help:"Data folder on which the server runs."`
}

// Run prints new PINs for those who can give everybody else one.
func (c *newPINsCmd) Run() error { return ask(c.Data, "/new-pins") }

type rotateKeyCmd struct {
	Data string `required:"" help:"Data folder on which the server runs."`
}

// Run takes a new signing key into use and prints its public half.
func (c *rotateKeyCmd) Run() error { return ask(c.Data, "/rotate-key") }

type acceptLossCmd struct {
	Data string `required:"" help:"Data folder; a server may run on it."`
}

// Run lets a ledger that went back store records again: a person knows of the loss.
func (c *acceptLossCmd) Run() error {
	if _, err := os.Stat(c.Data); err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no data folder %s", c.Data)
	}
	if err := ask(c.Data, "/accept-loss"); !fault.Is(err, fault.Unknown) {
		return err
	}
	said, err := server.AcceptLoss(c.Data)
	fmt.Print(said)
	return err
}
