package photo

import "math"

// lens is how a rectangle of known size was looked at, as far as its picture tells. The
// picture is taken to be of square pixels with the lens's axis through its middle.
type lens struct {
	focal, tilt, distance float64 // px, radians, mm from the lens to the plane, square to it
	shape                 [2]float64
}

// view is the map from the plane, mm, to px from the middle of the picture.
type view struct{ one, two, three [3]float64 } // its columns

func viewOf(corners []Point, widthMM, heightMM float64, middle Point) view {
	m := ontoQuad(corners)
	column := func(i int, f float64) [3]float64 {
		return [3]float64{(m[i] - float64(middle[0]*m[6+i])) / f, (m[3+i] - float64(middle[1]*m[6+i])) / f, m[6+i] / f}
	}
	return view{column(0, widthMM), column(1, heightMM), column(2, 1)}
}

// ontoQuad brings the unit square to a convex quadrilateral (P. Heckbert, Fundamentals of
// texture mapping and image warping, 1989, 2.2.3).
func ontoQuad(c []Point) Matrix {
	a, b := minus(c[1], c[2]), minus(c[3], c[2])
	s := Point{c[0][0] - c[1][0] + c[2][0] - c[3][0], c[0][1] - c[1][1] + c[2][1] - c[3][1]}
	d := cross(a, b)
	g, h := cross(s, b)/d, cross(a, s)/d
	return Matrix{
		c[1][0] - c[0][0] + float64(g*c[1][0]), c[3][0] - c[0][0] + float64(h*c[3][0]), c[0][0],
		c[1][1] - c[0][1] + float64(g*c[1][1]), c[3][1] - c[0][1] + float64(h*c[3][1]), c[0][1],
		g, h, 1,
	}
}

// focal squared, from the two constraints that one view of a plane puts on a lens: its axes
// stand square and are of one length (Z. Zhang, A flexible new technique for camera
// calibration, 1999/2000, 2.3). Each reads a/f^2 + b = 0; f^2 is where both come nearest. It
// is not above 0 when the picture does not tell.
func (v view) focalSquared() float64 {
	a := Point{2 * flat(v.one, v.two), flat(v.one, v.one) - flat(v.two, v.two)}
	b := Point{2 * float64(v.one[2]*v.two[2]), float64(v.one[2]*v.one[2]) - float64(v.two[2]*v.two[2])}
	return -dot(a, b) / dot(b, b)
}

func flat(a, b [3]float64) float64 { return float64(a[0]*b[0]) + float64(a[1]*b[1]) }

func inner(a, b [3]float64) float64 { return flat(a, b) + float64(a[2]*b[2]) }

// through gives how the rectangle lies, seen by a lens of that focal length in px.
func (v view) through(focal float64) lens {
	one, two, three := by(v.one, focal), by(v.two, focal), by(v.three, focal)
	a, b := math.Sqrt(inner(one, one)), math.Sqrt(inner(two, two))
	normal := [3]float64{
		float64(one[1]*two[2]) - float64(one[2]*two[1]),
		float64(one[2]*two[0]) - float64(one[0]*two[2]),
		float64(one[0]*two[1]) - float64(one[1]*two[0]),
	}
	n := math.Sqrt(inner(normal, normal))
	return lens{
		focal:    focal,
		tilt:     arctan(math.Sqrt(flat(normal, normal)) / math.Abs(normal[2])),
		distance: math.Abs(inner(normal, three)) / float64(n*math.Sqrt(float64(a*b))),
		// Both are 0 for a rectangle that is truly of this shape.
		shape: [2]float64{2 * (a - b) / (a + b), inner(one, two) / float64(a*b)},
	}
}

func by(a [3]float64, focal float64) [3]float64 { return [3]float64{a[0] / focal, a[1] / focal, a[2]} }

// The lenses that are thought possible, by their focal length over the picture's longer
// side: from very wide to a far crop. Common practice; a phone's main lens has about 0.75.
const (
	shortestLens = 0.45
	longestLens  = 9.
	usualLens    = 0.9
)

