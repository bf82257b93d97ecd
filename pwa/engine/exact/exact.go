// Package exact has a logarithm and an exponential that are the same to the last digit
// on every machine. Those of package math are assembly on some machines and fused
// multiply-adds on others, and differ there in the last digit; the phone and the computer
// at home shall not. These two are made of operations that IEEE 754 rounds in one way
// only: every product is rounded by a conversion before it is added to.
package exact

import "math"

const (
	ln2High = 45426. / 65536 // 16 bits, so that an exponent times it is exact
	ln2Low  = math.Ln2 - ln2High
)

// Ln is the natural logarithm of a positive, finite x, to about 1 in the last digit: x = m 2^k
// with m near 1, and ln m = 2 artanh((m-1)/(m+1)).
func Ln(x float64) float64 {
	m, exponent := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, exponent = 2*m, exponent-1
	}
	s, k := (m-1)/(m+1), float64(exponent)
	square, series := float64(s*s), 0.0
	for i := 23; i >= 1; i -= 2 { // |s| < 0.172, so s^25 is beyond the last digit
		series = float64(series*square) + 1/float64(i)
	}
	return float64(k*ln2High) + (float64(k*ln2Low) + float64(2*s*series))
}

// Exp is e^x for |x| below 700, to about 1 in the last digit: e^x = 2^k e^r with |r| <= ln(2)/2.
func Exp(x float64) float64 {
	k := math.Floor(x/math.Ln2 + 0.5)
	r := (x - float64(k*ln2High)) - float64(k*ln2Low)
	series := 1.0
	for i := 14; i >= 1; i-- {
		series = 1 + float64(series*r)/float64(i)
	}
	return math.Ldexp(series, int(k))
}
