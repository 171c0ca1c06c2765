package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"

	"tidemark/server"
	"tidemark/server/fault"
)

type verifyCmd struct {
	Pack        string   `arg:"" optional:"" help:"Record pack to check, instead of a folder."`
	Data        string   `help:"Data folder."`
	Key         string   `help:"Public key of the ledger, if known from elsewhere."`
	Witness     []string `help:"What was seen of the ledger earlier: a size and root from a print or mail, such as \"1204 9f3a00c1\"."`
	WitnessFile string   `help:"File of such lines, or of one signed checkpoint."`
}

// child marks the process that does the reading.
const child = "TIDEMARK_VERIFY_CHILD"

// Run checks a folder in a process of its own: some damage ends whatever reads
// it, and even then the answer has to be a sentence.
func (c *verifyCmd) Run() error {
	if (c.Pack == "") == (c.Data == "") {
		return fault.New(fault.Invalid, "name a record pack, or a folder with -data")
	}
	if err := c.readWitnesses(); err != nil {
		return err
	}
	if c.Pack != "" {
		report, err := server.VerifyPack(c.Pack, c.Key, c.Witness)
		if err != nil {
			return err
		}
		return c.tell(report, "not everything in %s is as it should be (%d, see above)", c.Pack)
	}
	if os.Getenv(child) != "" {
		return c.read()
	}
	if _, err := os.Stat(c.Data); err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no data folder %s", c.Data)
	}
	self, err := os.Executable()
	if err != nil {
		return fmt.Errorf("find own program: %w", err)
	}
	var complaint bytes.Buffer
	reader := exec.Command(self, os.Args[1:]...)
	reader.Env = append(os.Environ(), child+"=1")
	reader.Stdout, reader.Stderr = os.Stdout, &complaint
	err = reader.Run()
	var exit *exec.ExitError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &exit) && exit.ExitCode() == 1:
		return errors.New(string(bytes.TrimPrefix(bytes.TrimSpace(complaint.Bytes()), []byte("tidemark: "))))
	}
	return fault.New(fault.Internal, "the files in %s are damaged so badly that they cannot be read. Restore a backup: "+
		"tidemark restore -from FILE -data NEWFOLDER", c.Data)
}

// read checks the folder and says in plain words what was looked at.
func (c *verifyCmd) read() error {
	report, err := server.Verify(c.Data, c.Key, c.Witness)
	if err != nil {
		return err
	}
	return c.tell(report, "not everything in %s is as it should be (%d, see above). "+
		"Restore a backup: tidemark restore -from FILE -data NEWFOLDER", c.Data)
}

// tell prints what was found; anything wrong is an error.
func (c *verifyCmd) tell(report server.Report, wrong, what string) error {
	for _, line := range report.Checked {
		fmt.Println("ok    " + line)
	}
	for _, line := range report.Wrong {
		fmt.Println("WRONG " + line)
	}
	fmt.Printf("%d records, root %x\n", report.Size, report.Root[:])
	if n := len(report.Wrong); n > 0 {
		return fault.New(fault.Internal, wrong, what, n)
	}
	fmt.Println("This shows that nothing was changed since it was signed. It does not show that a record is true, " +
		"and whoever owns both the folder and its keys could have written all of it anew: compare with what was seen elsewhere.")
	return nil
}

// readWitnesses adds those of the file.
func (c *verifyCmd) readWitnesses() error {
	if c.WitnessFile == "" {
		return nil
	}
	b, err := os.ReadFile(c.WitnessFile)
	if err != nil {
		return fault.Wrap(err, fault.Unknown, "there is no file %s", c.WitnessFile)
	}
	if text := string(b); strings.Contains(text, "\n\n") { // a signed note
		c.Witness = append(c.Witness, text)
		return nil
	}
	for line := range strings.Lines(string(b)) {
		if line = strings.TrimSpace(line); line != "" {
			c.Witness = append(c.Witness, line)
		}
	}
	return nil
}
