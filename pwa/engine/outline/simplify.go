package outline

import (
	"math"

	"needlesight/pwa/engine/fault"
)

// What a request may hold, and what holds where it says nothing.
const (
	// MaxGiven is the most points a request's rings may have in all.
	MaxGiven = 20000
	// MaxPoints is how many points an outline is given where a request says nothing.
	MaxPoints = 600
	// Tolerance is how far, in the unit of the rings, a simpler ring may be off where a request
	// says nothing.
	Tolerance = 0.5
)

// SimplifyRequest holds the rings that are to have fewer points.
type SimplifyRequest struct {
	// Rings are outer rings and holes, of at least 3 points each, at most MaxGiven in all.
	Rings []Ring `json:"rings"`
	// Tolerance is how far a point left out may lie from the new ring, in the rings' unit;
	// 0 or left out is Tolerance.
	Tolerance float64 `json:"tolerance,omitempty"`
	// MaxPoints is the most points in all, 12 to MaxGiven; 0 or left out is MaxPoints. The tolerance is
	// widened until they suffice.
	MaxPoints int `json:"max_points,omitempty"`
}

// SimplifyResponse holds the simpler rings.
type SimplifyResponse struct {
	// Rings are as many as were given, in their order, each of at least 3 of its points.
	Rings []Ring `json:"rings"`
	// Tolerance is the one that was used.
	Tolerance float64 `json:"tolerance"`
}

// Simplify gives rings with fewer points by the way of Ramer (1972) and of Douglas and Peucker (1973).
// Where the rings did not cross, the simpler ones do not: rings that would are kept closer to
// what they were, in which case there may be more points than were asked for. It refuses
// with TooFew, TooMany and OutOfRange.
func Simplify(req SimplifyRequest) (SimplifyResponse, error) {
	if err := checkRings("rings", req.Rings); err != nil {
		return SimplifyResponse{}, err
	}
	tolerance, most := req.Tolerance, req.MaxPoints
	if tolerance == 0 {
		tolerance = Tolerance
	}
	if most == 0 {
		most = MaxPoints
	}
	if err := fault.Between("tolerance", tolerance, 0, fault.MaxValue); err != nil {
		return SimplifyResponse{}, err
	}
	if err := fault.Between("max_points", float64(most), 12, MaxGiven); err != nil {
		return SimplifyResponse{}, err
	}
	rings, tolerance := simpler(req.Rings, tolerance, most)
	return SimplifyResponse{rings, tolerance}, nil
}

// checkRings refuses rings that are too few, too short, too long, or not finite.
func checkRings(at string, rings []Ring) error {
	if len(rings) == 0 {
		return fault.New(fault.TooFew, at, "%s is empty, and at least one ring is needed.", at)
	}
	points := 0
	for _, ring := range rings {
		if len(ring) < 3 {
			return fault.New(fault.TooFew, at, "%s has a ring of %d points, and a ring has at least 3.", at, len(ring))
		}
		for _, p := range ring {
			if !(math.Abs(p[0]) <= fault.MaxValue && math.Abs(p[1]) <= fault.MaxValue) {
				return fault.New(fault.OutOfRange, at, "%s has a point further out than %s.", at, fault.Number(fault.MaxValue))
			}
		}
		points += len(ring)
	}
	if points > MaxGiven {
		return fault.New(fault.TooMany, at, "%s has %d points, and at most %d are taken.", at, points, MaxGiven)
	}
	return nil
}

// simpler widens the tolerance until the rings have at most so many points.
func simpler(rings []Ring, tolerance float64, most int) ([]Ring, float64) {
	most = max(most, 3*len(rings))
	for {
		simple := simplerAll(rings, tolerance)
		points := 0
		for _, ring := range simple {
			points += len(ring)
		}
		if points <= most {
			return uncrossed(rings, simple, tolerance), tolerance
		}
		tolerance *= 1.25
	}
}

