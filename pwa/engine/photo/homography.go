// Package photo measures on pictures: the map from a picture to a plane of known size, the
// lengths in it with their uncertainty, and the rectangle of known size found by itself.
package photo

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

// The limits of a request.
const (
	MinPoints = 4
	MaxPoints = 200
)

// Request asks for the homography that brings points to others.
type Request struct {
	// From and To are MinPoints to MaxPoints points each, in the same order, each number
	// within fault.MaxValue of 0: px to mm, for example.
	From []Point `json:"from"`
	To   []Point `json:"to"`
	// UPx is the standard uncertainty of each number of From, in From's unit; when given,
	// the answer says whether the points lie as well as that.
	UPx *float64 `json:"u_px,omitempty"`
}

// Response is a homography and how well it fits.
type Response struct {
	// Matrix brings From to To.
	Matrix Matrix `json:"matrix"`
	// RMS is the root of the mean square of Residuals.
	RMS float64 `json:"rms"`
	// Residuals are how far each point comes from its place, in To's unit.
	Residuals []float64 `json:"residuals"`
	// Misfit is how much further the points lie than UPx allows, about 1 when all is well;
	// null for four points, which always fit, and without UPx.
	Misfit *float64 `json:"misfit"`
}

// Homography fits a homography: the normalised direct linear transformation (R. Hartley, In
// defense of the eight-point algorithm, IEEE PAMI 19 (1997), 580; Hartley and Zisserman,
// Multiple View Geometry, algorithm 4.2), then Levenberg and Marquardt's least squares on the
// distances in To. It refuses with TooFew, TooMany, ConflictingFields (lists of different
// length), OutOfRange, PointsRepeated, PointsOnALine and PointsCrossed.
func Homography(req Request) (Response, error) {
	if err := checkPoints(req); err != nil {
		return Response{}, err
	}
	m, err := fit(req.From, req.To)
	if err != nil {
		return Response{}, err
	}
	answer := Response{Matrix: m, Residuals: make([]float64, len(req.From))}
	squares, shares := 0.0, 0.0
	for i, p := range req.From {
		off := minus(m.Apply(p), req.To[i])
		square := dot(off, off)
		answer.Residuals[i] = math.Sqrt(square)
		squares += square
		j := m.Jacobian(p)
		d := determinant(j)
		back := Point{(float64(j[3]*off[0]) - float64(j[1]*off[1])) / d, (float64(j[0]*off[1]) - float64(j[2]*off[0])) / d}
		shares += dot(back, back)
	}
	answer.RMS = math.Sqrt(squares / float64(len(req.From)))
	if free := 2*len(req.From) - 8; req.UPx != nil && free > 0 {
		misfit := math.Sqrt(shares/float64(free)) / *req.UPx
		answer.Misfit = &misfit
	}
	return answer, nil
}

func checkPoints(req Request) error {
	switch n := len(req.From); {
	case n < MinPoints:
		return fault.New(fault.TooFew, "from", "from holds %d points, and at least %d are needed.", n, MinPoints)
	case n > MaxPoints:
		return fault.New(fault.TooMany, "from", "from holds %d points, and at most %d are read.", n, MaxPoints)
	case n != len(req.To):
		return fault.New(fault.ConflictingFields, "to", "from holds %d points and to %d, and they must be as many.", n, len(req.To))
	}
	for i := range req.From {
		if err := near(fmt.Sprintf("from[%d]", i), req.From[i]); err != nil {
			return err
		}
		if err := near(fmt.Sprintf("to[%d]", i), req.To[i]); err != nil {
			return err
		}
	}
	if req.UPx != nil {
		return fault.Positive("u_px", *req.UPx)
	}
	return nil
}

func near(at string, p Point) error {
	for i, v := range p {
		if err := fault.Between(fmt.Sprintf("%s[%d]", at, i), v, -fault.MaxValue, fault.MaxValue); err != nil {
			return err
		}
	}
	return nil
}

