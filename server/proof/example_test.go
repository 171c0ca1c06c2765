package proof_test

import (
	"bytes"
	"fmt"

	"tidemark/server/proof"
)

// store is a map in place of a bucket.
type store map[int64][]byte

func (s store) Chunk(n int64) ([]byte, error) { return s[n], nil }

func (s store) PutChunk(n int64, value []byte) error {
	s[n] = value
	return nil
}

// A ledger appends records and signs a checkpoint; somebody else is given one
// record, the proof and the public key.
func Example() {
	seed := bytes.NewReader(make([]byte, 32)) // a real one is random
	secret, public, err := proof.NewKey(seed, "spd.hospital.example/ledger")
	check(err)

	var tree proof.Frontier
	chunks := proof.Chunks{Store: store{}}
	for _, record := range []string{"sealer added", "check passed", "bad seal"} {
		first := tree.Stored()
		check(chunks.Put(first, tree.Append(nil, []byte(record))))
	}
	key, err := proof.NewSigner(secret)
	check(err)
	now := proof.Checkpoint{Origin: key.Name(), Size: tree.Size(), Root: tree.Root()}
	signed, err := now.Sign(key)
	check(err)
	inclusion, err := proof.ProveInclusion(now.Size, []int64{1}, chunks)
	check(err)
	fmt.Printf("%s...\n\n%s\n", signed[:len(signed)-77], inclusion.Text())

	known, err := proof.NewVerifier(public)
	check(err)
	theirs, err := proof.OpenCheckpoint(signed, known)
	check(err)
	for _, text := range []string{"check passed", "check failed"} {
		leaf := proof.Leaf{Seq: 1, Bytes: []byte(text)}
		fmt.Println(text, "->", inclusion.Check(theirs, []proof.Leaf{leaf}) == nil)
	}
	// Output:
	// spd.hospital.example/ledger
	// 3
	// xnGNh0ghpRi+kToLTFjmH7EfVaiU4Dv7MTo+vKH46Vc=
	//
	// — spd.hospital.example/ledger Z7Kt4CjH7Kg7Eu9F...
	//
	// tidemark inclusion 1
	// 0 s1lf0l0YfOS4RDcSOyOUpThlH2uNi5e7HEIcafng+NE=
	// 3 JxjF3D+DU2eBdVUt/eZ9GneyODBbcJukiGnreXGdneI=
	//
	// check passed -> true
	// check failed -> false
}

func check(err error) {
	if err != nil {
		panic(err)
	}
}
