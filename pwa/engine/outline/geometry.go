// Package outline finds, tidies and compares outlines: the one of a piece on a photo,
// the edge that a finger roughly followed, two outlines laid over each other.
//
// An outline is a list of rings: outer ones and holes, told apart by the even-odd
// rule alone (a point is inside when a ray from it meets an odd number of edges). A ring
// is a list of points, not closed by repeating the first. In a picture the unit is the
// pixel, y runs down, and the top-left corner of the top-left pixel is (0,0).
package outline

import (
	"math"
	"slices"
)

// Ring is a closed line through its points; the last joins the first.
type Ring = [][2]float64

// Bounds gives the corners of the smallest upright rectangle round the rings: of the
// least x and y, and of the greatest. ok is false where there is no point.
func Bounds(rings []Ring) (low, high [2]float64, ok bool) {
	low = [2]float64{math.Inf(1), math.Inf(1)}
	high = [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, ring := range rings {
		for _, p := range ring {
			low = [2]float64{min(low[0], p[0]), min(low[1], p[1])}
			high = [2]float64{max(high[0], p[0]), max(high[1], p[1])}
			ok = true
		}
	}
	return low, high, ok
}

// Inside tells whether p lies inside the rings by the even-odd rule. A point on an edge
// may be told either way.
func Inside(rings []Ring, p [2]float64) bool {
	inside := false
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+float64((p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0])) {
				inside = !inside
			}
		}
	}
	return inside
}

// Area is the area inside the rings by the even-odd rule, in the square of their unit. It
// is exact (to rounding) for rings that cross themselves or each other too.
func Area(rings []Ring) float64 {
	area, _, _ := areas(rings, nil)
	return area
}

// Overlap is the area that a and b share over the area of both together (intersection
// over union, the Jaccard index): 1 for the same shape, 0 for shapes apart or of no area.
func Overlap(a, b []Ring) float64 {
	areaA, areaB, both := areas(a, b)
	if union := areaA + areaB - both; union > 0 {
		return both / union
	}
	return 0
}

// Crossing is a place where two edges cross or lie on each other.
type Crossing struct {
	// At is where.
	At [2]float64 `json:"at"`
	// Rings are the rings of the two edges, from 0.
	Rings [2]int `json:"rings"`
	// Edges are the edges: of edge i the first point is the ring's point i, from 0.
	Edges [2]int `json:"edges"`
}

// Crossings tells where edges of the rings cross or touch each other, from the top down. Edges that
// follow each other share a point and are not told for it.
func Crossings(rings []Ring) []Crossing {
	all := edges(rings, 0)
	found := crossings(all)
	slices.SortStableFunc(found, func(a, b Crossing) int {
		return less(a.At[1], b.At[1])
	})
	return found
}

// edge is a line from a to b of which a is not below b.
type edge struct {
	a, b       [2]float64
	set        int
	ring, at   int
	ringLength int
}

// edges lists the edges of rings, by their upper ends; those without length are left out.
func edges(rings []Ring, set int) []edge {
	var all []edge
	for r, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if a == b {
				continue
			}
			if a[1] > b[1] {
				a, b = b, a
			}
			all = append(all, edge{a, b, set, r, i, len(ring)})
		}
	}
	slices.SortStableFunc(all, func(a, b edge) int { return less(a.a[1], b.a[1]) })
	return all
}

