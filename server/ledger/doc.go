// Package ledger keeps the records: it stores them for good, proves them and
// holds the state they fold into. It knows no rule; what a record does to the
// state comes in as a Fold, what may be recorded as the Decide of a Command.
//
// # What it promises
//
// A record whose Append returned without an error is on disk and stays there,
// after a kill or a power cut at any moment. Records are never changed or
// removed. A command sent again under the same id is stored once, however much
// later it comes. Every answer, a refusal too, is given only after the commit
// that it rests on. What was damaged on disk is not served: see Damage.
//
// # The folder
//
//	ledger.db    the records and what is needed to go on from them (bbolt)
//	views.db     look-ups derived from the records; may be deleted
//	anchor       a signed checkpoint, at most a second old (C2SP tlog-checkpoint)
//	suspect      there if a commit ended in doubt; the next start copies the store
//	lock         held by the process that has the folder open; holds its number
//	keys/        the signing key, unless Options.Keys names another place
//
// # Buckets of ledger.db
//
// Numbers are 8 bytes, big-endian.
//
//	records   seq -> the record's line: its leaf in the tree, verbatim
//	hashes    n -> stored hashes n*64 to n*64+63 of the tree (see server/proof)
//	ids       n -> fingerprints, 8 bytes each, of the ids of records n*64 to n*64+63
//	snapshot  subject -> seq of its newest record, then its value as JSON
//	days      department, date -> the first record that arrived on that day
//	apart     department, date, seq -> a record that counts for another day than
//	          it arrived on
//	outbox    seq, n (2 bytes) -> a message that is still to be delivered
//	meta      identity, the size and shape of the snapshot, keys and key changes,
//	          the loss that was accepted
//
// Only full chunks of hashes and ids are stored. What is left over is made again
// at the start from the last records, so that most commits touch one tree of
// pages only: at one record a commit that is worth a tenth of the whole.
//
// # What it does not do
//
// Whoever owns the folder and its key can rewrite and sign everything anew; only
// witnesses outside, such as printed sizes and roots, tell. It does not hold on
// a network file system. One process owns the folder.
package ledger
