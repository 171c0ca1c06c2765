// Package people keeps what must be secret or erasable: PINs, sessions,
// devices, one-time links, the private words behind the records, unsigned
// reports and the log of refusals. All of it lives in one bbolt file,
// people.db.
//
// # What it promises
//
//   - What a method did is on disk when it returns without an error. An error
//     with fault.Full stored nothing; one with fault.NotConfirmed may have, and
//     the store takes no further change until it was opened anew.
//   - No PIN, token or code is stored, only what can test one: PINs as Argon2id
//     over an HMAC with a pepper that is kept outside this file, tokens as
//     SHA-256, the short enrolment codes as an HMAC with the pepper. Without
//     the pepper no PIN and no code can be tested.
//   - An ended session, a revoked device or a used code stays so over a restart.
//   - After Erase no byte of an erased value or of its salt is left in the
//     file, nor in any file this package made beside it.
//   - Everything a stranger can cause to be stored is bounded.
//
// # Formats
//
// A row is a version byte, 1, then its fixed fields in big-endian order, then
// whatever has no fixed length. Times are milliseconds since 1970 UTC, 0 for
// none; times come back in UTC, cut to the millisecond.
//
//	meta        "format" -> 1, "rewrite owed" -> 1
//	pins        person -> must change, set, Argon2id memory (KiB), time and
//	            threads, pepper id, salt (16), hash (32)
//	misses      person || device -> wrong PINs in a row, time of the last
//	sessions    SHA-256(token) -> person, device, started, until
//	devices     SHA-256(token) -> id, department, since, revoked
//	enrolments  HMAC-SHA-256(pepper, "enrolment" || code) -> department, by, until
//	setup       SHA-256(token) -> until
//	links       SHA-256(token) -> problem, addressee, made, until
//	sealed      commitment -> time, salt (32), length of domain, domain, bytes
//	erased      commitment -> time
//	reports     id -> department, poster, time, taken by, taken, finished, body
//	refusals    number, counting up -> time, person, device, text
//
// A commitment is SHA-256("tidemark/sealed/v1:" + domain + 0x00 || salt || bytes).
//
// # What it does not do
//
// It knows no roles and no names: whether a person may do something is for the
// caller, and a person is 16 bytes. It has no clock; every method is told the
// time. A PIN says who did something; it is not strong authentication. Erasing
// reaches this file, not memory, not backups and not the spare cells of a
// flash disk; backups are reached by ApplyErasures after a restore.
package people
