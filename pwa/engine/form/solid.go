// Package form is the simple solids that an animal is built of, and the solid that its
// outlines enclose. Lengths are mm, volumes mm3.
package form

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

// Limits of a request.
const (
	// MaxRings and MaxPoints bound the rings of one view and their points in all.
	MaxRings, MaxPoints = 200, 20000
	// MaxApart is by how much the height of an outline may differ from the height given:
	// so far it is scaled to it, beyond that it is refused.
	MaxApart = 0.1
	// MaxLong is how many times longer or wider than high an animal may be.
	MaxLong = 12
)

const (
	// legs is how many things an animal has side by side at most in one slice: two runs in
	// front and four from the side are its four legs in a walk, not eight.
	legs = 4
	// deeper is by how much one slice may be deeper, against its width, than the animal's
	// usual slice. A tail or a neck seen with the flank behind it is no deeper than wide.
	deeper = 1.15
)

// OutlinesRequest is two or three outlines of one animal at one height.
type OutlinesRequest struct {
	// HeightMM is how high it stands, more than 0.
	HeightMM float64 `json:"height_mm"`
	// Front is the outline from the front in mm: x to the animal's left, y up.
	Front []outline.Ring `json:"front"`
	// Side is the outline from the side in mm: x forward, y up.
	Side []outline.Ring `json:"side"`
	// Top is the outline from above in mm: x forward, y to the animal's left. It may be
	// left out.
	Top []outline.Ring `json:"top,omitempty"`
}

// OutlinesResponse is the solid that the outlines enclose.
type OutlinesResponse struct {
	// VolumeMM3 is the best estimate.
	VolumeMM3 float64 `json:"volume_mm3"`
	// LowMM3 and HighMM3 are between which the volume lies for nine animals in ten; see
	// MATHS.md for what that rests on.
	LowMM3 float64 `json:"low_mm3"`
	// HighMM3 is the upper end of that range.
	HighMM3 float64 `json:"high_mm3"`
	// Notes say in a sentence each what a person should know.
	Notes []string `json:"notes"`
}

// FromOutlines estimates the volume of an animal from its outlines: slice by slice, the
// runs of the front times the runs of the side, rounded as the outlines are blown up with
// the balls that fit into them. Errors: OutOfRange, TooFew, TooMany, and CrossesItself
// where an outline crosses itself or another.
func FromOutlines(req OutlinesRequest) (OutlinesResponse, error) {
	if err := fault.Positive("height_mm", req.HeightMM); err != nil {
		return OutlinesResponse{}, err
	}
	told := notes{}
	front, err := told.upright("front", req.Front, req.HeightMM)
	if err != nil {
		return OutlinesResponse{}, err
	}
	side, err := told.upright("side", req.Side, req.HeightMM)
	if err != nil {
		return OutlinesResponse{}, err
	}
	plan, err := told.plan(req.Top, req.HeightMM, front, side)
	if err != nil {
		return OutlinesResponse{}, err
	}
	cell := req.HeightMM / rows
	volume := float64(cell*cell) * cell * cells(front, side, plan)
	even := front.even()
	if even < askew {
		told.add("From the front the two sides differ: turned or in a walk, an animal looks bulkier than it is, so the true volume may well be less.")
	}
	low, high := doubt(even, plan != nil)
	return OutlinesResponse{volume, volume * low, volume * high, told}, nil
}

// notes are sentences for a person.
type notes []string

func (n *notes) add(sentence string) { *n = append(*n, sentence) }

// upright checks the outline of one side and lays it on the grid, its feet on the ground.
func (n *notes) upright(at string, rings []outline.Ring, height float64) (*view, error) {
	if err := check(at, rings); err != nil {
		return nil, err
	}
	low, high, _ := outline.Bounds(rings)
	tall := high[1] - low[1]
	if apart := tall/height - 1; math.Abs(apart) > MaxApart {
		return nil, fault.New(fault.OutOfRange, at, "The outline %s is %.4g mm high, and the height given is %.4g mm: front and side must be of one animal at one height.", at, tall, height)
	} else if math.Abs(apart) > 0.01 {
		n.add("The " + at + " outline was not quite of the height given; it was scaled to it.")
	}
	if high[0]-low[0] > MaxLong*tall {
		return nil, fault.New(fault.OutOfRange, at, "The outline %s is %.4g mm wide and %.4g mm high; at most %d times as wide as high is worked out.", at, high[0]-low[0], tall, MaxLong)
	}
	return rasterise(rings, grid{cell: tall / rows, left: low[0], low: low[1], cols: columns(high[0]-low[0], tall/rows), rows: rows}), nil
}

