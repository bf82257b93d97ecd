package proportion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// With honest readings the standard uncertainty is what the errors truly scatter by,
// about 95 of 100 ratios lie within twice of it, chi^2 is what its degrees of freedom
// say, and right readings are named in hardly more than 5 of 100 networks.
func TestUncertaintyIsHonest(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	const runs = 3000
	var squares, within, factors, named float64
	for range runs {
		req, size := honest(r, 6, 4)
		req.Ratios = []Pair{{"p5", "p0"}}
		answer, err := Solve(req)
		if err != nil {
			t.Fatal(err)
		}
		ratio := answer.Ratios[0]
		off := math.Log(*ratio.Ratio/(size[5]/size[0])) / (*ratio.U / *ratio.Ratio)
		squares += off * off
		if math.Abs(off) <= 2 {
			within++
		}
		for _, w := range answer.Widen {
			factors += w.Factor - 1
		}
		if len(answer.Disagree) > 0 {
			named++
		}
	}
	near(t, "scatter over u", math.Sqrt(squares/runs), 1, 0.04) // 3000 tell it to 1.3 %
	near(t, "within twice u", within/runs, 0.9545, 0.012)
	// Of 15 degrees of freedom the mean of max(1, sqrt(chi^2/15)) - 1 is 0.065.
	near(t, "mean widening", factors/runs, 0.065, 0.006)
	if share := named / runs; share > 0.06 || share < 0.01 {
		t.Errorf("right readings were named in %.1f %% of the networks", share*100)
	}
}

// honest is an animal of so many parts, each read once in each of so many sittings, with
// normal errors of the u that is given, 1 to 6 %.
func honest(r *rand.Rand, parts, sittings int) (Request, []float64) {
	var req Request
	size := make([]float64, parts)
	for i := range size {
		size[i] = math.Exp(r.NormFloat64())
	}
	for s := range sittings {
		id, scale := fmt.Sprint("s", s), math.Exp(3*r.NormFloat64())
		req.Sittings = append(req.Sittings, Sitting{ID: id, Method: Photo})
		for i := range parts {
			share := 0.01 + 0.05*r.Float64()
			value := size[i] * scale * math.Exp(share*r.NormFloat64())
			req.Readings = append(req.Readings, Reading{ID: fmt.Sprint(id, i), Sitting: id, Part: fmt.Sprint("p", i), Value: value, U: p(share * value)})
		}
	}
	return req, size
}

// A piece made exactly right is hardly ever told to be wrong, and one made 30 % too
// small in one part is told so nearly always, in every way to fix the scale.
func TestVerdictsAreHonest(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	const runs = 600
	for _, scale := range []Scale{{Mode: AtSize, Part: "p0", MM: 50}, {Mode: KeepPart, Part: "p0"}, {Mode: LeastWork}} {
		judged, wrong, found := 0., 0., 0.
		for range runs {
			subject, size := honest(r, 6, 3)
			piece := Side{Sittings: []Sitting{{ID: "r", Method: Ruler}}}
			for i := range size {
				made := size[i] / size[0] * 50
				if i == 5 {
					made *= 0.7
				}
				u := 0.02 * made
				piece.Readings = append(piece.Readings, Reading{ID: fmt.Sprint(i), Sitting: "r", Part: fmt.Sprint("p", i), Value: made * math.Exp(0.02*r.NormFloat64()), U: &u})
			}
			answer, err := Compare(CompareRequest{Subject: subject.Side, Piece: piece, Scale: scale, Tolerance: 0.04})
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range answer.Parts {
				out := v.Verdict == Add || v.Verdict == TakeIn
				switch {
				case i == 5 && v.Verdict == Add:
					found++
				case i != 5:
					judged++
					if out {
						wrong++
					}
				}
			}
		}
		if share := wrong / judged; share > 0.05 {
			t.Errorf("%s: %.1f %% of the right parts were called out", scale.Mode, share*100)
		}
		if share := found / runs; share < 0.97 {
			t.Errorf("%s: only %.1f %% of the wrong parts were called out", scale.Mode, share*100)
		}
		t.Logf("%s: %.2f %% of right parts called out, %.1f %% of wrong ones", scale.Mode, wrong/judged*100, found/runs*100)
	}
}

// Goal: 40 parts with 400 readings in 5 ms.
func BenchmarkSolve40Parts400Readings(b *testing.B) {
	req := Request{Side: randomSide(rand.New(rand.NewPCG(1, 2)), 40, 20, 400, true, 1)}
	for i := range 40 {
		req.Ratios = append(req.Ratios, Pair{fmt.Sprintf("p%02d", i), "p00"})
	}
	for b.Loop() {
		if _, err := Solve(req); err != nil {
			b.Fatal(err)
		}
	}
}

// The same with slips that have to be found.
func BenchmarkSolveWithSlips(b *testing.B) {
	req := Request{Side: randomSide(rand.New(rand.NewPCG(1, 2)), 40, 20, 400, true, 1)}
	for i := range 5 {
		req.Readings[i*70].Value *= 1.5
	}
	for b.Loop() {
		if _, err := Solve(req); err != nil {
			b.Fatal(err)
		}
	}
}

// A subject and a piece of 40 parts and 400 readings each.
func BenchmarkCompare40Parts400Readings(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	req := CompareRequest{Subject: randomSide(r, 40, 20, 400, false, 1), Piece: randomSide(r, 40, 20, 400, true, 1), Scale: Scale{Mode: LeastWork}, Tolerance: 0.04}
	for b.Loop() {
		if _, err := Compare(req); err != nil {
			b.Fatal(err)
		}
	}
}

// The most that is taken in at all.
func BenchmarkSolveMost(b *testing.B) {
	req := Request{Side: randomSide(rand.New(rand.NewPCG(1, 2)), MaxParts, 400, MaxReadings, true, 4)}
	for b.Loop() {
		if _, err := Solve(req); err != nil {
			b.Fatal(err)
		}
	}
}
