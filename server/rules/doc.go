// Package rules holds every rule of the product, as pure functions. It knows no
// clock, disk, network or HTTP; time comes in as a value.
//
// Three kinds of function, never mixed:
//
//   - decide: (state, what somebody said, now) -> drafts or a refusal. One
//     function per use case (Check, BadSeal, ChangeOver, ...). It may change with
//     every release, because what it decided is written into the record: Effect.
//   - Evolve: (state, record) -> state. Mechanical and total: it never refuses,
//     never reads a clock and applies the written effect. It must not change
//     its meaning for records that exist.
//   - standing: (state, now) -> what time alone has made of it. Never stored.
//
// Where to look: readiness.go for who may seal what, doubt.go for when an
// approved setting is in doubt, check.go for a check,
// badseal.go for what follows a bad seal, problem.go for the way back,
// due.go for what is due and unused.go for days in use, maintain.go for tasks done,
// calibrate.go for what a calibration means, mend.go for whether a repair held,
// hold.go for which packs to keep, day.go for operating days, late.go for facts
// that arrive late, state.go for what is remembered.
package rules
