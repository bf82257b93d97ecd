package photo

import (
	"math"
	"slices"
)

// quad is four corners in order round, and how well they look like the rectangle sought.
type quad struct {
	corners []Point
	score   float64
	outside float64 // the share of its sides' lines that goes on beyond the corners
}

// target is the rectangle that is sought.
type target struct {
	long, short float64 // mm
	radius      float64 // of its corners, mm; 0 when not known
}

// The limits of a rectangle that is found.
const (
	steepest   = 0.80 // radians, 46 degrees: the most tilt
	leastSide  = 14.  // px of the small copy
	keptQuads  = 60
	sharpened  = 5  // of them, at the picture's full resolution
	sameCorner = 6. // px of the small copy: nearer corners are the same
)

// meeting is where two segments' lines meet: a corner, if it is one.
type meeting struct {
	other int // 2*segment + which of its ends is at the corner
	at    Point
}

// quads puts segments together to rectangles.
func (s *small) quads(segments []segment, want target) []quad {
	meetings, known := s.meetings(segments)
	var found []quad
	try := func(corners [4]Point) {
		if q, ok := s.judge(corners, want); ok {
			found = append(found, q)
		}
	}
	for a := range segments {
		for _, c := range meetings[2*a] {
			for _, d := range meetings[2*a+1] {
				if !sameSide(segments, a, c, d) {
					continue
				}
				closed := false
				for _, b := range meetings[c.other^1] {
					if k := known[2*len(segments)*(b.other^1)+(d.other^1)]; k != nil && b.other/2 != a {
						closed = true
						if a < b.other/2 {
							try([4]Point{c.at, d.at, *k, b.at})
						}
					}
				}
				if !closed {
					for _, corners := range open(segments, a, c, d, want) {
						try(corners)
					}
				}
			}
		}
	}
	return best(found)
}

// meetings are the corners at each end of each segment, and a way to look one up.
func (s *small) meetings(segments []segment) ([][]meeting, []*Point) {
	n := 2 * len(segments)
	all, known := make([][]meeting, n), make([]*Point, n*n)
	for i, a := range segments {
		for j := i + 1; j < len(segments); j++ {
			b := segments[j]
			k := cross(a.way, b.way)
			if math.Abs(k) < 0.64 { // 40 degrees
				continue
			}
			between := minus(b.from, a.from)
			ta, tb := cross(between, b.way)/k, cross(between, a.way)/k
			endA, ok1 := whichEnd(a, ta)
			endB, ok2 := whichEnd(b, tb)
			if !ok1 || !ok2 {
				continue
			}
			x := along(a.from, a.way, ta)
			if x[0] < -2 || x[1] < -2 || x[0] > float64(s.width)+1 || x[1] > float64(s.height)+1 {
				continue
			}
			p, q := 2*i+endA, 2*j+endB
			all[p] = append(all[p], meeting{q, x})
			all[q] = append(all[q], meeting{p, x})
			known[n*p+q], known[n*q+p] = &x, &x
		}
	}
	return all, known
}

// whichEnd tells at which end of a segment the point t px from its start is: a corner lies
// beyond the end, or hardly within it, and not far off.
func whichEnd(a segment, t float64) (int, bool) {
	slack, gap := 3+float64(0.03*a.length), 10+float64(1.1*a.length)
	switch {
	case t > a.length/2:
		return 1, t > a.length-slack && t < a.length+gap
	default:
		return 0, t < slack && t > -gap
	}
}

// sameSide tells whether c and d leave a to the same side, far enough apart.
func sameSide(segments []segment, a int, c, d meeting) bool {
	if c.other/2 == d.other/2 || distance(c.at, d.at) < leastSide {
		return false
	}
	way := segments[a].way
	return cross(way, leaving(segments, c))*cross(way, leaving(segments, d)) > 0
}

// leaving is the way along a segment from its corner.
func leaving(segments []segment, m meeting) Point {
	g := segments[m.other/2]
	if m.other%2 == 1 {
		return Point{-g.way[0], -g.way[1]}
	}
	return g.way
}

// open closes three sides by where the fourth must be, seen nearly square on: what is truly
// there is found when the sides are looked at.
func open(segments []segment, a int, c, d meeting, want target) (out [][4]Point) {
	across := distance(c.at, d.at)
	for _, ratio := range []float64{want.short / want.long, want.long / want.short} {
		for _, squeeze := range []float64{0.9, 1} {
			l := across * ratio * squeeze
			if min(segments[c.other/2].length, segments[d.other/2].length) < 0.5*l || max(segments[c.other/2].length, segments[d.other/2].length) > 1.05*l {
				continue
			}
			out = append(out, [4]Point{c.at, d.at, along(d.at, leaving(segments, d), l), along(c.at, leaving(segments, c), l)})
		}
	}
	return out
}

