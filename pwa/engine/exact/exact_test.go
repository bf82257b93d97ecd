package exact

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

// On some machines Go fuses a product and a sum into one instruction that rounds once
// instead of twice, unless the product is converted first: float64(a*b) + c. The engine
// is compiled for such a machine here, and none of its instructions may be of that kind.
func TestNoFusedMultiplyAdd(t *testing.T) {
	build := exec.Command("go", "build", "-gcflags=-S", "needlesight/pwa/engine/...")
	build.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0")
	text, err := build.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if !strings.Contains(string(text), "FSQRTD") {
		t.Fatal("the compiler did not list its instructions")
	}
	for _, line := range strings.Split(string(text), "\n") {
		if fused.MatchString(line) {
			t.Errorf("a fused multiply-add: %s", strings.TrimSpace(line))
		}
	}
}

var fused = regexp.MustCompile(`\tFN?M(ADD|SUB)[DS]\t`)

// Package math is the outside here: both are right to about one unit in the last digit.
func TestExactAgainstMath(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 100000 {
		x := math.Exp(r.Float64()*60 - 30)
		if got, want := Ln(x), math.Log(x); math.Abs(got-want) > 3e-16*max(1, math.Abs(want)) {
			t.Fatalf("Ln(%v): %v, want %v", x, got, want)
		}
		y := r.Float64()*200 - 100
		if got, want := Exp(y), math.Exp(y); math.Abs(got/want-1) > 7e-16 {
			t.Fatalf("Exp(%v): %v, want %v", y, got, want)
		}
	}
	if Ln(1) != 0 || Exp(0) != 1 {
		t.Error("ln 1 is", Ln(1), "and e^0 is", Exp(0))
	}
}

// 40 digits of each from the definition of e and of ln 2 (OEIS A001113, A002162).
func TestExactAgainstConstants(t *testing.T) {
	near(t, "e", Exp(1), 2.7182818284590452353602874713526624977572, 5e-16)
	near(t, "ln 2", Ln(2), 0.6931471805599453094172321214581765680755, 2e-16)
	near(t, "ln 10", Ln(10), 2.3025850929940456840179914546843642076011, 5e-16)
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, within)
	}
}
