// Package wool works out how much wool a piece takes, what to buy for it and for a class,
// and learns a maker's own hand from what she weighs. Masses are grams, densities g/cm3.
package wool

import (
	"math"
	"strconv"
)

const (
	// DensestGCM3 is the density of wool fibre itself, in g/cm3 at 65 % relative humidity
	// (textile fibre handbooks): nothing of wool is denser.
	DensestGCM3 = 1.31
	// QueryGCM3 is the density above which one is asked whether it is right: pressed felt of the
	// densest class of SAE J314 (16R, 16 lb per square yard at 1 in) has 0.34.
	QueryGCM3 = 0.4
	// StartGCM3 is the density of a felted piece from which a maker starts (common practice).
	StartGCM3 = 0.15
	// FinestShare is the finest share of a mass that is shown: wool takes up and gives off
	// 4 to 8 % of its mass with the weather (regain tables).
	FinestShare = 0.05
)

// Grams is a mass as a range: eight times in ten it lies between Low and High. All are rounded
// to what a kitchen scale can show, and no finer than FinestShare.
type Grams struct {
	// Low is the lower end, in g.
	Low float64 `json:"low"`
	// Best is the best estimate, in g.
	Best float64 `json:"best"`
	// High is the upper end, in g.
	High float64 `json:"high"`
	// Text is the range in words: 0.6–0.9 g, up to 0.2 g, less than 0.1 g.
	Text string `json:"text"`
}

// eightInTen is how many standard deviations to either side hold eight values in ten.
const eightInTen = 1.2815515655446004

// grams is the range of a mass whose logarithm has the standard deviation spread.
func grams(best, spread float64) Grams {
	return between(best*math.Exp(-eightInTen*spread), best, best*math.Exp(eightInTen*spread))
}

func between(low, best, high float64) Grams {
	step := stepOf(best)
	g := Grams{Low: rounded(low, step), Best: rounded(best, step), High: rounded(high, step)}
	switch {
	case high <= 0 || g.Low == g.High && g.High > 0:
		g.Text = written(g.Best) + " g"
	case g.High == 0:
		g.Text = "less than " + written(step) + " g"
	case g.Low == 0:
		g.Text = "up to " + written(g.High) + " g"
	default:
		g.Text = written(g.Low) + "–" + written(g.High) + " g"
	}
	return g
}

// stepOf is the smallest of 0.1, 0.2, 0.5, 1, 2, 5, ... that is not finer than FinestShare.
func stepOf(best float64) float64 {
	for power := -1; ; power++ {
		for _, digit := range []float64{1, 2, 5} {
			if step := digit * math.Pow(10, float64(power)); step >= FinestShare*best || power > 12 {
				return step
			}
		}
	}
}

// rounded rounds to a multiple of step, and writes tenths without their binary dust.
func rounded(value, step float64) float64 {
	return math.Round(math.Round(value/step)*step*10) / 10
}

func written(value float64) string { return strconv.FormatFloat(value, 'f', -1, 64) }
