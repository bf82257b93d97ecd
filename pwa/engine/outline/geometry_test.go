package outline

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.12g, want %.12g", what, got, want)
	}
}

// polygon is a regular polygon, or with a step of more than 1 a star.
func polygon(n, step int, radius float64, at [2]float64) Ring {
	ring := make(Ring, n)
	for i := range ring {
		sin, cos := math.Sincos(2 * math.Pi * float64(i*step) / float64(n))
		ring[i] = [2]float64{at[0] + radius*cos, at[1] + radius*sin}
	}
	return ring
}

func square(left, top, side float64) Ring {
	return Ring{{left, top}, {left + side, top}, {left + side, top + side}, {left, top + side}}
}

// A regular polygon of n corners on a circle of radius r has the area n r^2 sin(2 pi / n) / 2 (Euclid's
// dissection into n triangles; CRC Standard Mathematical Tables, "regular polygons").
func TestAreaOfRegularPolygons(t *testing.T) {
	for n := 3; n <= 60; n++ {
		want := float64(n) * 49 * math.Sin(2*math.Pi/float64(n)) / 2
		near(t, "area", Area([]Ring{polygon(n, 1, 7, [2]float64{3, -2})}), want, 1e-9)
	}
}

func TestAreaByTheEvenOddRule(t *testing.T) {
	// Worked by hand: squares of side 10 and 4, one in the other, beside it, and across its edge; the two triangles
	// of a bow tie; a square gone round twice, which the even-odd rule makes empty.
	for _, c := range []struct {
		name  string
		rings []Ring
		want  float64
	}{
		{"hole", []Ring{square(0, 0, 10), square(3, 3, 4)}, 84},
		{"beside", []Ring{square(0, 0, 10), square(20, 0, 4)}, 116},
		{"across", []Ring{square(0, 0, 10), square(8, 3, 4)}, 100 + 16 - 2*8},
		{"bow tie", []Ring{{{0, 0}, {4, 4}, {4, 0}, {0, 4}}}, 8},
		{"twice round", []Ring{append(square(0, 0, 10), square(0, 0, 10)...)}, 0},
		{"hole with an island", []Ring{square(0, 0, 10), square(2, 2, 6), square(4, 4, 2)}, 68},
	} {
		near(t, c.name, Area(c.rings), c.want, 1e-9)
	}
	// A star of five points as drawn in one go: the even-odd rule leaves the pentagon in its middle out. With the tips
	// on the unit circle the star's own outline encloses 10 tan(18 deg)/(3 - tan^2(18 deg)), the pentagon's circle
	// has radius cos(72 deg)/cos(36 deg) (plane trigonometry).
	tan := math.Tan(math.Pi / 10)
	r := math.Cos(2*math.Pi/5) / math.Cos(math.Pi/5)
	want := 10*tan/(3-tan*tan) - 5*r*r*math.Sin(2*math.Pi/5)/2
	near(t, "star", Area([]Ring{polygon(5, 2, 1, [2]float64{})}), want, 1e-9)
	if n := len(Crossings([]Ring{polygon(5, 2, 1, [2]float64{})})); n != 5 {
		t.Errorf("the star crosses itself %d times, want 5", n)
	}
}

// The shoelace formula (Meister 1769, Gauss): an independent sum for rings that do not cross.
func shoelace(ring Ring) float64 {
	sum := 0.0
	for i, b := range ring {
		a := ring[(i+len(ring)-1)%len(ring)]
		sum += a[0]*b[1] - b[0]*a[1]
	}
	return math.Abs(sum) / 2
}

// starlike draws a ring that goes round a point once, so does not cross itself.
func starlike(t *rapid.T, name string) Ring {
	n := rapid.IntRange(3, 60).Draw(t, name)
	ring := make(Ring, n)
	for i := range ring {
		r := rapid.Float64Range(2, 100).Draw(t, "radius")
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.8).Draw(t, "turn")) / float64(n))
		ring[i] = [2]float64{100 + r*cos, 100 + r*sin}
	}
	return ring
}

func TestAreaIsTheShoelace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ring := starlike(t, "ring")
		if want := shoelace(ring); math.Abs(Area([]Ring{ring})-want) > 1e-6*(1+want) {
			t.Fatalf("area %v, want %v", Area([]Ring{ring}), want)
		}
		if len(Crossings([]Ring{ring})) > 0 && len(ring) > 3 {
			t.Fatalf("a ring that goes round once is said to cross itself")
		}
		other := starlike(t, "other")
		a, b, both := areas([]Ring{ring}, []Ring{other})
		if math.Abs(a-shoelace(ring)) > 1e-6*(1+a) || math.Abs(b-shoelace(other)) > 1e-6*(1+b) || both < -1e-9 || both > min(a, b)+1e-6 {
			t.Fatalf("areas %v %v %v", a, b, both)
		}
		// What lies in one alone is what the even-odd rule makes of both together.
		if x := Area([]Ring{ring, other}); math.Abs(x-(a+b-2*both)) > 1e-6*(1+a+b) {
			t.Fatalf("apart %v, want %v", x, a+b-2*both)
		}
	})
}

func TestInside(t *testing.T) {
	rings := []Ring{square(0, 0, 10), square(3, 3, 4)}
	for p, want := range map[[2]float64]bool{{1, 1}: true, {5, 5}: false, {9, 5}: true, {-1, 5}: false, {11, 3}: false, {5, 1}: true} {
		if Inside(rings, p) != want {
			t.Errorf("%v inside: %v", p, !want)
		}
	}
	low, high, ok := Bounds(rings)
	if !ok || low != [2]float64{0, 0} || high != [2]float64{10, 10} {
		t.Errorf("bounds %v %v %v", low, high, ok)
	}
	if _, _, ok := Bounds([]Ring{{}}); ok {
		t.Error("no points have bounds")
	}
}

func TestCrossings(t *testing.T) {
	found := Crossings([]Ring{{{0, 0}, {4, 4}, {4, 0}, {0, 4}}})
	if len(found) != 1 || found[0].At != [2]float64{2, 2} || found[0].Edges != [2]int{0, 2} && found[0].Edges != [2]int{2, 0} {
		t.Errorf("a bow tie crosses at %+v", found)
	}
	if found := Crossings([]Ring{square(0, 0, 10), square(8, 3, 4)}); len(found) != 2 {
		t.Errorf("two squares cross at %+v", found)
	}
}

func TestOverlap(t *testing.T) {
	// Two squares of side 10, one 5 to the right: they share 50 of 150.
	near(t, "overlap", Overlap([]Ring{square(0, 0, 10)}, []Ring{square(5, 0, 10)}), 1./3, 1e-12)
	near(t, "apart", Overlap([]Ring{square(0, 0, 10)}, []Ring{square(50, 0, 10)}), 0, 0)
	near(t, "same", Overlap([]Ring{polygon(17, 1, 5, [2]float64{})}, []Ring{polygon(17, 1, 5, [2]float64{})}), 1, 1e-12)
}
