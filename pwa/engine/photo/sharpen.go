package photo

import (
	"math"
	"slices"

	"needlesight/pwa/engine/raster"
)

// sharpen fits lines to the four sides at the picture's full resolution and judges what
// comes out; its score is the confidence.
func sharpen(pic *raster.Picture, corners []Point, want target, with effort, reach float64) (quad, bool) {
	var sides [4]sideFit
	for range with.passes {
		for i, a := range corners {
			b := corners[(i+1)%4]
			clear := 0.06
			if want.radius > 0 {
				clear = want.radius/sideMM(want, i) + 0.02
			}
			var ok bool
			if sides[i], ok = fitSide(pic, a, b, clear, reach, with); !ok {
				return quad{}, false
			}
		}
		next := make([]Point, 4)
		for i := range corners {
			p, ok := meet(sides[(i+3)%4], sides[i])
			if !ok {
				return quad{}, false
			}
			next[i] = p
		}
		corners, reach = next, 3
	}
	if !convex(corners) || !inside(pic, corners) {
		return quad{}, false
	}
	return quad{corners: corners, score: confidence(pic, corners, sides, want)}, true
}

func sideMM(want target, i int) float64 {
	if i%2 == 0 {
		return want.long
	}
	return want.short
}

// inside tells whether all corners lie in the picture.
func inside(pic *raster.Picture, corners []Point) bool {
	for _, c := range corners {
		if c[0] < -1 || c[1] < -1 || c[0] > float64(pic.Width)+1 || c[1] > float64(pic.Height)+1 {
			return false
		}
	}
	return true
}

func convex(c []Point) bool {
	for i := range c {
		if !(turn(c[i], c[(i+1)%4], c[(i+2)%4]) > 1) {
			return false
		}
	}
	return true
}

// sideFit is a line fitted to one side.
type sideFit struct {
	middle, way Point
	spread      float64 // px, of what was kept
	kept        float64 // the share of places along the side at which the edge lies on the line
	contrast    float64 // levels a px across the edge
	beside      float64 // the same a little off the line: the cloth's and the card's own pattern
}

// perPX is how many places of a profile are read in each px.
const perPX = 2

// effort is at how many places along a side the edge is sought, how many lines are averaged
// at each, and how often all is done again from what was found.
type effort struct{ leastBins, mostBins, lines, passes int }

var (
	quick   = effort{12, 18, 2, 1}
	careful = effort{16, 48, 4, 2}
)

// profile is how much the colour changes across the side at one place, every half px.
type profile struct {
	at     Point
	change []float64
}

// fitSide finds the line near a to b that most places agree on, then fits it to the peaks
// next to it by total least squares with J. Tukey's weights, so that what is off does not pull.
func fitSide(pic *raster.Picture, a, b Point, clear, reach float64, with effort) (sideFit, bool) {
	way := minus(b, a)
	length := size(way)
	if length < 8 {
		return sideFit{}, false
	}
	u := Point{way[0] / length, way[1] / length}
	n := Point{-u[1], u[0]}
	bins := min(max(int(length/5), with.leastBins), with.mostBins)
	profiles := make([]profile, bins)
	for i := range profiles {
		t0 := clear + (1-float64(2*clear))*float64(i)/float64(bins)
		t1 := clear + (1-float64(2*clear))*float64(i+1)/float64(bins)
		profiles[i] = readProfile(pic, a, way, n, t0, t1, reach, with.lines)
	}
	first, last := agreed(profiles, reach)
	points := make([]Point, 0, bins)
	heights := make([]float64, 0, bins)
	contrast, beside := 0.0, 0.0
	for i, p := range profiles {
		line := first + (last-first)*float64(i)/float64(bins-1)
		d, height := peak(p.change, (line+reach)*perPX)
		contrast += height / float64(bins)
		beside += typical(p.change) / float64(bins)
		if height > 0 {
			points = append(points, along(p.at, n, float64(d/perPX)-reach))
			heights = append(heights, height)
		}
	}
	if len(points) < bins/2 {
		return sideFit{}, false
	}
	f := fitLine(points, heights)
	f.kept *= float64(len(points)) / float64(bins)
	f.contrast, f.beside = contrast, beside
	return f, true
}

