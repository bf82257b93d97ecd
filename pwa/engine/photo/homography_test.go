package photo

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"needlesight/pwa/engine/fault"
)

// random is a picture of a plane as a hand might take it: mm to px.
func random(r *rand.Rand) Matrix {
	f := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	turn, size := f(0, 2*math.Pi), f(1, 8)
	c, s := math.Cos(turn)*size, math.Sin(turn)*size
	return Matrix{c, -s * f(0.7, 1.3), f(200, 1500), s, c * f(0.7, 1.3), f(200, 1500), f(-1e-3, 1e-3), f(-1e-3, 1e-3), 1}
}

func scattered(r *rand.Rand, n int) []Point {
	points := []Point{{5, 5}, {190, 10}, {180, 140}, {10, 130}} // four that are no line
	for len(points) < n {
		points = append(points, Point{200 * r.Float64(), 150 * r.Float64()})
	}
	for i := range points {
		points[i][0] += 4 * r.NormFloat64()
		points[i][1] += 4 * r.NormFloat64()
	}
	return points
}

func applyAll(m Matrix, points []Point) (out []Point) {
	for _, p := range points {
		out = append(out, m.Apply(p))
	}
	return out
}

// reference is the same homography by another way with gonum's matrices (gonum.org/v1/gonum
// v0.17, mat): the inhomogeneous linear equations by Householder's QR, then Gauss and
// Newton's steps, each a QR solution of the Jacobian itself, not of its square.
func reference(t *testing.T, from, to []Point, steps int) Matrix {
	t.Helper()
	n := len(from)
	a, b := mat.NewDense(2*n, 8, nil), mat.NewVecDense(2*n, nil)
	for i, p := range from {
		q := to[i]
		a.SetRow(2*i, []float64{p[0], p[1], 1, 0, 0, 0, -q[0] * p[0], -q[0] * p[1]})
		a.SetRow(2*i+1, []float64{0, 0, 0, p[0], p[1], 1, -q[1] * p[0], -q[1] * p[1]})
		b.SetVec(2*i, q[0])
		b.SetVec(2*i+1, q[1])
	}
	h := solveQR(t, a, b)
	for range steps {
		for i, p := range from {
			w := h[6]*p[0] + h[7]*p[1] + 1
			x, y := (h[0]*p[0]+h[1]*p[1]+h[2])/w, (h[3]*p[0]+h[4]*p[1]+h[5])/w
			a.SetRow(2*i, []float64{p[0] / w, p[1] / w, 1 / w, 0, 0, 0, -x * p[0] / w, -x * p[1] / w})
			a.SetRow(2*i+1, []float64{0, 0, 0, p[0] / w, p[1] / w, 1 / w, -y * p[0] / w, -y * p[1] / w})
			b.SetVec(2*i, to[i][0]-x)
			b.SetVec(2*i+1, to[i][1]-y)
		}
		for j, d := range solveQR(t, a, b) {
			h[j] += d
		}
	}
	return Matrix{h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1}
}

func solveQR(t *testing.T, a *mat.Dense, b *mat.VecDense) []float64 {
	t.Helper()
	var qr mat.QR
	qr.Factorize(a)
	var x mat.VecDense
	var badly mat.Condition
	if err := qr.SolveVecTo(&x, false, b); err != nil && !errors.As(err, &badly) {
		t.Fatal(err)
	}
	return x.RawVector().Data
}

// apart is the largest relative difference of two matrices, number by number.
func apart(a, b Matrix) (most float64) {
	for i := range a {
		most = max(most, math.Abs(a[i]-b[i])/max(math.Abs(b[i]), 1e-9))
	}
	return most
}

// On exact points every homography comes back, as does the reference's, to 1e-6.
func TestExactPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	worst, worstReference := 0.0, 0.0
	for i := range 2000 {
		m := random(r)
		from := scattered(r, 4+i%30)
		to := applyAll(m, from)
		got, err := Homography(Request{From: from, To: to})
		if err != nil {
			t.Fatal(err, from, to)
		}
		worst = max(worst, apart(got.Matrix, m))
		worstReference = max(worstReference, apart(got.Matrix, reference(t, from, to, 2)))
	}
	t.Logf("worst of 2000, number by number: %.2g against the truth, %.2g against the reference", worst, worstReference)
	if worst > 1e-6 || worstReference > 1e-6 {
		t.Errorf("exact points come back only to %g and %g", worst, worstReference)
	}
}

