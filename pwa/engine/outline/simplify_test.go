package outline

import (
	"errors"
	"math"
	"slices"
	"testing"

	"needlesight/pwa/engine/fault"
	"pgregory.net/rapid"
)

// What the way of Douglas and Peucker (Cartographica 10 (1973), 112) promises: only points of the line are kept, in
// order, and none left out is further than the tolerance from the new line.
func TestSimplifyKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ring := starlike(t, "ring")
		tolerance := rapid.Float64Range(0.1, 20).Draw(t, "tolerance")
		got, err := Simplify(SimplifyRequest{Rings: []Ring{ring}, Tolerance: tolerance})
		if err != nil {
			t.Fatal(err)
		}
		simple := got.Rings[0]
		if len(simple) < 3 || len(simple) > len(ring) {
			t.Fatalf("%d points of %d", len(simple), len(ring))
		}
		at := slices.Index(ring, simple[0])
		for _, p := range simple {
			for n := 0; ring[at%len(ring)] != p; n, at = n+1, at+1 {
				if n > len(ring) {
					t.Fatalf("%v is not of the ring, or not in its order", p)
				}
			}
		}
		for _, p := range ring {
			if off := math.Sqrt(offRing(simple, p)); off > tolerance+1e-9 {
				t.Fatalf("%v is %v off, with a tolerance of %v", p, off, tolerance)
			}
		}
		if len(Crossings(got.Rings)) > 0 && len(Crossings([]Ring{ring})) == 0 && len(simple) > 3 {
			t.Fatal("the simpler ring crosses itself")
		}
		long := 0.0
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			long += math.Hypot(a[0]-b[0], a[1]-b[1])
		}
		if off := math.Abs(Area(got.Rings) - shoelace(ring)); off > tolerance*long {
			t.Fatalf("the area changed by %v", off)
		}
	})
}

func TestSimplifyHoldsToItsPoints(t *testing.T) {
	fine := []Ring{polygon(5000, 1, 300, [2]float64{400, 400}), polygon(700, 1, 30, [2]float64{300, 400})}
	got, err := Simplify(SimplifyRequest{Rings: fine, Tolerance: 0.01, MaxPoints: 60})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(got.Rings[0]) + len(got.Rings[1]); n > 60 || n < 20 || len(got.Rings) != 2 {
		t.Errorf("%d points in %d rings", n, len(got.Rings))
	}
	if r := Overlap(fine, got.Rings); r < 0.98 {
		t.Errorf("what is left overlaps by %v", r)
	}
}

// A comb of long thin teeth beside each other, of which a wide tolerance alone would make a tangle.
func TestSimplifyMakesNoCrossing(t *testing.T) {
	comb := Ring{{0, 0}}
	for i := range 30 {
		x := float64(i)
		comb = append(comb, [2]float64{x, 40 + 3*math.Sin(x)}, [2]float64{x + 0.5, 1 + math.Cos(7*x)})
	}
	comb = append(comb, [2]float64{31, 30}, [2]float64{31, 0})
	if len(Crossings([]Ring{comb})) > 0 {
		t.Fatal("the comb crosses itself to begin with")
	}
	around := []Ring{comb, {{35, 0}, {35, 50}, {-5, 50}, {-5, -2}, {-4, -1}, {30, -0.5}}}
	for _, tolerance := range []float64{0.5, 1, 2, 4, 8} {
		got, err := Simplify(SimplifyRequest{Rings: around, Tolerance: tolerance})
		if err != nil {
			t.Fatal(err)
		}
		if c := Crossings(got.Rings); len(Crossings(around)) == 0 && len(c) > 0 {
			t.Errorf("tolerance %v: crossings at %v", tolerance, c)
		}
	}
}

func TestSimplifyRefuses(t *testing.T) {
	many := make(Ring, MaxGiven+1)
	for _, c := range []struct {
		req  SimplifyRequest
		code string
	}{
		{SimplifyRequest{}, fault.TooFew},
		{SimplifyRequest{Rings: []Ring{{{0, 0}, {1, 1}}}}, fault.TooFew},
		{SimplifyRequest{Rings: []Ring{many}}, fault.TooMany},
		{SimplifyRequest{Rings: []Ring{{{0, 0}, {1, 1}, {math.NaN(), 0}}}}, fault.OutOfRange},
		{SimplifyRequest{Rings: []Ring{square(0, 0, 1)}, Tolerance: -1}, fault.OutOfRange},
		{SimplifyRequest{Rings: []Ring{square(0, 0, 1)}, MaxPoints: 5}, fault.OutOfRange},
	} {
		_, err := Simplify(c.req)
		refused(t, err, c.code)
	}
}

func refused(t testing.TB, err error, code string) {
	t.Helper()
	if e := (*fault.Error)(nil); !errors.As(err, &e) || e.Code != code {
		t.Errorf("refused with %v, want %s", err, code)
	}
}
