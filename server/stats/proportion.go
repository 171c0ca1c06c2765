package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ClopperPearson returns exact two-sided confidence limits of a proportion of
// which k in n were seen (NIST/SEMATECH e-Handbook 7.2.4.1).
func ClopperPearson(k, n int, confidence float64) (low, high float64, err error) {
	each := (1 - confidence) / 2
	if low, err = LowerBound(k, n, 1-each); err != nil {
		return 0, 0, err
	}
	high, err = UpperBound(k, n, 1-each)
	return low, high, err
}

// UpperBound returns the exact one-sided upper confidence bound of a proportion
// of which k in n were seen.
func UpperBound(k, n int, confidence float64) (float64, error) {
	if err := checkCounts(k, n, confidence); err != nil || k == n {
		return 1, err
	}
	if k == 0 {
		return AllPassed(n, confidence), nil
	}
	return distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(confidence), nil
}

// LowerBound returns the exact one-sided lower confidence bound of a proportion
// of which k in n were seen.
func LowerBound(k, n int, confidence float64) (float64, error) {
	if err := checkCounts(k, n, confidence); err != nil || k == 0 {
		return 0, err
	}
	if k == n {
		return 1 - AllPassed(n, confidence), nil
	}
	return distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(1 - confidence), nil
}

func checkCounts(k, n int, confidence float64) error {
	if n < 1 || k < 0 || k > n || !(confidence > 0 && confidence < 1) {
		return errors.New("bound proportion: counts or confidence out of range")
	}
	return nil
}

// AllPassed returns the failing share that n passes and no failure still allow
// at that confidence: 1 - (1-confidence)^(1/n). It is 1 for no passes.
func AllPassed(n int, confidence float64) float64 {
	if n < 1 {
		return 1
	}
	return -math.Expm1(math.Log1p(-confidence) / float64(n))
}

// PassesNeeded returns how many passes without a failure show, at that
// confidence, that at least the share reliable passes: 59 for 95/95. Both are
// above 0 and below 1.
func PassesNeeded(confidence, reliable float64) (int, error) {
	if !(confidence > 0 && confidence < 1 && reliable > 0 && reliable < 1) {
		return 0, errors.New("size sample: confidence or share out of range")
	}
	n := int(math.Ceil(math.Log1p(-confidence) / math.Log(reliable)))
	return max(1, n), nil
}
