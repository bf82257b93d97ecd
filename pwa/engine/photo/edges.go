package photo

import (
	"math"
	"slices"

	"needlesight/pwa/engine/raster"
)

// workSide is about how many px the longer side of the copy has in which edges are sought.
const workSide = 700

// small is the copy of a picture in which edges are sought, and its edges.
type small struct {
	width, height int
	factor        int // px of the picture in one of the copy
	edges         []edge
	at            []int32 // the edge at each px, or -1
}

// edge is a px where the colour changes more than on either side of it.
type edge struct {
	x, y     int32
	strength float32
	two      [2]float32 // cosine and sine of twice the direction of the change
	used     bool
}

// newSmall makes the copy and finds its edges.
func newSmall(pic *raster.Picture) *small {
	f := max(1, (2*max(pic.Width, pic.Height)+workSide)/(2*workSide))
	s := &small{width: pic.Width / f, height: pic.Height / f, factor: f}
	if s.width < 8 || s.height < 8 {
		return s
	}
	gx, gy, strength := s.changes(s.channels(pic))
	s.thin(gx, gy, strength)
	return s
}

// channels are lightness and two differences of colours, each as the mean of factor by
// factor px, smoothed. They are whole numbers, so every machine has the same.
func (s *small) channels(pic *raster.Picture) (c [3][]int32) {
	n := s.width * s.height
	for i := range c {
		c[i] = make([]int32, n)
	}
	area := int32(s.factor * s.factor)
	sums := make([][3]int32, s.width)
	for y := range s.height {
		clear(sums)
		for dy := range s.factor {
			row := pic.Pix[4*pic.Width*(y*s.factor+dy):]
			i := 0
			for x := range sums {
				r, g, b := int32(0), int32(0), int32(0)
				for range s.factor {
					px := row[i : i+3 : i+3]
					r, g, b = r+int32(px[0]), g+int32(px[1]), b+int32(px[2])
					i += 4
				}
				sums[x][0] += r
				sums[x][1] += g
				sums[x][2] += b
			}
		}
		for x, v := range sums {
			i := y*s.width + x
			c[0][i] = 4 * (v[0] + 2*v[1] + v[2]) / area
			c[1][i] = 8 * (v[0] - v[2]) / area
			c[2][i] = 4 * (2*v[1] - v[0] - v[2]) / area
		}
	}
	line := make([]int32, max(s.width, s.height))
	for i := range c {
		s.smooth(c[i], line)
	}
	return c
}

// smooth weighs each px with its neighbours by 1, 2, 1 both ways; the sum is 16 times as large.
func (s *small) smooth(c, line []int32) {
	w, h := s.width, s.height
	for y := range h {
		row := c[y*w : (y+1)*w]
		copy(line, row)
		for x := range row {
			row[x] = line[max(x-1, 0)] + 2*line[x] + line[min(x+1, w-1)]
		}
	}
	above, row := make([]int32, w), make([]int32, w)
	copy(above, c[:w])
	for y := range h {
		copy(row, c[y*w:(y+1)*w])
		below := c[min(y+1, h-1)*w:]
		out := c[y*w:]
		for x := range row {
			out[x] = above[x] + 2*row[x] + below[x]
		}
		above, row = row, above
	}
}

// changes gives at each px the change of the channel that changes most there.
func (s *small) changes(c [3][]int32) (gx, gy []int32, strength []float32) {
	w, n := s.width, s.width*s.height
	gx, gy, strength = make([]int32, n), make([]int32, n), make([]float32, n)
	for y := 1; y < s.height-1; y++ {
		for i := y*w + 1; i < (y+1)*w-1; i++ {
			most := int64(0)
			for _, p := range c {
				dx, dy := p[i+1]-p[i-1], p[i+w]-p[i-w]
				if m := int64(dx)*int64(dx) + int64(dy)*int64(dy); m > most {
					most, gx[i], gy[i] = m, dx, dy
				}
			}
			strength[i] = float32(math.Sqrt(float64(most)))
		}
	}
	return gx, gy, strength
}

