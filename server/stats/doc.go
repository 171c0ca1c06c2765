// Package stats holds the statistics that the house needs and gonum lacks, and
// puts gonum's distributions into the words of the house.
//
// It is pure: numbers in, numbers out. It imports no room of the house and
// knows nothing of pouches, sealers or degrees. Every function names the source
// of its method; the tests hold published values beside it. Inputs that a
// method cannot serve come back as an error that says why, never as a number.
//
// What it does not do: it draws no conclusions. Whether a probability of 0.03
// matters is for the caller to say.
package stats
