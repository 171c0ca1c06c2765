package durable_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"tidemark/server/durable"
	"tidemark/server/proof"
)

// The anchor beside a store is a signed checkpoint, written durably after a
// commit and read back strictly at the next start.
func ExampleWriteFile() {
	dir, err := os.MkdirTemp("", "")
	check(err)
	defer os.RemoveAll(dir)
	seed := bytes.NewReader(make([]byte, 32)) // a real one is random
	secret, public, err := proof.NewKey(seed, "spd.hospital.example/ledger")
	check(err)
	signer, err := proof.NewSigner(secret)
	check(err)
	verifier, err := proof.NewVerifier(public)
	check(err)

	var tree proof.Frontier
	tree.Append(nil, []byte("sealer added"))
	now := proof.Checkpoint{Origin: signer.Name(), Size: tree.Size(), Root: tree.Root()}
	signed, err := now.Sign(signer)
	check(err)
	check(durable.WriteFile(dir, "anchor", signed))

	anchor, err := os.ReadFile(filepath.Join(dir, "anchor"))
	check(err)
	then, err := proof.OpenCheckpoint(anchor, verifier)
	check(err)
	fmt.Println(then.Short())
	// Output: 1 b3595fd2
}

func check(err error) {
	if err != nil {
		panic(err)
	}
}