// A change below leastChange, 1/2 of 255 levels a px, is no edge, nor is one below usual
// times what half of the picture's px have: noise and the cloth's own weave.
const (
	leastChange = 0.5 * 4 * 4 * 16 * 2
	usual       = 2.2
)

// thin keeps the px whose change is largest across the edge.
func (s *small) thin(gx, gy []int32, strength []float32) {
	w := s.width
	least := max(leastChange, usual*median(strength))
	s.at = make([]int32, w*s.height)
	for i := range s.at {
		s.at[i] = -1
	}
	for y := 2; y < s.height-2; y++ {
		for x := 2; x < w-2; x++ {
			i := y*w + x
			m := strength[i]
			if m < least {
				continue
			}
			ax, ay := gx[i], gy[i]
			if ax < 0 {
				ax, ay = -ax, -ay
			}
			step := w + 1 // the neighbour that the change points to
			switch {
			case 5*ay > 12*ax, -5*ay > 12*ax:
				step = w
			case 12*ay < 5*ax && -12*ay < 5*ax:
				step = 1
			case ay < 0:
				step = 1 - w
			}
			if m < strength[i-step] || m <= strength[i+step] {
				continue
			}
			square := float32(m * m)
			fx, fy := float32(gx[i]), float32(gy[i])
			s.at[i] = int32(len(s.edges))
			s.edges = append(s.edges, edge{int32(x), int32(y), m, [2]float32{float32(float32(fx*fx)-float32(fy*fy)) / square, 2 * float32(fx*fy) / square}, false})
		}
	}
}

// median of every seventh.
func median(values []float32) float32 {
	var some []float32
	for i := 0; i < len(values); i += 7 {
		some = append(some, values[i])
	}
	slices.Sort(some)
	return some[len(some)/2]
}

// segment is a straight run of edges, in px of the small copy's pixel centres.
type segment struct {
	from, to Point
	way      Point // its direction, of length 1
	length   float64
	weight   float64 // the sum of the roots of its edges' strengths
}

// maxSegments is how many, the weightiest ones, are put together.
const maxSegments = 220

// segments grows runs of edges that point the same way, the strongest first (as R. Grompone
// von Gioi and others, LSD: a fast line segment detector, IEEE PAMI 32 (2010), 722, do with
// all px), and fits a line to each.
func (s *small) segments() []segment {
	order := make([]int32, len(s.edges))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		if x, y := s.edges[a].strength, s.edges[b].strength; x != y {
			if x > y {
				return -1
			}
			return 1
		}
		return int(a - b)
	})
	var found []segment
	var run []int32
	for _, seed := range order {
		if s.edges[seed].used {
			continue
		}
		run = s.grow(seed, run[:0])
		if len(run) < 7 {
			continue
		}
		if g, ok := s.straight(run); ok {
			for _, k := range run {
				g.weight += math.Sqrt(float64(s.edges[k].strength))
			}
			found = append(found, g)
		}
	}
	return bridged(weightiest(joined(found)))
}

// grow gathers the edges that hang together with seed, point as they do on the mean, and
// from the first dozen on lie on their common line: so what crosses the line or leaves it at
// a narrow angle is left to other runs.
func (s *small) grow(seed int32, run []int32) []int32 {
	const agree = 0.77 // cosine of twice 20 degrees
	w := int32(s.width)
	sum := s.edges[seed].two
	s.edges[seed].used = true
	run = append(run, seed)
	var line running
	line.add(&s.edges[seed])
	for i := 0; i < len(run); i++ {
		e := &s.edges[run[i]]
		size := float32(math.Sqrt(float64(float32(sum[0]*sum[0]) + float32(sum[1]*sum[1]))))
		for dy := int32(-2); dy <= 2; dy++ {
			row := (e.y + dy) * w
			for dx := int32(-2); dx <= 2; dx++ {
				k := s.at[row+e.x+dx]
				if k < 0 || s.edges[k].used {
					continue
				}
				n := &s.edges[k]
				if float32(n.two[0]*sum[0])+float32(n.two[1]*sum[1]) < agree*size {
					continue
				}
				if (dx*dx > 1 || dy*dy > 1) && sideways(sum, size, dx, dy) {
					continue
				}
				if !line.near(n) {
					continue
				}
				n.used = true
				sum[0] += n.two[0]
				sum[1] += n.two[1]
				run = append(run, k)
				line.add(n)
			}
		}
	}
	return run
}

