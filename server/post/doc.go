// Package post tells people outside: it carries the messages of the outbox to
// mail servers and webhooks, and says when the next person is to be told.
//
// # What it promises
//
// A message that stands in the outbox is delivered at least once, however often
// the process ends between. Each attempt carries the same id (Message-ID of a
// mail, webhook-id of a webhook), and a message is sent a second time only if
// the process ended after it was taken and before that was written down.
//
// What is sent to one addressee about one problem is sent in the order of the
// records. A target that is down, slow or gone holds up nobody else. It is tried
// again for as long as the message stands in the outbox: after 2 seconds at
// first, then ever more rarely, but every quarter of an hour unless it asks for
// more time, a day at most. One that refuses for good is left to a person: the
// message is parked with the reason, and so is what comes behind it to the same
// addressee about the same problem.
//
// # Formats
//
// A mail is plain text in UTF-8 (RFC 5322, RFC 2045), marked as sent by a
// machine (Auto-Submitted, RFC 3834) and without anything that tells whether it
// was read. A webhook is a POST of
//
//	{"type": "sealer.out-of-service", "timestamp": "2026-02-26T13:20:00Z", "data": {...}}
//
// signed as Standard Webhooks lays down: HMAC-SHA256 over id, time and body.
//
// # What it does not do
//
// It stores nothing: the outbox is the ledger's. It does not draw the messages
// and does not know who is to be told; the Author does. It writes no record: when
// Route.Next says that somebody is due, the desk decides. It reads no answers,
// so an automatic reply is never taken for a person who has seen something.
package post
