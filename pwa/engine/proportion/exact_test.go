package proportion

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Package math is the outside here: both are right to about one unit in the last digit.
func TestExactAgainstMath(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 100000 {
		x := math.Exp(r.Float64()*60 - 30)
		if got, want := ln(x), math.Log(x); math.Abs(got-want) > 3e-16*max(1, math.Abs(want)) {
			t.Fatalf("ln(%v): %v, want %v", x, got, want)
		}
		y := r.Float64()*200 - 100
		if got, want := exp(y), math.Exp(y); math.Abs(got/want-1) > 7e-16 {
			t.Fatalf("exp(%v): %v, want %v", y, got, want)
		}
	}
	if ln(1) != 0 || exp(0) != 1 {
		t.Error("ln 1 is", ln(1), "and e^0 is", exp(0))
	}
}

// 40 digits of each from the definition of e and of ln 2 (OEIS A001113, A002162).
func TestExactAgainstConstants(t *testing.T) {
	near(t, "e", exp(1), 2.7182818284590452353602874713526624977572, 5e-16)
	near(t, "ln 2", ln(2), 0.6931471805599453094172321214581765680755, 2e-16)
	near(t, "ln 10", ln(10), 2.3025850929940456840179914546843642076011, 5e-16)
}

func TestTidy(t *testing.T) {
	for x, want := range map[float64]float64{2.4999999999999996: 2.5, 1. / 3: 0.333333333333, 1e-300: 1e-300, -7.7000000000000002: -7.7, 0: 0} {
		if got := tidy(x); got != want {
			t.Errorf("tidy(%v): %v, want %v", x, got, want)
		}
	}
}
