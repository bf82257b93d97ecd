package proportion

import (
	"math"
	"strconv"
)

// The logarithm and the exponential of package math are assembly on some machines and
// fused multiply-adds on others, and differ there in the last digit. The phone and the
// computer at home shall not, so these two are made of operations that IEEE 754 rounds
// in one way only: every product is rounded by a conversion before it is added to.

const (
	ln2High = 45426. / 65536 // 16 bits, so that an exponent times it is exact
	ln2Low  = math.Ln2 - ln2High
)

// ln is the natural logarithm of a positive, normal x, to about 1 in the last digit: x = m 2^k
// with m near 1, and ln m = 2 artanh((m-1)/(m+1)).
func ln(x float64) float64 {
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

// exp is e^x for |x| < 700, to about 1 in the last digit: e^x = 2^k e^r with |r| <= ln(2)/2.
func exp(x float64) float64 {
	k := math.Floor(x/math.Ln2 + 0.5)
	r := (x - float64(k*ln2High)) - float64(k*ln2Low)
	series := 1.0
	for i := 14; i >= 1; i-- {
		series = 1 + float64(series*r)/float64(i)
	}
	return math.Ldexp(series, int(k))
}

// tidy rounds to 12 significant digits, fewer than the arithmetic holds, so that 2.5
// is not written as 2.4999999999999996.
func tidy(x float64) float64 {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 11, 64), 64) // its own output
	return rounded
}

// tidied is where tidy(x) is kept.
func tidied(x float64) *float64 {
	x = tidy(x)
	return &x
}

// dot is the scalar product.
func dot(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		sum += float64(x * b[i])
	}
	return sum
}
