package outline

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// MaxCrop is the longest side in px of a crop in which an edge is followed.
const MaxCrop = 1024

// SnapRequest asks for the path along an edge from one point to another.
type SnapRequest struct {
	// Image names a crop of the photo, at most MaxCrop px on a side.
	Image string `json:"image"`
	// Left is where the crop's left edge lies in the photo, in whole px.
	Left int `json:"left"`
	// Top is where its upper edge lies.
	Top int `json:"top"`
	// From is in the photo's px, and lies in the crop.
	From [2]float64 `json:"from"`
	// To is in the photo's px, and lies in the crop.
	To [2]float64 `json:"to"`
}

// SnapResponse is a path.
type SnapResponse struct {
	// Path runs from From to To, both included, in the photo's px, from pixel centre to pixel
	// centre; where it runs straight, only the ends of the stretch are given.
	Path [][2]float64 `json:"path"`
}

// Snap finds the way from one point to another that costs least, where a step costs less the
// stronger the edge it runs along (live-wire: Mortensen and Barrett, SIGGRAPH 1995, 191). It
// refuses with OutOfRange and with what the picture's source says.
func Snap(req SnapRequest, src raster.Source) (SnapResponse, error) {
	p, err := src.Pixels(req.Image)
	if err != nil {
		return SnapResponse{}, err
	}
	if p.Width > MaxCrop || p.Height > MaxCrop {
		return SnapResponse{}, fault.New(fault.OutOfRange, "image", "The crop is %d x %d px, and at most %d on a side are taken.", p.Width, p.Height, MaxCrop)
	}
	from, err := inCrop("from", req.From, req, p)
	if err != nil {
		return SnapResponse{}, err
	}
	to, err := inCrop("to", req.To, req, p)
	if err != nil {
		return SnapResponse{}, err
	}
	steps := newWire(p).follow(from, to)
	path := [][2]float64{req.From}
	for k := 1; k+1 < len(steps); k++ {
		if steps[k]-steps[k-1] == steps[k+1]-steps[k] {
			continue
		}
		i := steps[k]
		path = append(path, [2]float64{float64(req.Left+i%p.Width) + 0.5, float64(req.Top+i/p.Width) + 0.5})
	}
	return SnapResponse{append(path, req.To)}, nil
}

// inCrop gives the number of the pixel that a point of the photo lies in.
func inCrop(at string, point [2]float64, req SnapRequest, p *raster.Picture) (int, error) {
	x, y := point[0]-float64(req.Left), point[1]-float64(req.Top)
	if !(x >= 0 && y >= 0 && x <= float64(p.Width) && y <= float64(p.Height)) {
		return 0, fault.New(fault.OutOfRange, at, "%s lies outside the crop.", at)
	}
	return min(p.Height-1, int(y))*p.Width + min(p.Width-1, int(x)), nil
}

// wire is a crop ready to be followed: what it costs to enter each pixel.
type wire struct {
	w, h int
	cost []uint8
}

// The cost of a pixel: a path runs along an edge three times as long as across plain cloth
// rather than leave it, and never for nothing, so that it does not wander.
const (
	leastCost = 2
	mostCost  = 60
)

// newWire works the costs out: 1 less the strength of the edge over that of the strongest (all but a
// hundredth), squared so that a weak edge far from a strong one is still one. A pixel beside
// which, across the edge, a stronger one lies is no edge itself: that is where the
// second derivative passes zero, which Mortensen and Barrett look for apart.
func newWire(p *raster.Picture) *wire {
	w, h := p.Width, p.Height
	c := &wire{w, h, make([]uint8, w*h)}
	for i := range c.cost {
		c.cost[i] = mostCost
	}
	if w < 5 || h < 5 {
		return c
	}
	strength, level := slopes(p)
	top := max(24, strongest(strength))
	for y := 1; y < h-1; y++ {
		for x := 1; x < w-1; x++ {
			i := y*w + x
			s := strength[i]
			beside := 1
			switch level[i] {
			case 1:
				beside = w
			case 2:
				beside = w + 1
			case 3:
				beside = w - 1
			}
			if s == 0 {
				continue
			}
			if s < strength[i-beside] || s < strength[i+beside] {
				s /= 2
			}
			rest := max(0, top-int(s))
			c.cost[i] = uint8(leastCost + (mostCost-leastCost)*rest*rest/(top*top))
		}
	}
	return c
}

// slopes gives for each pixel how steeply its colour changes, and across which neighbours: 0 beside, 1
// above and below, 2 and 3 the diagonals. It is Sobel's pair of masks on the lightness or on the difference of
// red and blue, whichever changes more, after a blur over 3 x 3 px that takes the noise off.
func slopes(p *raster.Picture) (strength []int16, level []uint8) {
	w, h := p.Width, p.Height
	strength, level = make([]int16, w*h), make([]uint8, w*h)
	plane, line := make([]int16, w*h), make([]int16, w*h)
	for kind := range 2 {
		for i := range plane {
			px := p.Pix[4*i : 4*i+3 : 4*i+3]
			if kind == 0 {
				plane[i] = int16(px[0]) + 2*int16(px[1]) + int16(px[2])
			} else {
				plane[i] = 2 * (int16(px[0]) - int16(px[2]))
			}
		}
		blur3(plane, line, w, h)
		sobel(plane, w, h, strength, level)
	}
	return strength, level
}