// readProfile averages along the side from part t0 to part t1 of it, so that noise and weave
// count less, and gives the change of colour across it.
func readProfile(pic *raster.Picture, a, way, n Point, t0, t1, reach float64, lines int) profile {
	half := int(math.Ceil(reach*perPX)) + perPX
	colours := make([][3]float64, 2*half+1)
	for k := range lines {
		t := t0 + (t1-t0)*(float64(k)+0.5)/float64(lines)
		base := along(a, way, t)
		for i := range colours {
			c := colourAt(pic, along(base, n, float64(i-half)/perPX))
			for ch := range c {
				colours[i][ch] += c[ch] / float64(lines)
			}
		}
	}
	p := profile{at: along(a, way, (t0+t1)/2), change: make([]float64, 2*half+1-2*perPX)}
	for i := range p.change { // over 2 px
		sum := 0.0
		for ch := range 3 {
			sum += sq(colours[i+2*perPX][ch] - colours[i][ch])
		}
		p.change[i] = math.Sqrt(sum) / 2
	}
	return p
}

// colourAt is the colour at a point between px, by how near each of four is.
func colourAt(pic *raster.Picture, p Point) (c [3]float64) {
	x, y := p[0]-0.5, p[1]-0.5
	fx, fy := math.Floor(x), math.Floor(y)
	wx, wy := x-fx, y-fy
	x0, y0 := clamp(int(fx), pic.Width), clamp(int(fy), pic.Height)
	x1, y1 := clamp(int(fx)+1, pic.Width), clamp(int(fy)+1, pic.Height)
	a, b := 4*(y0*pic.Width+x0), 4*(y0*pic.Width+x1)
	d, e := 4*(y1*pic.Width+x0), 4*(y1*pic.Width+x1)
	for ch := range c {
		top := float64(pic.Pix[a+ch]) + float64(wx*(float64(pic.Pix[b+ch])-float64(pic.Pix[a+ch])))
		low := float64(pic.Pix[d+ch]) + float64(wx*(float64(pic.Pix[e+ch])-float64(pic.Pix[d+ch])))
		c[ch] = top + float64(wy*(low-top))
	}
	return c
}

func clamp(i, n int) int { return min(max(i, 0), n-1) }

// agreed is the line, by its distance from the side's first and last place, along which the
// profiles change most. What one place adds is limited, so that no print decides alone.
func agreed(profiles []profile, reach float64) (first, last float64) {
	var highest []float64
	for _, p := range profiles {
		highest = append(highest, slices.Max(p.change))
	}
	slices.Sort(highest)
	limit := highest[len(highest)/2]
	step := 0.5
	if reach > 6 {
		step = 1
	}
	most := -1.0
	for d0 := -reach; d0 <= reach; d0 += step {
		for d1 := -reach; d1 <= reach; d1 += step {
			sum := 0.0
			for i, p := range profiles {
				d := d0 + (d1-d0)*float64(i)/float64(len(profiles)-1)
				k := int(math.Floor(float64((d+reach)*perPX) + 0.5))
				if k >= 0 && k < len(p.change) {
					sum += min(p.change[k], limit)
				}
			}
			sum *= 1 - 0.02*(math.Abs(d0)+math.Abs(d1))/reach
			if sum > most {
				most, first, last = sum, d0, d1
			}
		}
	}
	return first, last
}

// peak is the top of a profile within 1.5 px of where it is expected, between the places
// read by the parabola through three; height 0 when there is none.
func peak(change []float64, expected float64) (at, height float64) {
	best := -1
	for i := max(1, int(expected-1.5*perPX)); i <= min(len(change)-2, int(expected+1.5*perPX)+1); i++ {
		if change[i] >= change[i-1] && change[i] > change[i+1] && (best < 0 || change[i] > change[best]) {
			best = i
		}
	}
	if best < 0 {
		return 0, 0
	}
	l, m, r := change[best-1], change[best], change[best+1]
	return float64(best) + (l-r)/(2*(l-float64(2*m)+r)), m
}

func typical(change []float64) float64 {
	sorted := slices.Clone(change)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}

