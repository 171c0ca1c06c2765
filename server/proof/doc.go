// Package proof makes the ledger's records provable: the tree over them, signed
// checkpoints of that tree, proofs that travel with a pack of records, and the
// pack itself. It is pure: no clock, no disk, no network; hashes come in through
// Reader, keys and random bytes as values.
//
// What a proof shows: that bytes are, unchanged, in the ledger that a key has
// signed for. What it does not: that a record is true, that none came after the
// checkpoint, or that the holder of both ledger and key has not written both
// anew. The last is what witnesses are for: whoever holds an older checkpoint,
// be it only its Short form on a print, can tell.
//
// # The tree
//
// A record is a leaf of the Merkle tree of RFC 6962, section 2.1, in order of
// its sequence number, which starts at 0. The leaf is the stored bytes,
// verbatim. Hashes are SHA-256; a leaf is hashed after a byte 00, two nodes
// after a byte 01. The hashes of full subtrees never change and are stored once,
// in the dense order of golang.org/x/mod/sumdb/tlog, 64 to a chunk (Chunks). An
// appender keeps only the right edge of the tree (Frontier).
//
// # Text formats
//
// All are UTF-8, every line ends with one line feed, no line is empty. Sizes and
// numbers are decimal without sign or leading zero. Base64 is that of RFC 4648,
// section 4, padded. A reader takes exactly what the writer writes: it formats
// what it read again and compares. A title ends in the number of its format.
//
// A checkpoint (C2SP tlog-checkpoint, without extension lines) is three lines:
//
//	spd.hospital.example/ledger                     origin: the ledger's name
//	3                                               number of leaves
//	xnGNh0ghpRi+kToLTFjmH7EfVaiU4Dv7MTo+vKH46Vc=    root, 32 bytes in base64
//
// A signed note (C2SP signed-note) is a text, an empty line and a signature line
// for each key: an em dash, a space, the key's name, which is the origin, a space
// and, in base64, 4 bytes of key ID and 64 of Ed25519 signature over the text:
//
//	— spd.hospital.example/ledger Z7Kt4CjH7Kg7Eu9F...
//
// A public key is "<origin>+<key ID, 8 hex digits>+<base64>", in base64 a byte 01
// and the 32 bytes of the key; a secret key has "PRIVATE+KEY+" in front and the
// 32 bytes of the seed. Only the ledger's own keys sign; a signature line of
// another key is refused. The anchor beside a store is a signed checkpoint.
//
// A key change is a note of six lines, signed by the old key, then by the new:
//
//	tidemark key change 1
//	<the three lines of a checkpoint: from here on the new key signs>
//	<old public key>
//	<new public key>
//
// An inclusion proof is the stored hashes that the leaves' audit paths need, each
// once, by rising index in the dense order:
//
//	tidemark inclusion 1
//	<index> <hash in base64>                        for each hash
//
// A consistency proof is the hashes of RFC 6962, section 2.1.2, in that order:
//
//	tidemark consistency 1
//	<hash in base64>                                for each hash
//
// A manifest is a note, signed by the ledger's key, that lists the files of a
// pack by rising name; a name is lower-case letters, digits and ".-_/", no step
// of it begins with a dot:
//
//	tidemark pack 1
//	<the three lines of a checkpoint>
//	<SHA-256 in hex> <bytes> <name>                 for each file
//
// # The pack
//
// A pack is a zip file of manifest.txt and then the files it lists, in order:
// stored, not deflated, sizes and CRC-32 in the local header, dated 1 January
// 1980 00:00, no extra fields, no comments. So there is one container for given
// files, and OpenPack makes it again and compares: all its bytes count.
//
// A record pack has, beside PDF and CSV for people: records.jsonl, the stored
// bytes of records, one a line, by rising number; inclusion.txt, the proof that
// they are in the tree of the manifest's checkpoint (CheckRecords);
// checkpoint.txt, that checkpoint signed on its own; keys.txt, the ledger's
// public keys; sealed.jsonl, the private values that the records commit to, with
// their salts (SealedLine).
package proof
