package proof

import "crypto/sha256"

const sealedDomain = "tidemark sealed 1\n"

// Commit returns what a record holds in place of a value that must stay
// erasable: SHA-256(domain || salt || value). With salt and value at hand
// anybody can compare; with both erased nobody can guess the value back, as the
// salt has 256 random bits, and the record still proves itself.
func Commit(salt [32]byte, value []byte) Hash {
	h := sha256.New()
	h.Write([]byte(sealedDomain))
	h.Write(salt[:])
	h.Write(value)
	return Hash(h.Sum(nil))
}