// judge gives a score to four corners, or says that they cannot be the rectangle.
func (s *small) judge(c [4]Point, want target) (quad, bool) {
	area := 0.0
	for i := range c {
		t := turn(c[i], c[(i+1)%4], c[(i+2)%4])
		if i > 0 && (t > 0) != (area > 0) || t == 0 {
			return quad{}, false
		}
		area = t
	}
	if area < 0 {
		c[1], c[3] = c[3], c[1]
	}
	var l [4]float64
	for i := range c {
		if l[i] = distance(c[i], c[(i+1)%4]); l[i] < leastSide {
			return quad{}, false
		}
	}
	if max(l[0], l[2]) > 1.7*min(l[0], l[2]) || max(l[1], l[3]) > 1.7*min(l[1], l[3]) {
		return quad{}, false
	}
	if l[0]+l[2] < l[1]+l[3] { // try the likelier way round first
		c = [4]Point{c[1], c[2], c[3], c[0]}
	}
	corners, off := s.wayRound(c, want)
	short := min(l[0]+l[2], l[1]+l[3]) / 2
	allowed := 0.02 + 1.5/short
	if off > 3*allowed {
		return quad{}, false
	}
	mean, least, outside := s.support(corners)
	q := quad{corners: corners, score: float64((mean+least-outside)/2) - float64(0.1*sq(off/allowed)) + float64(0.1*math.Sqrt(short/float64(min(s.width, s.height))))}
	return q, least > 0.25 && mean > 0.5
}

// wayRound begins the round at the end of a long side, whichever fits the shape better, and
// tells how far off the shape is, as a share.
func (s *small) wayRound(c [4]Point, want target) ([]Point, float64) {
	one, off := s.shapeOff(c[:], want)
	if off > 0.15 {
		turned := []Point{c[1], c[2], c[3], c[0]}
		if two, other := s.shapeOff(turned, want); other < off {
			return two, other
		}
	}
	return one, off
}

func (s *small) shapeOff(c []Point, want target) ([]Point, float64) {
	return c, shapeOff(c, want, float64(s.width), float64(s.height))
}

// shapeOff is how far four corners are from any view of the rectangle, as a share.
func shapeOff(c []Point, want target, width, height float64) float64 {
	v := viewOf(c, want.long, want.short, Point{width / 2, height / 2})
	least := math.Inf(1)
	for f := 0.55; f < 3.4; f *= 1.25 {
		l := v.through(float64(f * max(width, height)))
		if l.tilt < steepest {
			least = min(least, size(l.shape))
		}
	}
	return least
}

// support is which share of each side has an edge along it, the mean and the least of the
// four, and which share of their lines has one beyond the corners, where a rectangle has none.
func (s *small) support(c []Point) (mean, least, outside float64) {
	least = 1
	for i, a := range c {
		b := c[(i+1)%4]
		way := minus(b, a)
		length := size(way)
		n := int(min(max(length/3, 8), 40))
		share := s.along(a, b, 0.09, 0.91, n)
		mean += float64(share / 4)
		least = min(least, share)
		reach := max(0.2, 8/length)
		start := max(0.03, 3/length)
		outside += float64((s.along(a, b, -reach, -start, n/3+2) + s.along(a, b, 1+start, 1+reach, n/3+2)) / 8)
	}
	return mean, least, outside
}

// along is the share of n points from part t0 to part t1 of the way from a to b that have an
// edge of that direction within a px.
func (s *small) along(a, b Point, t0, t1 float64, n int) float64 {
	way := minus(b, a)
	l := size(way)
	u := Point{way[0] / l, way[1] / l}
	// The change points across, at twice the angle of (-u1, u0).
	two := [2]float32{float32(float64(u[1]*u[1]) - float64(u[0]*u[0])), float32(-2 * float64(u[0]*u[1]))}
	hits := 0
	for i := range n {
		t := t0 + float64((t1-t0)*(float64(i)+0.5))/float64(n)
		for _, d := range [3]float64{0, 1, -1} {
			x := int(math.Floor(a[0] + float64(t*way[0]) - float64(d*u[1]) + 0.5))
			y := int(math.Floor(a[1] + float64(t*way[1]) + float64(d*u[0]) + 0.5))
			if x < 0 || y < 0 || x >= s.width || y >= s.height {
				continue
			}
			if k := s.at[y*s.width+x]; k >= 0 {
				e := &s.edges[k]
				if float32(e.two[0]*two[0])+float32(e.two[1]*two[1]) > 0.75 {
					hits++
					break
				}
			}
		}
	}
	return float64(hits) / float64(n)
}

// best keeps the best of those that lie in one place, and of all the first few.
func best(found []quad) (kept []quad) {
	sortByScore(found)
	for _, q := range found {
		if len(kept) == keptQuads {
			break
		}
		if !slices.ContainsFunc(kept, func(k quad) bool { return apartBy(k.corners, q.corners) < sameCorner/2 }) {
			kept = append(kept, q)
		}
	}
	return kept
}

func sortByScore(found []quad) {
	slices.SortStableFunc(found, func(a, b quad) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
}

// apartBy is how far the corners of two rectangles are apart at the most, whichever comes first.
func apartBy(a, b []Point) float64 {
	least := math.Inf(1)
	for k := range 4 {
		most := 0.0
		for i := range 4 {
			most = max(most, distance(a[i], b[(i+k)%4]))
		}
		least = min(least, most)
	}
	return least
}