// sobel keeps, of a plane and what was kept before, the steeper.
func sobel(plane []int16, w, h int, strength []int16, level []uint8) {
	for y := 1; y < h-1; y++ {
		up, mid, low := plane[(y-1)*w:y*w], plane[y*w:(y+1)*w], plane[(y+1)*w:(y+2)*w]
		for x := 1; x < w-1; x++ {
			gx := int(up[x+1]-up[x-1]) + 2*int(mid[x+1]-mid[x-1]) + int(low[x+1]-low[x-1])
			gy := int(low[x-1]-up[x-1]) + 2*int(low[x]-up[x]) + int(low[x+1]-up[x+1])
			ax, ay := abs(gx), abs(gy)
			// The length of (gx,gy) to within 4 %, without a root.
			long := int16((max(ax, ay)*61 + min(ax, ay)*25) >> 11)
			i := y*w + x
			if long < noSlope || long <= strength[i] {
				continue
			}
			strength[i] = long
			switch {
			case ay*5 < ax*2:
				level[i] = 0
			case ax*5 < ay*2:
				level[i] = 1
			case (gx > 0) == (gy > 0):
				level[i] = 2
			default:
				level[i] = 3
			}
		}
	}
}

// noSlope is how strong an edge has to be at least to be one: what is less is grain, and takes its time.
const noSlope = 5

// blur3 makes of a plane 16 times its blur by the binomials 1 2 1 both ways.
func blur3(plane, line []int16, w, h int) {
	for y := range h {
		row, out := plane[y*w:(y+1)*w], line[y*w:(y+1)*w]
		for x := range row {
			out[x] = row[max(0, x-1)] + 2*row[x] + row[min(w-1, x+1)]
		}
	}
	for y := range h {
		up, mid, low := line[max(0, y-1)*w:], line[y*w:(y+1)*w], line[min(h-1, y+1)*w:]
		out := plane[y*w : (y+1)*w]
		for x, v := range mid {
			out[x] = up[x] + 2*v + low[x]
		}
	}
}

// strongest is the strength that one pixel in a hundred exceeds.
func strongest(strength []int16) int {
	var hist [2048]int
	for _, s := range strength {
		hist[min(2047, s)]++
	}
	left := len(strength) / 100
	for s := 2047; s > 0; s-- {
		if left -= hist[s]; left <= 0 {
			return s
		}
	}
	return 0
}

// follow gives the pixels of the cheapest way, ends included, by Dijkstra's algorithm (Numerische
// Mathematik 1 (1959), 269) with a ring of buckets (Dial, CACM 12 (1969), 632). A step to
// the side costs 5 times the pixel's cost, one across a corner 7 times.
func (c *wire) follow(from, to int) []int {
	const ring = 512 // more than the dearest step
	var first [ring]int32
	for i := range first {
		first[i] = -1
	}
	n := len(c.cost)
	waiting := make([]waits, 1, 2*n+16)
	waiting[0] = waits{int32(from), -1}
	first[0] = 0
	far := make([]int32, n)
	back := make([]int8, n)
	for i := range far {
		far[i] = math.MaxInt32
	}
	far[from] = 0
	turn := [8]int{-1, 1, -c.w, c.w, -c.w - 1, -c.w + 1, c.w - 1, c.w + 1}
	for d, idle := int32(0), 0; idle < ring; d++ {
		idle++
		for first[d%ring] >= 0 {
			at := waiting[first[d%ring]]
			first[d%ring] = at.next
			idle = 0
			i := int(at.pixel)
			if far[i] != d {
				continue // it was reached at less cost
			}
			if i == to {
				return c.wayBack(from, to, back, turn)
			}
			x, y := i%c.w, i/c.w
			inner := x > 0 && y > 0 && x < c.w-1 && y < c.h-1
			for t, step := range turn {
				if !inner && !c.inside(x, y, t) {
					continue
				}
				j := i + step
				long := int32(5)
				if t >= 4 {
					long = 7
				}
				if e := d + long*int32(c.cost[j]); e < far[j] {
					far[j], back[j] = e, int8(t)
					waiting = append(waiting, waits{int32(j), first[e%ring]})
					first[e%ring] = int32(len(waiting) - 1)
				}
			}
		}
	}
	return []int{from, to}
}

// waits is a pixel in a bucket, and the one that waits behind it.
type waits struct{ pixel, next int32 }

// inside tells whether the neighbour in a direction of follow lies in the crop.
func (c *wire) inside(x, y, t int) bool {
	dx := [8]int{-1, 1, 0, 0, -1, 1, -1, 1}[t]
	dy := [8]int{0, 0, -1, 1, -1, -1, 1, 1}[t]
	return x+dx >= 0 && y+dy >= 0 && x+dx < c.w && y+dy < c.h
}

func (c *wire) wayBack(from, to int, back []int8, turn [8]int) []int {
	var way []int
	for i := to; i != from; i -= turn[back[i]] {
		way = append(way, i)
	}
	way = append(way, from)
	for a, b := 0, len(way)-1; a < b; a, b = a+1, b-1 {
		way[a], way[b] = way[b], way[a]
	}
	return way
}