// check refuses what is no outline.
func check(at string, rings []outline.Ring) error {
	points := 0
	for _, ring := range rings {
		points += len(ring)
		for _, p := range ring {
			if !(math.Abs(p[0]) <= fault.MaxValue && math.Abs(p[1]) <= fault.MaxValue) {
				return fault.New(fault.OutOfRange, at, "%s has a point at %v, %v; a coordinate is at most %s mm.", at, p[0], p[1], fault.Number(fault.MaxValue))
			}
		}
	}
	switch {
	case len(rings) > MaxRings:
		return fault.New(fault.TooMany, at, "%s has %d rings; at most %d are taken.", at, len(rings), MaxRings)
	case points > MaxPoints:
		return fault.New(fault.TooMany, at, "%s has %d points; at most %d are taken.", at, points, MaxPoints)
	case outline.Area(rings) <= 0:
		return fault.New(fault.TooFew, at, "%s encloses nothing: an outline of at least three points is needed there.", at)
	}
	for _, c := range outline.Crossings(rings) {
		if through(rings, c) {
			return fault.New(fault.CrossesItself, at, "%s crosses itself near %.4g, %.4g; what is inside cannot be told there.", at, c.At[0], c.At[1])
		}
	}
	return nil
}

// through tells whether two edges cross from one side to the other, rather than touch.
func through(rings []outline.Ring, c outline.Crossing) bool {
	a, b := edgeOf(rings, c, 0)
	p, q := edgeOf(rings, c, 1)
	return turn(a, b, p)*turn(a, b, q) < 0 && turn(p, q, a)*turn(p, q, b) < 0
}

func edgeOf(rings []outline.Ring, c outline.Crossing, which int) (a, b [2]float64) {
	ring := rings[c.Rings[which]]
	return ring[c.Edges[which]], ring[(c.Edges[which]+1)%len(ring)]
}

// turn is above 0 when p lies to the left of the way from a to b.
func turn(a, b, p [2]float64) float64 {
	return float64((b[0]-a[0])*(p[1]-a[1])) - float64((b[1]-a[1])*(p[0]-a[0]))
}

// plan lays the outline from above on the grid, scaled to the length of the side and the
// width of the front; nil where there is none.
func (n *notes) plan(rings []outline.Ring, height float64, front, side *view) (*sums, error) {
	if len(rings) == 0 {
		return nil, nil
	}
	if err := check("top", rings); err != nil {
		return nil, err
	}
	low, high, _ := outline.Bounds(rings)
	cell := height / rows
	long, wide := (high[0]-low[0])/cell, (high[1]-low[1])/cell
	if math.Abs(long/side.width-1) > MaxApart || math.Abs(wide/front.width-1) > MaxApart {
		n.add("The outline from above is not as long as the side or as wide as the front, so it was left out.")
		return nil, nil
	}
	return sum(rings, low, [2]float64{(high[0] - low[0]) / side.width, (high[1] - low[1]) / front.width}, columns(side.width, 1), columns(front.width, 1)), nil
}

// cells is the volume in cells.
func cells(front, side *view, plan *sums) float64 {
	type row struct{ volume, ratio float64 }
	var all []row
	var ratios [][2]float64
	for i := range rows {
		f, s := front.slice(i), side.slice(i)
		if f.most == 0 || s.most == 0 {
			continue
		}
		volume := f.width * s.width * f.full * s.full * 4 / math.Pi
		if plan != nil {
			volume = min(volume, plan.under(side.runs[i], front.runs[i]))
		}
		volume *= min(1, legs/float64(len(front.runs[i])*len(side.runs[i])))
		ratio := s.longest / (2 * f.most)
		all = append(all, row{volume, ratio})
		ratios = append(ratios, [2]float64{ratio, f.width * s.width})
	}
	most := deeper * weightedMedian(ratios)
	volume := 0.0
	for _, r := range all {
		volume += float64(r.volume * min(1, most/r.ratio))
	}
	return volume
}

// askew is the evenness below which an animal is taken to be turned or in a walk.
const askew = 0.85

// even is the share of the front that its own mirror image covers, from 0 to 1.
func (v *view) even() float64 {
	both, all := 0, 0
	middle := 0.0
	for i := range rows {
		v.inside(i, func(col int) { middle, all = middle+float64(col), all+1 })
	}
	mirror := int(math.Round(2 * middle / float64(max(1, all))))
	for i := range rows {
		v.inside(i, func(col int) {
			if other := mirror - col; other >= 0 && other < v.cols && v.half[i*v.cols+other] > 0 {
				both++
			}
		})
	}
	return float64(both) / float64(max(1, all))
}