// On noisy points the result is the reference's least squares, and its true error is no
// worse than that, and less than that of the linear equations alone.
func TestNoisyPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var ours, least, linear, differ float64
	const runs = 1000
	for i := range runs {
		m := random(r)
		from := scattered(r, 5+i%40)
		true_ := applyAll(m, from)
		to := applyAll(m, from)
		for k := range to {
			to[k][0] += r.NormFloat64()
			to[k][1] += r.NormFloat64()
		}
		got, err := Homography(Request{From: from, To: to})
		if err != nil {
			t.Fatal(err)
		}
		gauss, direct := reference(t, from, to, 30), reference(t, from, to, 0)
		ours += rms(got.Matrix, from, true_)
		least += rms(gauss, from, true_)
		linear += rms(direct, from, true_)
		if a, b := rms(got.Matrix, from, to), rms(gauss, from, to); a > b*(1+1e-9) {
			t.Errorf("run %d: rms %v, and %v by the reference", i, a, b)
		}
		for k, p := range from {
			differ = max(differ, distance(got.Matrix.Apply(p), gauss.Apply(p)))
			if off := distance(got.Matrix.Apply(p), to[k]); math.Abs(off-got.Residuals[k]) > 1e-9 {
				t.Errorf("run %d: residual %v is %v", i, got.Residuals[k], off)
			}
		}
	}
	t.Logf("mean rms true error for 1 px noise: %.5f, reference %.5f, linear equations alone %.5f; largest difference %.2g px", ours/runs, least/runs, linear/runs, differ)
	if ours > least*(1+1e-9) || ours > linear || differ > 1e-6 {
		t.Errorf("worse than the reference: %v, %v, %v, %v", ours, least, linear, differ)
	}
}

func rms(m Matrix, from, to []Point) float64 {
	return math.Sqrt(misses(m, from, to) / float64(len(from)))
}

// The misfit is about 1 when the noise is what was said.
func TestMisfit(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	u, squares := 0.5, 0.0
	for range 400 {
		m := random(r)
		from := scattered(r, 20)
		to := applyAll(m, from)
		for k := range from {
			from[k][0] += u * r.NormFloat64()
			from[k][1] += u * r.NormFloat64()
		}
		got, err := Homography(Request{From: from, To: to, UPx: &u})
		if err != nil {
			t.Fatal(err)
		}
		squares += *got.Misfit * *got.Misfit / 400
	}
	if math.Abs(math.Sqrt(squares)-1) > 0.05 {
		t.Errorf("misfit %v, and it should be about 1", math.Sqrt(squares))
	}
}

func TestThereAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 200 {
		m := random(r)
		back, ok := m.Inverse()
		p := Point{200 * r.Float64(), 150 * r.Float64()}
		if q := back.Apply(m.Apply(p)); !ok || distance(p, q) > 1e-8 {
			t.Fatalf("%v came back as %v", p, q)
		}
		const step = 1e-4
		j := m.Jacobian(p)
		for k := range 2 {
			d := Point{}
			d[k] = step
			a, b := m.Apply(along(p, d, 1)), m.Apply(along(p, d, -1))
			for c := range 2 {
				if got, want := j[2*c+k], (a[c]-b[c])/(2*step); math.Abs(got-want) > 1e-5*(1+math.Abs(want)) {
					t.Fatalf("Jacobian %d%d: %v, and by differences %v", c, k, got, want)
				}
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	square := []Point{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	for _, c := range []struct {
		name     string
		from, to []Point
		code     string
	}{
		{"three points", square[:3], square[:3], fault.TooFew},
		{"another number of points", square, append([]Point{{2, 2}}, square...), fault.ConflictingFields},
		{"too many", make([]Point, 201), make([]Point, 201), fault.TooMany},
		{"no number", []Point{{math.NaN(), 0}, {1, 0}, {1, 1}, {0, 1}}, square, fault.OutOfRange},
		{"three on a line", []Point{{0, 0}, {1, 0}, {2, 0}, {0, 1}}, square, fault.PointsOnALine},
		{"three of to on a line", square, []Point{{0, 0}, {1, 1}, {2, 2}, {0, 1}}, fault.PointsOnALine},
		{"a point twice", []Point{{0, 0}, {1, 0}, {1, 0}, {0, 1}}, square, fault.PointsRepeated},
		{"crossed", []Point{{0, 0}, {1, 1}, {1, 0}, {0, 1}}, square, fault.PointsCrossed},
		{"one corner inside the other three", []Point{{0, 0}, {4, 0}, {1, 1}, {0, 4}}, square, fault.PointsCrossed},
		{"six on a line", []Point{{0, 0}, {1, 1}, {2, 2}, {3, 3}, {4, 4}, {5, 5}}, scattered(rand.New(rand.NewPCG(1, 1)), 6), fault.PointsOnALine},
		{"all but one on a line", []Point{{0, 0}, {1, 1}, {2, 2}, {3, 3}, {4, 4}, {5, 0}}, scattered(rand.New(rand.NewPCG(1, 1)), 6), fault.PointsOnALine},
		{"all the same", make([]Point, 5), make([]Point, 5), fault.PointsRepeated},
	} {
		_, err := Homography(Request{From: c.from, To: c.to})
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code {
			t.Errorf("%s: %v, wanted %s", c.name, err, c.code)
		}
	}
	if _, err := Homography(Request{From: square, To: []Point{{0, 0}, {0, 1}, {1, 1}, {1, 0}}}); err != nil {
		t.Errorf("a plane seen from behind: %v", err)
	}
}

func BenchmarkHomography4(b *testing.B)   { benchmark(b, 4) }
func BenchmarkHomography200(b *testing.B) { benchmark(b, 200) }

func benchmark(b *testing.B, n int) {
	r := rand.New(rand.NewPCG(9, 9))
	from := scattered(r, n)
	to := applyAll(random(r), from)
	for k := range to {
		to[k][0] += r.NormFloat64()
	}
	for b.Loop() {
		if _, err := Homography(Request{From: from, To: to}); err != nil {
			b.Fatal(err)
		}
	}
}
