package photo

import "math"

// Point is x and y: in a picture px from the top-left corner of the top-left pixel,
// y down; in a plane mm.
type Point = [2]float64

// Matrix is a homography row by row, its last number 1: a point (x, y) goes to
// ((m0 x + m1 y + m2)/w, (m3 x + m4 y + m5)/w) with w = m6 x + m7 y + m8.
type Matrix [9]float64

// unit is the matrix that moves nothing.
var unit = Matrix{1, 0, 0, 0, 1, 0, 0, 0, 1}

// Apply gives where p goes. A point on the horizon, where w is 0, goes to infinity.
func (m Matrix) Apply(p Point) Point {
	x, y, w := m.lift(p)
	return Point{x / w, y / w}
}

func (m Matrix) lift(p Point) (x, y, w float64) {
	row := func(i int) float64 { return float64(m[i]*p[0]) + float64(m[i+1]*p[1]) + m[i+2] }
	return row(0), row(3), row(6)
}

// Jacobian gives how p's image moves with p: dx'/dx, dx'/dy, dy'/dx, dy'/dy.
func (m Matrix) Jacobian(p Point) [4]float64 {
	x, y, w := m.lift(p)
	x, y = x/w, y/w
	return [4]float64{
		(m[0] - float64(x*m[6])) / w, (m[1] - float64(x*m[7])) / w,
		(m[3] - float64(y*m[6])) / w, (m[4] - float64(y*m[7])) / w,
	}
}

// Inverse gives the way back, and false where there is none that ends in 1.
func (m Matrix) Inverse() (Matrix, bool) {
	minor := func(a, b, c, d int) float64 { return float64(m[a]*m[d]) - float64(m[b]*m[c]) }
	return Matrix{
		minor(4, 5, 7, 8), minor(2, 1, 8, 7), minor(1, 2, 4, 5),
		minor(5, 3, 8, 6), minor(0, 2, 6, 8), minor(2, 0, 5, 3),
		minor(3, 4, 6, 7), minor(1, 0, 7, 6), minor(0, 1, 3, 4),
	}.lastOne()
}

// lastOne divides by the last number; false when that is nothing beside the others.
func (m Matrix) lastOne() (Matrix, bool) {
	largest := 0.0
	for _, v := range m {
		largest = max(largest, math.Abs(v))
	}
	last := m[8]
	if !(math.Abs(last) > 1e-13*largest) || math.IsInf(largest, 0) {
		return Matrix{}, false
	}
	for i := range m {
		m[i] /= last
	}
	return m, true
}

// times is m after n.
func (m Matrix) times(n Matrix) (out Matrix) {
	for i := range 3 {
		for j := range 3 {
			out[3*i+j] = float64(m[3*i]*n[j]) + float64(m[3*i+1]*n[3+j]) + float64(m[3*i+2]*n[6+j])
		}
	}
	return out
}

// determinant of the map's derivative: mm2 per px2 for a map from px to mm.
func determinant(j [4]float64) float64 { return float64(j[0]*j[3]) - float64(j[1]*j[2]) }

func minus(a, b Point) Point            { return Point{a[0] - b[0], a[1] - b[1]} }
func dot(a, b Point) float64            { return float64(a[0]*b[0]) + float64(a[1]*b[1]) }
func cross(a, b Point) float64          { return float64(a[0]*b[1]) - float64(a[1]*b[0]) }
func size(a Point) float64              { return math.Sqrt(dot(a, a)) }
func distance(a, b Point) float64       { return size(minus(a, b)) }
func turn(a, b, c Point) float64        { return cross(minus(b, a), minus(c, a)) }
func along(a, d Point, t float64) Point { return Point{a[0] + float64(d[0]*t), a[1] + float64(d[1]*t)} }

// arctan is the angle whose tangent is x, the same to the last digit on every machine:
// halved thrice, then by its series.
func arctan(x float64) float64 {
	for range 3 {
		x /= 1 + math.Sqrt(1+float64(x*x))
	}
	square, series := float64(x*x), 0.0
	for i := 27; i >= 1; i -= 2 { // |x| < 0.2, so x^29 is beyond the last digit
		series = 1/float64(i) - float64(series*square)
	}
	return 8 * float64(x*series)
}