func less(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// crossings goes once over edges sorted by their upper ends.
func crossings(all []edge) []Crossing {
	var found []Crossing
	var open []edge
	for _, e := range all {
		still := open[:0]
		for _, o := range open {
			if o.b[1] < e.a[1] {
				continue
			}
			still = append(still, o)
			if neighbours(o, e) {
				continue
			}
			if at, ok := cross(o, e); ok {
				found = append(found, Crossing{at, [2]int{o.ring, e.ring}, [2]int{o.at, e.at}})
			}
		}
		open = append(still, e)
	}
	return found
}

func neighbours(a, b edge) bool {
	if a.set != b.set || a.ring != b.ring {
		return false
	}
	n := a.ringLength
	return (a.at+1)%n == b.at || (b.at+1)%n == a.at
}

// cross gives where two edges meet. Of edges that lie on each other it gives one
// place they share.
func cross(p, q edge) ([2]float64, bool) {
	if max(p.a[0], p.b[0]) < min(q.a[0], q.b[0]) || max(q.a[0], q.b[0]) < min(p.a[0], p.b[0]) {
		return [2]float64{}, false
	}
	d, e := minus(p.b, p.a), minus(q.b, q.a)
	w := minus(q.a, p.a)
	area := float64(d[0]*e[1]) - float64(d[1]*e[0])
	if area == 0 {
		return onLine(p, q, w, d)
	}
	t := (float64(w[0]*e[1]) - float64(w[1]*e[0])) / area
	u := (float64(w[0]*d[1]) - float64(w[1]*d[0])) / area
	if t < 0 || t > 1 || u < 0 || u > 1 {
		return [2]float64{}, false
	}
	return [2]float64{p.a[0] + float64(t*d[0]), p.a[1] + float64(t*d[1])}, true
}

// onLine is cross for edges that run side by side.
func onLine(p, q edge, w, d [2]float64) ([2]float64, bool) {
	if float64(w[0]*d[1])-float64(w[1]*d[0]) != 0 {
		return [2]float64{}, false
	}
	long := float64(d[0]*d[0]) + float64(d[1]*d[1])
	t := (float64(w[0]*d[0]) + float64(w[1]*d[1])) / long
	to := minus(q.b, p.a)
	u := (float64(to[0]*d[0]) + float64(to[1]*d[1])) / long
	from, end := max(0, min(t, u)), min(1, max(t, u))
	if from > end {
		return [2]float64{}, false
	}
	return [2]float64{p.a[0] + float64(from*d[0]), p.a[1] + float64(from*d[1])}, true
}

func minus(a, b [2]float64) [2]float64 { return [2]float64{a[0] - b[0], a[1] - b[1]} }

// areas gives the area of a, of b, and of what lies in both. The plane is cut into
// level strips at every point and crossing, so that within a strip no edges cross and each
// piece between neighbouring edges is a trapezium.
func areas(a, b []Ring) (areaA, areaB, both float64) {
	all := append(edges(a, 0), edges(b, 1)...)
	slices.SortStableFunc(all, func(a, b edge) int { return less(a.a[1], b.a[1]) })
	levels := make([]float64, 0, 3*len(all))
	for _, e := range all {
		levels = append(levels, e.a[1], e.b[1])
	}
	for _, c := range crossings(all) {
		levels = append(levels, c.At[1])
	}
	slices.Sort(levels)
	levels = slices.Compact(levels)
	var open []edge
	var row []strip
	next := 0
	for i := 0; i+1 < len(levels); i++ {
		top, bottom := levels[i], levels[i+1]
		for ; next < len(all) && all[next].a[1] <= top; next++ {
			open = append(open, all[next])
		}
		still := open[:0]
		row = row[:0]
		for _, e := range open {
			if e.b[1] <= top {
				continue
			}
			still = append(still, e)
			row = append(row, strip{(e.x(top) + e.x(bottom)) / 2, e.set})
		}
		open = still
		slices.SortFunc(row, func(a, b strip) int { return less(a.x, b.x) })
		in := [2]bool{}
		for k, s := range row {
			if k > 0 {
				size := float64((s.x - row[k-1].x) * (bottom - top))
				if in[0] {
					areaA += size
				}
				if in[1] {
					areaB += size
				}
				if in[0] && in[1] {
					both += size
				}
			}
			in[s.set] = !in[s.set]
		}
	}
	return areaA, areaB, both
}

// strip is an edge within a strip: its x half-way down, and whose it is.
type strip struct {
	x   float64
	set int
}

// x is where the edge is at a level between its ends.
func (e edge) x(y float64) float64 {
	if e.b[1] == e.a[1] {
		return (e.a[0] + e.b[0]) / 2
	}
	t := (y - e.a[1]) / (e.b[1] - e.a[1])
	return e.a[0] + float64(min(1, max(0, t))*(e.b[0]-e.a[0]))
}
