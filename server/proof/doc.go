// Package proof makes the ledger's records provable: the tree over them, the
// signed checkpoints of that tree, and the proofs that travel with a pack of
// records. It is pure: no clock, no disk, no network; hashes come in through
// Reader, keys and signatures as values.
//
// # The tree
//
// Every record is one leaf of the Merkle tree of RFC 6962, section 2.1, in
// order of its sequence number, which starts at 0. The leaf is the stored
// bytes, verbatim. Hashes are SHA-256; a leaf is hashed after a byte 00, a pair
// of nodes after a byte 01. The hashes of full subtrees never change and are
// stored once, in the dense order of golang.org/x/mod/sumdb/tlog, 64 to a chunk
// (see Chunks). An appender keeps only the right edge of the tree, a Frontier.
package proof
