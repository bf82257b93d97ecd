package outline

import (
	"math"
	"slices"

	"needlesight/pwa/engine/fault"
)

// AlignRequest holds two outlines, of which one is to be laid over the other.
type AlignRequest struct {
	// Fixed stays where it is; Moving is moved. Outer rings and holes, at most MaxGiven points each.
	Fixed  []Ring `json:"fixed"`
	Moving []Ring `json:"moving"`
	// Scale is "free" (or left out): Moving may grow and shrink; or "fixed".
	Scale string `json:"scale,omitempty"`
	// Pins, where given, say where two points of Moving come to lie, and nothing else counts.
	Pins *Pins `json:"pins,omitempty"`
}

// Pins are two points of each outline that belong together.
type Pins struct {
	// Fixed is 2 points of the outline that stays, apart from each other.
	Fixed [][2]float64 `json:"fixed"`
	// Moving is the 2 points of the other that come to lie there.
	Moving [][2]float64 `json:"moving"`
}

// AlignResponse says how Moving comes to lie over Fixed: p' = Scale * R(TurnRad) * p + (X, Y), where
// R(t) takes (1,0) to (cos t, sin t).
type AlignResponse struct {
	// Scale is by how much Moving grows.
	Scale float64 `json:"scale"`
	// TurnRad is by how much it is turned, -pi to pi.
	TurnRad float64 `json:"turn_rad"`
	// X is how far it is then moved to the right, in the unit of Fixed.
	X float64 `json:"x"`
	// Y is how far it is moved the other way of that unit.
	Y float64 `json:"y"`
	// Overlap is the area both share over the area of both together, 0 to 1.
	Overlap float64 `json:"overlap"`
	// MeanOff is the mean distance from the edge of either to that of the other, in the unit of Fixed.
	MeanOff float64 `json:"mean_off"`
}

// Align lays one outline over the other: by two pins, or else by area, middle and long axis, and then step
// by step to the least distances between the edges, each point to the nearest place on the other's
// edge (Besl and McKay, IEEE PAMI 14 (1992), 239), leaving out the worst fifth (as Chetverikov and others, ICPR
// 2002). It does not turn an outline over. It refuses with TooFew, TooMany, OutOfRange, NotOneOf.
func Align(req AlignRequest) (AlignResponse, error) {
	if err := checkRings("fixed", req.Fixed); err != nil {
		return AlignResponse{}, err
	}
	if err := checkRings("moving", req.Moving); err != nil {
		return AlignResponse{}, err
	}
	if req.Scale != "" && req.Scale != "free" && req.Scale != "fixed" {
		return AlignResponse{}, fault.New(fault.NotOneOf, "scale", "scale is %.40q, and must be free or fixed.", req.Scale)
	}
	free := req.Scale != "fixed"
	if req.Pins != nil {
		m, err := byPins(*req.Pins, free)
		if err != nil {
			return AlignResponse{}, err
		}
		return m.response(req), nil
	}
	if Area(req.Fixed) <= 0 || Area(req.Moving) <= 0 {
		return AlignResponse{}, fault.New(fault.OutOfRange, "fixed", "An outline of no area cannot be laid over another.")
	}
	return bestFit(req.Fixed, req.Moving, free).response(req), nil
}

// move is p' = (a -b; b a) p + (x, y): turn, scale and shift in one.
type move struct{ a, b, x, y float64 }

func (m move) of(p [2]float64) [2]float64 {
	return [2]float64{float64(m.a*p[0]) - float64(m.b*p[1]) + m.x, float64(m.b*p[0]) + float64(m.a*p[1]) + m.y}
}

func (m move) all(rings []Ring) []Ring {
	out := make([]Ring, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			out[i] = append(out[i], m.of(p))
		}
	}
	return out
}

func (m move) response(req AlignRequest) AlignResponse {
	moved := m.all(req.Moving)
	a, b := spread(req.Fixed, 600), spread(moved, 600)
	off, long := 0.0, 0.0
	for _, p := range a {
		off += math.Sqrt(squared(minus(p, nearest(moved, p))))
		long++
	}
	for _, p := range b {
		off += math.Sqrt(squared(minus(p, nearest(req.Fixed, p))))
		long++
	}
	return AlignResponse{
		Scale: math.Hypot(m.a, m.b), TurnRad: math.Atan2(m.b, m.a), X: m.x, Y: m.y,
		Overlap: Overlap(req.Fixed, moved), MeanOff: off / long,
	}
}