// fit is Homography without the checks of the numbers.
func fit(from, to []Point) (Matrix, error) {
	if len(from) == 4 {
		if err := checkFour(from, to); err != nil {
			return Matrix{}, err
		}
	} else if onALine(from) || onALine(to) {
		return Matrix{}, onOneLine(side(onALine(to)))
	}
	a, fromBack, ok1 := normalise(from)
	b, toBack, ok2 := normalise(to)
	if !ok1 || !ok2 {
		return Matrix{}, fault.New(fault.PointsRepeated, side(ok1), "All points of %s are the same.", side(ok1))
	}
	m, err := direct(a, b)
	if err != nil {
		return Matrix{}, err
	}
	m = refine(m, a, b)
	for _, p := range a { // the middle of the points has w = 1, so all must be above 0
		if _, _, w := m.lift(p); !(w > 1e-9) {
			return Matrix{}, crossed()
		}
	}
	back, _ := Matrix{toBack[0], 0, toBack[1], 0, toBack[0], toBack[2], 0, 0, 1}.Inverse()
	m, ok := back.times(m).times(Matrix{fromBack[0], 0, fromBack[1], 0, fromBack[0], fromBack[2], 0, 0, 1}).lastOne()
	if !ok {
		return Matrix{}, fault.New(fault.PointsCrossed, "from", "The point (0, 0) lies on the horizon of this plane, so no matrix can end in 1.")
	}
	return m, nil
}

func side(fromIsGood bool) string {
	if fromIsGood {
		return "to"
	}
	return "from"
}

func crossed() error {
	return fault.New(fault.PointsCrossed, "from", "The points go round in another order in from than in to, as if the plane were seen from both sides at once.")
}

func onOneLine(name string) error {
	return fault.New(fault.PointsOnALine, name, "All the points of %s, or all but one, lie on one line, and then they tell nothing across it.", name)
}

// onALine tells whether all the points, but for one at the most, lie on one line: then so
// do two of the first three that differ.
func onALine(points []Point) bool {
	reach := 0.0
	for _, p := range points {
		reach = max(reach, distance(p, points[0]))
	}
	if reach == 0 {
		return false // that they are all the same is told later
	}
	three := []Point{points[0]}
	for _, p := range points {
		if far(p, three, reach) && len(three) < 3 {
			three = append(three, p)
		}
	}
	for i, a := range three {
		for _, b := range three[:i] {
			var beside []Point
			for _, p := range points {
				if math.Abs(turn(a, b, p)) > 1e-6*float64(reach*distance(a, b)) && far(p, beside, reach) {
					beside = append(beside, p)
				}
			}
			if len(beside) < 2 {
				return true
			}
		}
	}
	return false
}

// far tells whether p is none of the points.
func far(p Point, points []Point, reach float64) bool {
	for _, q := range points {
		if distance(p, q) <= 1e-6*reach {
			return false
		}
	}
	return true
}

// normalise moves points to their middle and to a mean distance of sqrt(2) from it; move
// holds the factor and what is then added.
func normalise(points []Point) (moved []Point, move [3]float64, ok bool) {
	n := float64(len(points))
	var middle Point
	for _, p := range points {
		middle[0] += p[0] / n
		middle[1] += p[1] / n
	}
	mean := 0.0
	for _, p := range points {
		mean += distance(p, middle) / n
	}
	if !(mean > 1e-9) {
		return nil, move, false
	}
	f := math.Sqrt2 / mean
	for _, p := range points {
		moved = append(moved, Point{float64(f * (p[0] - middle[0])), float64(f * (p[1] - middle[1]))})
	}
	return moved, [3]float64{f, -float64(f * middle[0]), -float64(f * middle[1])}, true
}

// checkFour refuses four points that fix no homography. The turns of their four triples
// tell: one that is nearly nought is a line, and all must go the same way round in from as
// in to, or all the other way.
func checkFour(from, to []Point) error {
	a, err := turns("from", from)
	if err != nil {
		return err
	}
	b, err := turns("to", to)
	if err != nil {
		return err
	}
	for i := range a {
		if (a[i] > 0 == (b[i] > 0)) != (a[0] > 0 == (b[0] > 0)) {
			return crossed()
		}
	}
	return nil
}