// running is a line fitted anew as its points come.
type running struct {
	n, next          float64
	x, y, xx, xy, yy float64
	middle, way      Point
}

func (l *running) add(e *edge) {
	x, y := float64(e.x), float64(e.y) // whole numbers: these sums are exact
	l.n++
	l.x, l.y = l.x+x, l.y+y
	l.xx, l.xy, l.yy = l.xx+float64(x*x), l.xy+float64(x*y), l.yy+float64(y*y)
	if l.n < 12 || l.n < l.next {
		return
	}
	l.next = 1.15 * l.n
	l.middle = Point{l.x / l.n, l.y / l.n}
	l.way = axis(l.xx-float64(l.n*sq(l.middle[0])), l.xy-float64(l.n*float64(l.middle[0]*l.middle[1])), l.yy-float64(l.n*sq(l.middle[1])))
}

func (l *running) near(e *edge) bool {
	return l.n < 12 || math.Abs(cross(l.way, minus(Point{float64(e.x), float64(e.y)}, l.middle))) < 1.6
}

// sideways tells whether a step leads more than 1.2 px across an edge whose change points
// along half the angle of sum: (d.n)^2 = (d^2 + d'(2a) d)/2.
func sideways(sum [2]float32, size float32, dx, dy int32) bool {
	x, y := float32(dx), float32(dy)
	c, d := sum[0]/size, sum[1]/size
	across := (float32(x*x) + float32(y*y) + float32(c*(float32(x*x)-float32(y*y))) + float32(2*float32(d*float32(x*y)))) / 2
	return across > 1.44
}

// straight fits a line to a run of edges, leaving out twice what bends away.
func (s *small) straight(run []int32) (segment, bool) {
	points := make([]Point, len(run))
	for i, k := range run {
		points[i] = Point{float64(s.edges[k].x), float64(s.edges[k].y)}
	}
	for pass := range 3 {
		middle, way, spread := lineThrough(points, nil)
		kept := points[:0]
		low, high := math.Inf(1), math.Inf(-1)
		for _, q := range points {
			d := minus(q, middle)
			if pass < 2 && math.Abs(cross(way, d)) > max(1, 2*spread) {
				continue
			}
			kept = append(kept, q)
			t := dot(way, d)
			low, high = min(low, t), max(high, t)
		}
		points = kept
		if len(points) < 7 {
			return segment{}, false
		}
		if pass == 2 {
			length := high - low
			good := spread < 0.8 && length >= 7 && float64(len(points)) > 0.5*length
			return segment{along(middle, way, low), along(middle, way, high), way, length, 0}, good
		}
	}
	return segment{}, false
}

// lineThrough is the line with the least squares of distances: a point of it, its way, and
// the root of the mean square. Weights may be nil.
func lineThrough(points []Point, weights []float64) (middle, way Point, spread float64) {
	weight := func(i int) float64 {
		if weights == nil {
			return 1
		}
		return weights[i]
	}
	n := 0.0
	for i, q := range points {
		w := weight(i)
		n += w
		middle[0] += float64(w * q[0])
		middle[1] += float64(w * q[1])
	}
	middle[0] /= n
	middle[1] /= n
	var xx, xy, yy float64
	for i, q := range points {
		d, w := minus(q, middle), weight(i)
		xx += float64(w * float64(d[0]*d[0]))
		xy += float64(w * float64(d[0]*d[1]))
		yy += float64(w * float64(d[1]*d[1]))
	}
	half := math.Sqrt(float64(sq(xx-yy)/4) + sq(xy))
	return middle, axis(xx, xy, yy), math.Sqrt(max(float64((xx+yy)/2)-half, 0) / n)
}