// byPins is the one move that takes two points to two others; with the scale fixed, the one that takes
// the point half-way between them there, and turns their line into the other.
func byPins(pins Pins, free bool) (move, error) {
	if len(pins.Fixed) != 2 || len(pins.Moving) != 2 {
		return move{}, fault.New(fault.TooFew, "pins", "pins holds %d and %d points, and 2 of each outline are needed.", len(pins.Fixed), len(pins.Moving))
	}
	to, from := minus(pins.Fixed[1], pins.Fixed[0]), minus(pins.Moving[1], pins.Moving[0])
	for _, p := range slices.Concat(pins.Fixed, pins.Moving) {
		if !(math.Abs(p[0]) <= fault.MaxValue && math.Abs(p[1]) <= fault.MaxValue) {
			return move{}, fault.New(fault.OutOfRange, "pins", "pins has a point further out than %s.", fault.Number(fault.MaxValue))
		}
	}
	if squared(to) == 0 || squared(from) == 0 {
		return move{}, fault.New(fault.OutOfRange, "pins", "The two pins of an outline lie in one place.")
	}
	long := squared(from)
	if !free {
		long = math.Sqrt(squared(from) * squared(to))
	}
	m := move{a: (float64(from[0]*to[0]) + float64(from[1]*to[1])) / long, b: (float64(from[0]*to[1]) - float64(from[1]*to[0])) / long}
	middle := m.of([2]float64{(pins.Moving[0][0] + pins.Moving[1][0]) / 2, (pins.Moving[0][1] + pins.Moving[1][1]) / 2})
	m.x, m.y = float64((pins.Fixed[0][0]+pins.Fixed[1][0])/2)-middle[0], float64((pins.Fixed[0][1]+pins.Fixed[1][1])/2)-middle[1]
	return m, nil
}

// moments are the area, the middle, and the turn of the long axis of what lies inside rings.
func moments(rings []Ring) (area float64, middle [2]float64, axis float64) {
	low, _, _ := Bounds(rings)
	var s, sx, sy, xx, xy, yy float64
	for r, ring := range rings {
		var a, ax, ay, axx, axy, ayy float64
		for i, q := range ring { // Green's theorem, edge by edge
			p := minus(ring[(i+len(ring)-1)%len(ring)], low)
			q := minus(q, low)
			c := float64(p[0]*q[1]) - float64(q[0]*p[1])
			a += float64(c / 2)
			ax += float64(c * (p[0] + q[0]) / 6)
			ay += float64(c * (p[1] + q[1]) / 6)
			axx += float64(c * (float64(p[0]*p[0]) + float64(p[0]*q[0]) + float64(q[0]*q[0])) / 12)
			ayy += float64(c * (float64(p[1]*p[1]) + float64(p[1]*q[1]) + float64(q[1]*q[1])) / 12)
			axy += float64(c * (float64(2*p[0]*p[1]) + float64(p[0]*q[1]) + float64(q[0]*p[1]) + float64(2*q[0]*q[1])) / 24)
		}
		sign := 1.0
		if a < 0 {
			sign = -1
		}
		if depth(rings, r)%2 == 1 { // a hole takes away
			sign = -sign
		}
		s, sx, sy = s+float64(sign*a), sx+float64(sign*ax), sy+float64(sign*ay)
		xx, xy, yy = xx+float64(sign*axx), xy+float64(sign*axy), yy+float64(sign*ayy)
	}
	mx, my := sx/s, sy/s
	xx, yy, xy = xx/s-float64(mx*mx), yy/s-float64(my*my), xy/s-float64(mx*my)
	return s, [2]float64{low[0] + mx, low[1] + my}, math.Atan2(2*xy, xx-yy) / 2
}

// depth is how many other rings a ring lies in.
func depth(rings []Ring, r int) int {
	n := 0
	for k, other := range rings {
		if k != r && len(rings[r]) > 0 && Inside([]Ring{other}, rings[r][0]) {
			n++
		}
	}
	return n
}

// bestFit tries the long axis both ways round and turns between, follows the most promising to the
// end, and takes the closest.
func bestFit(fixed, moving []Ring, free bool) move {
	fineFixed, fineMoving := plainer(fixed, 1500, 300), plainer(moving, 1500, 300)
	fixed, moving = plainer(fixed, 400, 120), plainer(moving, 400, 120)
	areaF, middleF, axisF := moments(fixed)
	areaM, middleM, axisM := moments(moving)
	scale := 1.0
	if free {
		scale = math.Sqrt(math.Abs(areaF / areaM))
	}
	type attempt struct {
		m   move
		off float64
	}
	var tries []attempt
	rough := spread(fixed, 80)
	roughMoving := spread(moving, 80)
	for k := range 12 {
		sin, cos := math.Sincos(axisF - axisM + float64(float64(k)*math.Pi/6))
		m := move{a: scale * cos, b: scale * sin}
		at := m.of(middleM)
		m.x, m.y = middleF[0]-at[0], middleF[1]-at[1]
		m, off := approach(fixed, moving, rough, roughMoving, m, free, 6)
		tries = append(tries, attempt{m, off})
	}
	slices.SortStableFunc(tries, func(a, b attempt) int { return less(a.off, b.off) })
	a, b := spread(fixed, 150), spread(moving, 150)
	best := attempt{off: math.Inf(1)}
	for _, t := range tries[:3] {
		m, off := approach(fixed, moving, a, b, t.m, free, 25)
		if off < best.off {
			best = attempt{m, off}
		}
	}
	m, _ := approach(fineFixed, fineMoving, spread(fineFixed, 300), spread(fineMoving, 300), best.m, free, 8)
	return m
}