func simplerAll(rings []Ring, tolerance float64) []Ring {
	simple := make([]Ring, len(rings))
	for i, ring := range rings {
		simple[i] = simplerRing(ring, tolerance)
	}
	return simple
}

// uncrossed takes back what made rings cross that did not before: the rings
// concerned are simplified with half the tolerance, and so on, at last not at all.
func uncrossed(rings, simple []Ring, tolerance float64) []Ring {
	crossed := Crossings(simple)
	if len(crossed) == 0 || len(Crossings(rings)) > 0 {
		return simple
	}
	own := make([]float64, len(rings))
	for i := range own {
		own[i] = tolerance
	}
	for ; len(crossed) > 0; crossed = Crossings(simple) {
		concerned := map[int]bool{}
		for _, c := range crossed {
			concerned[c.Rings[0]], concerned[c.Rings[1]] = true, true
		}
		for i := range concerned {
			own[i] /= 2
			if own[i] < tolerance/64 {
				own[i] = 0
			}
			simple[i] = simplerRing(rings[i], own[i])
		}
	}
	return simple
}

// simplerRing leaves out points of a ring that lie within the tolerance of the line
// through those kept. Two points far from each other are kept to begin with, and a
// third, so that a ring stays a ring.
func simplerRing(ring Ring, tolerance float64) Ring {
	if tolerance == 0 || len(ring) <= 3 {
		return append(Ring(nil), ring...)
	}
	first := furthest(ring, ring[0])
	n := len(ring)
	turned := append(append(make(Ring, 0, n+1), ring[first:]...), ring[:first+1]...)
	second := furthest(turned[:n], turned[0])
	if second == 0 { // all in one point
		return append(Ring(nil), ring[:3]...)
	}
	keep := make([]bool, n+1)
	keep[0], keep[second] = true, true
	kept := 2 + thin(turned, keep, 0, second, tolerance) + thin(turned, keep, second, n, tolerance)
	if kept < 3 {
		keep[widest(turned, second)] = true
	}
	simple := make(Ring, 0, kept+1)
	for i, p := range turned[:n] {
		if keep[i] {
			simple = append(simple, p)
		}
	}
	return simple
}

func furthest(points Ring, from [2]float64) int {
	best, at := -1.0, 0
	for i, p := range points {
		if d := squared(minus(p, from)); d > best {
			best, at = d, i
		}
	}
	return at
}

// widest is the point furthest from the line between the first and the second.
func widest(ring Ring, second int) int {
	best, at := -1.0, 1
	for i := 1; i < len(ring)-1; i++ {
		if d := offLine(ring[i], ring[0], ring[second]); i != second && d > best {
			best, at = d, i
		}
	}
	return at
}

// thin marks which points between from and to are kept, and counts them.
func thin(points Ring, keep []bool, from, to int, tolerance float64) int {
	type span struct{ from, to int }
	open := []span{{from, to}}
	kept := 0
	for len(open) > 0 {
		s := open[len(open)-1]
		open = open[:len(open)-1]
		best, at := tolerance*tolerance, -1
		for i := s.from + 1; i < s.to; i++ {
			if d := offLine(points[i], points[s.from], points[s.to]); d > best {
				best, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			kept++
			open = append(open, span{s.from, at}, span{at, s.to})
		}
	}
	return kept
}

// offLine is the square of the distance of p from the stretch a to b.
func offLine(p, a, b [2]float64) float64 {
	d, w := minus(b, a), minus(p, a)
	if long := squared(d); long > 0 {
		t := min(1, max(0, (float64(w[0]*d[0])+float64(w[1]*d[1]))/long))
		w = [2]float64{w[0] - float64(t*d[0]), w[1] - float64(t*d[1])}
	}
	return squared(w)
}

func squared(d [2]float64) float64 { return float64(d[0]*d[0]) + float64(d[1]*d[1]) }
