package wool

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"needlesight/pwa/engine/fault"
)

func TestStudentsT(t *testing.T) {
	for _, df := range []float64{8, 9, 13, 30, 200} {
		// gonum's Student's t; the tables of any handbook give 2.306, 2.262, 2.160, 2.042, 1.972.
		if want := (distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}).Quantile(0.975); math.Abs(studentT(df)-want) > 1e-4 {
			t.Errorf("%v degrees of freedom: %.8f, want %.8f", df, studentT(df), want)
		}
	}
}

// hand makes a maker by chance, and what she weighs.
func hand(random *rand.Rand, p prior, within float64, n int) (truth float64, values []float64) {
	truth = p.start * math.Exp(p.among*random.NormFloat64())
	for range n {
		values = append(values, truth*math.Exp(within*random.NormFloat64()))
	}
	return truth, values
}

func TestTheRangeHoldsTheTruth19TimesIn20(t *testing.T) {
	const makers = 20_000
	random := rand.New(rand.NewPCG(20, 26)) // seeded: the same makers every time
	for _, p := range []prior{densityPrior, factorPrior} {
		for _, n := range []int{0, 1, 2, 3, 5, 10, 30} {
			held := 0
			for range makers {
				truth, values := hand(random, p, p.within, n)
				if got := p.learn(values); got.Low <= truth && truth <= got.High {
					held++
				}
			}
			if share := float64(held) / makers; share < 0.93 || share > 0.97 {
				t.Errorf("default %.3f, %d pieces: the range holds the truth of %.1f %% of makers", p.start, n, 100*share)
			} else {
				t.Logf("default %.3f, %d pieces: %.1f %%", p.start, n, 100*share)
			}
		}
	}
}

func TestTwoPiecesBeatTheDefault(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 28))
	for _, within := range []float64{0.06, 0.12, 0.2} {
		byDefault, learned := 0.0, 0.0
		for range 5000 {
			truth, values := hand(random, densityPrior, within, 2)
			byDefault += math.Pow(math.Log(densityPrior.start/truth), 2)
			learned += math.Pow(math.Log(densityPrior.learn(values).Mean/truth), 2)
		}
		if learned >= 0.6*byDefault {
			t.Errorf("pieces that scatter by %.2f: mean square %.4g after two, %.4g by default", within, learned, byDefault)
		}
	}
}

func TestLearnByHand(t *testing.T) {
	start, finish := 80.0, 60.0
	// The balls of the trade: 5 cm across, 0.2 g/cm3: 13.09 g (V = pi d^3 / 6, CRC tables).
	got, err := Learn(LearnRequest{[]Weighed{{Grams: 13.09, VolumeMM3: math.Pi / 6 * 125000, StartMM: &start, FinishMM: &finish}, {Grams: 13.09, VolumeMM3: math.Pi / 6 * 125000}}})
	if err != nil {
		t.Fatal(err)
	}
	if d := got.Density; d.N != 2 || math.Abs(d.Points[0].Value-0.2) > 1e-4 || d.Mean <= 0.15 || d.Mean >= 0.2 || len(d.Points) != 2 {
		t.Errorf("density %+v", d)
	}
	if f := got.Factor; f.N != 1 || math.Abs(f.Mean-4.0/3) > 1e-12 || f.High-f.Low >= factorPrior.learn(nil).High-factorPrior.learn(nil).Low {
		t.Errorf("factor %+v", f)
	}
}

func TestLearnRefuses(t *testing.T) {
	one := 5.0
	for name, c := range map[string]struct {
		piece Weighed
		code  string
		at    string
	}{
		"no mass":           {Weighed{VolumeMM3: 1000}, fault.OutOfRange, "pieces[0].grams"},
		"denser than fibre": {Weighed{Grams: 2, VolumeMM3: 1000}, fault.OutOfRange, "pieces[0].grams"},
		"no volume":         {Weighed{Grams: 2}, fault.OutOfRange, "pieces[0].volume_mm3"},
		"half a factor":     {Weighed{Grams: 0.2, VolumeMM3: 1000, StartMM: &one}, fault.ConflictingFields, "pieces[0].start_mm"},
		"not a number":      {Weighed{Grams: math.NaN(), VolumeMM3: 1000}, fault.OutOfRange, "pieces[0].grams"},
	} {
		_, err := Learn(LearnRequest{[]Weighed{c.piece}})
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %v, want %s at %s", name, err, c.code, c.at)
		}
	}
}
