package outline

import (
	"math"
	"math/rand/v2"
	"testing"

	"needlesight/pwa/engine/fault"
)

// An outline moved by a known similarity comes back by it: the sums of the move are the
// definition in AlignResponse, done here in another way (complex numbers).
func moved(rings []Ring, scale, turn, x, y float64) []Ring {
	f := complex(scale*math.Cos(turn), scale*math.Sin(turn))
	out := make([]Ring, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			q := f*complex(p[0], p[1]) + complex(x, y)
			out[i] = append(out[i], [2]float64{real(q), imag(q)})
		}
	}
	return out
}

func TestAlignFindsTheMove(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 4))
	for name, rings := range animals(t) {
		for range 3 {
			scale, turn := 0.4+2*rnd.Float64(), 2*math.Pi*rnd.Float64()-math.Pi
			x, y := 500*rnd.Float64(), 500*rnd.Float64()
			got, err := Align(AlignRequest{Fixed: moved(rings, scale, turn, x, y), Moving: rings})
			if err != nil {
				t.Fatal(err)
			}
			if got.Overlap < 0.995 || math.Abs(got.Scale/scale-1) > 0.003 || math.Abs(math.Remainder(got.TurnRad-turn, 2*math.Pi)) > 0.004 {
				t.Errorf("%s: %+v, want scale %v turn %v", name, got, scale, turn)
			}
			fixed, err := Align(AlignRequest{Fixed: moved(rings, 1, turn, x, y), Moving: rings, Scale: "fixed"})
			if err != nil {
				t.Fatal(err)
			}
			if fixed.Scale < 1-1e-12 || fixed.Scale > 1+1e-12 || fixed.Overlap < 0.995 || fixed.MeanOff > 0.3 {
				t.Errorf("%s: %+v with a fixed scale", name, fixed)
			}
		}
	}
}

// A piece is not its subject: with a leg a tenth longer and each point a little off, the rest is still
// laid where it belongs.
func TestAlignBearsWithDifference(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 5))
	rings := animals(t)["cow side"]
	other := moved(rings, 1.7, 0.6, 40, 90)
	low, _, _ := Bounds(rings)
	for i, ring := range rings {
		for k, p := range ring {
			if p[1] < low[1]+60 && p[0] > 0 { // the fore legs
				other[i][k][0] -= 1.7 * 12 * -math.Sin(0.6)
				other[i][k][1] -= 1.7 * 12 * math.Cos(0.6)
			}
			other[i][k][0] += rnd.NormFloat64()
			other[i][k][1] += rnd.NormFloat64()
		}
	}
	got, err := Align(AlignRequest{Fixed: other, Moving: rings})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(got.Scale/1.7-1) > 0.015 || math.Abs(got.TurnRad-0.6) > 0.015 || got.Overlap < 0.95 {
		t.Errorf("%+v, want scale 1.7 turn 0.6", got)
	}
}

func TestAlignByPins(t *testing.T) {
	rings := []Ring{square(0, 0, 10)}
	// (0,0) -> (5,5) and (10,0) -> (5,25): twice as big, a quarter turn.
	pins := &Pins{Fixed: [][2]float64{{5, 5}, {5, 25}}, Moving: [][2]float64{{0, 0}, {10, 0}}}
	got, err := Align(AlignRequest{Fixed: rings, Moving: rings, Pins: pins})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "scale", got.Scale, 2, 1e-12)
	near(t, "turn", got.TurnRad, math.Pi/2, 1e-12)
	near(t, "x", got.X, 5, 1e-12)
	near(t, "y", got.Y, 5, 1e-12)
	// The scale fixed: the middles (5,15) and (5,0) meet.
	got, err = Align(AlignRequest{Fixed: rings, Moving: rings, Pins: pins, Scale: "fixed"})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "scale", got.Scale, 1, 1e-12)
	near(t, "x", got.X, 5, 1e-12)
	near(t, "y", got.Y, 10, 1e-12)
}

func TestAlignRefuses(t *testing.T) {
	ok := []Ring{square(0, 0, 10)}
	for _, c := range []struct {
		req  AlignRequest
		code string
	}{
		{AlignRequest{Moving: ok}, fault.TooFew},
		{AlignRequest{Fixed: ok}, fault.TooFew},
		{AlignRequest{Fixed: ok, Moving: ok, Scale: "loose"}, fault.NotOneOf},
		{AlignRequest{Fixed: ok, Moving: ok, Pins: &Pins{}}, fault.TooFew},
		{AlignRequest{Fixed: ok, Moving: ok, Pins: &Pins{Fixed: [][2]float64{{0, 0}, {0, 0}}, Moving: [][2]float64{{0, 0}, {1, 0}}}}, fault.OutOfRange},
		{AlignRequest{Fixed: ok, Moving: []Ring{{{0, 0}, {1, 1}, {2, 2}}}}, fault.OutOfRange},
	} {
		_, err := Align(c.req)
		refused(t, err, c.code)
	}
}

func BenchmarkAlign(b *testing.B) {
	rings := animals(b)["elephant side"]
	other := moved(rings, 1.3, 2, 100, 50)
	for b.Loop() {
		if _, err := Align(AlignRequest{Fixed: other, Moving: rings}); err != nil {
			b.Fatal(err)
		}
	}
}