// likeliest is the lens that makes most of the rectangle's shape right.
func (v view) likeliest(longSide float64) lens {
	best, least := lens{}, math.Inf(1)
	for f := shortestLens; f < longestLens; f *= 1.08 {
		l := v.through(float64(f * longSide))
		if off := float64(l.shape[0]*l.shape[0]) + float64(l.shape[1]*l.shape[1]); off < least {
			best, least = l, off
		}
	}
	return best
}

// seen is what the four corners tell of the lens.
type seen struct {
	lens
	known  bool    // the focal length and with it the distance
	uShare float64 // standard uncertainty of the distance as a share, where known
	corner float64 // how far off the corners look, px
}

// KnownShare is the standard uncertainty, as a share, up to which a distance worked out from
// the tilt is told at all.
const KnownShare = 0.1

// look works out what a rectangle's corners tell. The uncertainty comes from moving each
// corner's x and y by cornerPX both ways.
func look(p *Plane, width, height, cornerPX float64) seen {
	middle, long := Point{width / 2, height / 2}, max(width, height)
	at := func(corners []Point) view { return viewOf(corners, p.WidthMM, p.HeightMM, middle) }
	v, dims := at(p.Corners), 1.
	var s seen
	if p.DistanceMM != nil { // the distance tells the lens: f grows with it
		dims = 2
		s.lens = v.through(v.focalAt(*p.DistanceMM, long))
	} else if s.known, s.uShare = distanceKnown(p, at, long, cornerPX); s.known {
		s.lens = v.through(math.Sqrt(v.focalSquared()))
	} else {
		s.lens = v.through(usualLens * long)
	}
	judge := s.lens
	if p.DistanceMM == nil {
		judge = v.likeliest(long)
	}
	s.corner = shapeError(p.Corners, at, judge) / math.Sqrt(dims)
	return s
}

// focalAt is the focal length that puts the rectangle at a distance, by halving.
func (v view) focalAt(distanceMM, long float64) float64 {
	low, high := 0.05*long, 1000*long
	for range 80 {
		f := math.Sqrt(low * high)
		if v.through(f).distance < distanceMM {
			low = f
		} else {
			high = f
		}
	}
	return math.Sqrt(low * high)
}

func distanceKnown(p *Plane, at func([]Point) view, long, cornerPX float64) (bool, float64) {
	far := func(corners []Point) (float64, bool) {
		v := at(corners)
		square := v.focalSquared()
		if !(square > 0) {
			return 0, false
		}
		f := math.Sqrt(square)
		return v.through(f).distance, f > shortestLens*long && f < longestLens*long
	}
	middle, ok := far(p.Corners)
	if !ok {
		return false, 0
	}
	squares, step := 0.0, max(cornerPX, 0.01)
	for i := range 8 {
		more, ok1 := far(moved(p.Corners, i, step))
		less, ok2 := far(moved(p.Corners, i, -step))
		if !ok1 || !ok2 {
			return false, 0
		}
		share := (more - less) / (2 * middle) * (cornerPX / step)
		squares += float64(share * share)
	}
	share := math.Sqrt(squares)
	return share <= KnownShare, share
}

// moved are four corners, the i-th of their eight numbers changed.
func moved(corners []Point, i int, by float64) []Point {
	out := append([]Point(nil), corners...)
	out[i/2][i%2] += by
	return out
}

// shapeError is how far the corners must move at the least, in all, for the rectangle to be
// of its shape through that lens: to first order, px.
func shapeError(corners []Point, at func([]Point) view, l lens) float64 {
	var j [2][8]float64
	const step = 0.05
	for i := range 8 {
		more, less := at(moved(corners, i, step)).through(l.focal).shape, at(moved(corners, i, -step)).through(l.focal).shape
		for k := range 2 {
			j[k][i] = (more[k] - less[k]) / (2 * step)
		}
	}
	a, b := table(2, 2), table(2, 1)
	for r := range 2 {
		b[r][0] = l.shape[r]
		for c := range 2 {
			for i := range 8 {
				a[r][c] += float64(j[r][i] * j[c][i])
			}
		}
	}
	if !eliminate(a, b) {
		return math.Inf(1)
	}
	square := float64(b[0][0]*l.shape[0]) + float64(b[1][0]*l.shape[1])
	return math.Sqrt(max(square, 0))
}