// fitLine is total least squares, weighted anew five times (J. Tukey's biweight, Mosteller
// and Tukey 1977). Weak peaks count less.
func fitLine(points []Point, heights []float64) sideFit {
	sorted := slices.Clone(heights)
	slices.Sort(sorted)
	usual := sorted[len(sorted)/2]
	weights := make([]float64, len(points))
	for i, h := range heights {
		weights[i] = min(h/usual, 1)
	}
	middle, way, spread := lineThrough(points, weights)
	off := make([]float64, len(points))
	for range 6 {
		for i, p := range points {
			off[i] = math.Abs(cross(way, minus(p, middle)))
		}
		sorted := slices.Clone(off)
		slices.Sort(sorted)
		wide := 4.7 * max(1.48*sorted[len(sorted)/2], 0.08) // 4.685 robust standard deviations
		for i := range weights {
			weights[i] = 0
			if x := off[i] / wide; x < 1 {
				weights[i] = float64(min(heights[i]/usual, 1) * sq(1-float64(x*x)))
			}
		}
		middle, way, spread = lineThrough(points, weights)
	}
	kept := 0.0
	for i, p := range points {
		if math.Abs(cross(way, minus(p, middle))) < 1 && heights[i] > 0.25*usual {
			kept += 1 / float64(len(points))
		}
	}
	return sideFit{middle: middle, way: way, spread: spread, kept: kept}
}

// meet is where two lines cross.
func meet(a, b sideFit) (Point, bool) {
	k := cross(a.way, b.way)
	if math.Abs(k) < 0.3 {
		return Point{}, false
	}
	return along(a.middle, a.way, cross(minus(b.middle, a.middle), b.way)/k), true
}

// confidence judges four corners and the lines that made them: edges all along each side and
// above what is beside them, the shape of the rectangle, and its rounded corners where it
// has them.
func confidence(pic *raster.Picture, corners []Point, sides [4]sideFit, want target) float64 {
	kept, least, clear := 1., 1., 1.
	for _, f := range sides {
		kept *= f.kept
		least = min(least, f.kept)
		clear = min(clear, f.contrast/(f.contrast+f.beside+1))
	}
	short := min(distance(corners[0], corners[1]), distance(corners[1], corners[2]))
	off := shapeOff(corners, want, float64(pic.Width), float64(pic.Height))
	allowed := 0.008 + 1.5/short
	score := math.Sqrt(math.Sqrt(kept)) * ramp(least, 0.3, 0.8) * ramp(clear, 0.35, 0.65) / (1 + float64(sq(off/allowed)/4))
	if want.radius > 0 {
		score *= 0.55 + float64(0.45*rounded(pic, corners, want))
	}
	return score
}

// ramp rises from 0 at low to 1 at high.
func ramp(x, low, high float64) float64 { return min(max((x-low)/(high-low), 0), 1) }

// rounded tells how rounded the corners are, 0 to 1: whether at the tip of each, where
// rounding leaves cloth, the colour is the cloth's just outside or the card's just inside. A
// corner without a difference of colour between these counts as none, and where px are too
// few to tell, most is believed.
func rounded(pic *raster.Picture, corners []Point, want target) float64 {
	m := ontoQuad(corners)
	pxPerMM := distance(corners[0], corners[1]) / want.long
	if want.radius*pxPerMM < 3.5 {
		return 0.7
	}
	sum := 0.0
	for i := range 4 {
		at := func(mm float64) [3]float64 { // along the diagonal of the corner, mm from either side
			x, y := mm/want.long, mm/want.short
			if i == 1 || i == 2 {
				x = 1 - x
			}
			if i >= 2 {
				y = 1 - y
			}
			return colourAt(pic, m.Apply(Point{x, y}))
		}
		// The arc crosses the diagonal at 0.293 radii from each side.
		outside, tip, inside := at(-1.5/pxPerMM-0.2), at(0.12*want.radius), at(float64(0.29*want.radius)+2/pxPerMM)
		step, to := 0.0, 0.0
		for ch := range 3 {
			step += sq(inside[ch] - outside[ch])
			to += float64((inside[ch] - outside[ch]) * (tip[ch] - outside[ch]))
		}
		if step > leastStep*leastStep {
			sum += float64((1 - ramp(to/step, 0.2, 0.8)) / 4)
		}
	}
	return sum
}

// leastStep is how many levels cloth and card must differ by at a corner.
const leastStep = 8