// axis is the direction in which points scatter most, of length 1.
func axis(xx, xy, yy float64) Point {
	large := float64((xx+yy)/2) + math.Sqrt(float64(sq(xx-yy)/4)+sq(xy))
	// Of two ways to write it, the one that is not nearly nought.
	way := Point{large - yy, xy}
	if other := (Point{xy, large - xx}); dot(other, other) > dot(way, way) {
		way = other
	}
	if l := size(way); l > 0 {
		return Point{way[0] / l, way[1] / l}
	}
	return Point{1, 0}
}

// joined puts segments of one line together where the gap between them is short.
func joined(all []segment) []segment {
	sortByWeight(all)
	if len(all) > 4*maxSegments {
		all = all[:4*maxSegments]
	}
	for again := true; again; {
		again = false
		for i := 0; i < len(all); i++ {
			for j := i + 1; j < len(all); j++ {
				if one, ok := join(all[i], all[j], shortGap); ok {
					all[i] = one
					all = slices.Delete(all, j, j+1)
					again = true
					j--
				}
			}
		}
	}
	return all
}

// shortGap is how far apart two parts of one segment may be; longGap how far two parts of a
// side, broken by a print or by a cloth of the card's own colour.
func shortGap(a, _ segment) float64 { return 3 + float64(0.15*min(a.length, 60)) }
func longGap(a, b segment) float64  { return 1.2 * (a.length + b.length) }

// maxBridged is how many segments with a long gap are tried beside their parts.
const maxBridged = 80

// bridged adds to the segments those that two of them make with a long gap between.
func bridged(all []segment) []segment {
	var more []segment
	for i, a := range all {
		for _, b := range all[i+1:] {
			if one, ok := join(a, b, longGap); ok && one.length > max(a.length, b.length)+4 {
				more = append(more, one)
			}
		}
	}
	sortByWeight(more)
	return append(all, more[:min(len(more), maxBridged)]...)
}

func join(a, b segment, most func(a, b segment) float64) (segment, bool) {
	if a.length < b.length {
		a, b = b, a
	}
	if math.Abs(cross(a.way, b.way)) > 0.06 {
		return a, false
	}
	s, t := dot(a.way, minus(b.from, a.from)), dot(a.way, minus(b.to, a.from))
	gap := max(min(s, t)-a.length, -max(s, t))
	if gap > most(a, b) {
		return a, false
	}
	for _, q := range []Point{b.from, b.to} {
		if math.Abs(cross(a.way, minus(q, a.from))) > 1.3 {
			return a, false
		}
	}
	low, high := min(0, s, t), max(a.length, s, t)
	// The longer one tells the line; the shorter adds to its length, turning it a little.
	ends := []Point{a.from, a.to, b.from, b.to}
	middle, way, _ := lineThrough(ends, []float64{a.length, a.length, b.length, b.length})
	if dot(way, a.way) < 0 {
		way = Point{-way[0], -way[1]}
	}
	shift := dot(way, minus(a.from, middle))
	return segment{along(middle, way, low+shift), along(middle, way, high+shift), way, high - low, a.weight + b.weight}, true
}

func weightiest(all []segment) []segment {
	sortByWeight(all)
	return all[:min(len(all), maxSegments)]
}

func sortByWeight(all []segment) {
	slices.SortStableFunc(all, func(a, b segment) int {
		switch {
		case a.weight > b.weight:
			return -1
		case a.weight < b.weight:
			return 1
		}
		return 0
	})
}