// plainer has few enough points to be gone over often: off by at most such a part of its size, or so many.
func plainer(rings []Ring, part float64, points int) []Ring {
	low, high, _ := Bounds(rings)
	out, _ := simpler(rings, max(high[0]-low[0], high[1]-low[1])/part, points)
	return out
}

// approach moves step by step, each to the least squares of the distances it sees, and gives the mean
// of those that count.
func approach(fixed, moving []Ring, onFixed, onMoving [][2]float64, m move, free bool, rounds int) (move, float64) {
	off := math.Inf(1)
	for range rounds {
		back := m.inverse()
		pairs := make([]pair, 0, len(onFixed)+len(onMoving))
		for _, p := range onMoving {
			to := nearest(fixed, m.of(p))
			pairs = append(pairs, pair{p, to, squared(minus(m.of(p), to))})
		}
		for _, p := range onFixed {
			from := nearest(moving, back.of(p))
			pairs = append(pairs, pair{from, p, squared(minus(m.of(from), p))})
		}
		slices.SortStableFunc(pairs, func(a, b pair) int { return less(a.off, b.off) })
		pairs = pairs[:len(pairs)*4/5]
		sum := 0.0
		for _, p := range pairs {
			sum += math.Sqrt(p.off)
		}
		sum /= float64(len(pairs))
		next := leastSquares(pairs, free)
		if sum >= off*0.99999 && rounds > 6 {
			break
		}
		m, off = next, sum
	}
	return m, off
}

// pair is a point of the moving outline and where it should come to lie.
type pair struct {
	from, to [2]float64
	off      float64 // squared
}

func (m move) inverse() move {
	s := float64(m.a*m.a) + float64(m.b*m.b)
	inv := move{a: m.a / s, b: -m.b / s}
	at := inv.of([2]float64{m.x, m.y})
	inv.x, inv.y = -at[0], -at[1]
	return inv
}

// leastSquares is the move that brings the pairs closest (Umeyama, IEEE PAMI 13 (1991), 376, in the plane).
// With a free scale it is the geometric mean of the least squares there and back, since that of
// one way alone makes smaller what does not fit.
func leastSquares(pairs []pair, free bool) move {
	var from, to [2]float64
	n := float64(len(pairs))
	for _, p := range pairs {
		for k := range 2 {
			from[k] += p.from[k] / n
			to[k] += p.to[k] / n
		}
	}
	var dot, turn, long, wide float64
	for _, p := range pairs {
		f, t := minus(p.from, from), minus(p.to, to)
		dot += float64(f[0]*t[0]) + float64(f[1]*t[1])
		turn += float64(f[0]*t[1]) - float64(f[1]*t[0])
		long += squared(f)
		wide += squared(t)
	}
	scale := 1.0
	if free && long > 0 && wide > 0 {
		scale = math.Sqrt(wide / long)
	}
	size := math.Hypot(dot, turn)
	if size == 0 {
		size = 1
	}
	m := move{a: scale * dot / size, b: scale * turn / size}
	at := m.of(from)
	m.x, m.y = to[0]-at[0], to[1]-at[1]
	return m
}

// nearest is the place on the rings' edges that is nearest to p.
func nearest(rings []Ring, p [2]float64) [2]float64 {
	best, at := math.Inf(1), p
	for _, ring := range rings {
		a := ring[len(ring)-1]
		for _, b := range ring {
			d, w := minus(b, a), minus(p, a)
			t := 0.0
			if long := squared(d); long > 0 {
				t = min(1, max(0, (float64(w[0]*d[0])+float64(w[1]*d[1]))/long))
			}
			q := [2]float64{a[0] + float64(t*d[0]), a[1] + float64(t*d[1])}
			if off := squared(minus(p, q)); off < best {
				best, at = off, q
			}
			a = b
		}
	}
	return at
}

// spread sets about so many points along the edges, evenly.
func spread(rings []Ring, count int) [][2]float64 {
	long := 0.0
	for _, ring := range rings {
		for i, b := range ring {
			long += math.Sqrt(squared(minus(b, ring[(i+len(ring)-1)%len(ring)])))
		}
	}
	step := long / float64(count)
	if step == 0 {
		return [][2]float64{rings[0][0]}
	}
	var out [][2]float64
	at := step / 2
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			d := minus(b, a)
			edge := math.Sqrt(squared(d))
			for ; at < edge; at += step {
				out = append(out, [2]float64{a[0] + d[0]*at/edge, a[1] + d[1]*at/edge})
			}
			at -= edge
		}
	}
	if len(out) == 0 {
		out = append(out, rings[0][0])
	}
	return out
}
