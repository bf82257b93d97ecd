package proportion

import (
	"strconv"

	"needlesight/pwa/engine/exact"
)

func ln(x float64) float64  { return exact.Ln(x) }
func exp(x float64) float64 { return exact.Exp(x) }

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
