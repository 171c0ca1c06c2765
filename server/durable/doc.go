// Package durable writes files so that they are there after a power cut.
//
// # What it promises
//
// A file that was written without an error holds exactly the bytes given, and
// so it does after the process was killed or the power was cut at any moment
// since. A file that is replaced holds the old bytes or the new ones, never a
// mixture and never nothing. An error before the rename leaves what was there;
// an error of the last step, the sync of the folder, leaves the new file in
// sight but not certain to survive: not confirmed, and a retry is safe. NoRoom
// tells a full or read-only disk, after which nothing was stored, from all
// else.
//
// # How
//
// The bytes go to a temporary file in the same folder, which is synced, renamed
// over the name and made certain by syncing the folder. Temporary names begin
// with ".new-"; Sweep removes those that a killed process left.
//
// Folder keeps many files that never change, each under the SHA-256 of its
// content, so that damage shows when it is read:
//
//	<folder>/ba/ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad
//
// # What it does not do
//
// It keeps no lock: one process owns the folder. It does not hold on a network
// file system, nor on a disk that lies about a sync.
package durable