// turns are twice the areas of the triangles that each leave out one of four points.
func turns(name string, p []Point) (areas [4]float64, err error) {
	reach := 0.0
	for i := range p {
		for j := range i {
			reach = max(reach, distance(p[i], p[j]))
		}
	}
	for i := range p {
		for j := range i {
			if distance(p[i], p[j]) <= 1e-6*reach {
				return areas, fault.New(fault.PointsRepeated, name, "Points %d and %d of %s are the same, and four different ones are needed.", j+1, i+1, name)
			}
		}
	}
	for i := range p {
		a, b, c := p[(i+1)%4], p[(i+2)%4], p[(i+3)%4]
		areas[i] = turn(a, b, c)
		if math.Abs(areas[i]) <= 1e-6*float64(reach*reach) {
			return areas, fault.New(fault.PointsOnALine, name, "Three of the four points of %s lie on one line, and then they tell nothing across it.", name)
		}
	}
	return areas, nil
}

// direct is the direct linear transformation: two rows for each pair of points, and the
// vector that comes nearest to solving them all.
func direct(from, to []Point) (Matrix, error) {
	var square [9][9]float64
	for i, p := range from {
		q := to[i]
		for _, row := range [2][9]float64{
			{p[0], p[1], 1, 0, 0, 0, -float64(q[0] * p[0]), -float64(q[0] * p[1]), -q[0]},
			{0, 0, 0, p[0], p[1], 1, -float64(q[1] * p[0]), -float64(q[1] * p[1]), -q[1]},
		} {
			for j := range row {
				for k := range row {
					square[j][k] += float64(row[j] * row[k])
				}
			}
		}
	}
	h, values := smallest(square)
	if values[1] <= 1e-11*values[8] { // more than one homography would do
		return Matrix{}, onOneLine("from")
	}
	m, ok := Matrix(h).lastOne()
	if !ok {
		return Matrix{}, crossed()
	}
	return m, nil
}

// refine lessens the sum of squared distances in the plane of to (K. Levenberg 1944,
// D. Marquardt 1963). The last number of the matrix stays 1.
func refine(m Matrix, from, to []Point) Matrix {
	best, damping := misses(m, from, to), 1e-3
	for range 60 {
		square, right := table(8, 8), table(8, 1)
		for i, p := range from {
			x, y, w := m.lift(p)
			x, y = x/w, y/w
			dx, dy := to[i][0]-x, to[i][1]-y
			a, b := p[0]/w, p[1]/w
			rows := [2][8]float64{
				{a, b, 1 / w, 0, 0, 0, -float64(x * a), -float64(x * b)},
				{0, 0, 0, a, b, 1 / w, -float64(y * a), -float64(y * b)},
			}
			for r, row := range rows {
				off := dx
				if r == 1 {
					off = dy
				}
				for j := range row {
					right[j][0] += float64(row[j] * off)
					for k := range row {
						square[j][k] += float64(row[j] * row[k])
					}
				}
			}
		}
		for j := range 8 {
			square[j][j] += float64(damping * square[j][j])
		}
		if !eliminate(square, right) {
			return m
		}
		next, step := m, 0.0
		for j := range 8 {
			next[j] += right[j][0]
			step = max(step, math.Abs(right[j][0]))
		}
		if now := misses(next, from, to); now <= best {
			m, best, damping = next, now, max(damping/10, 1e-12)
		} else {
			damping *= 10
		}
		if step < 1e-12 || best < 1e-29 || damping > 1e10 {
			break
		}
	}
	return m
}

func misses(m Matrix, from, to []Point) float64 {
	sum := 0.0
	for i, p := range from {
		off := minus(m.Apply(p), to[i])
		sum += dot(off, off)
	}
	return sum
}
