package form

import (
	"cmp"
	"math"
	"slices"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

// What a form stands for.
const (
	Body, Head, Neck, Leg, Tail, OtherPart = "body", "head", "neck", "leg", "tail", "other"
)

const (
	// trunkShare is how thick, against its thickest place, the trunk of an animal is at least.
	trunkShare = 0.6
	// smallest is the least area of a limb as a share of the whole outline.
	smallest = 0.004
	// sliver is how long a limb is at least, against its width: less is a bulge of the trunk.
	sliver = 0.8
	// MaxProposed is the most forms that are proposed.
	MaxProposed = 14
)

// BreakdownRequest asks for a first breakdown of an animal into forms.
type BreakdownRequest struct {
	// HeightMM is how high it stands.
	HeightMM float64 `json:"height_mm"`
	// Side is its outline from the side in mm: x forward, y up.
	Side []outline.Ring `json:"side"`
	// Front is its outline from the front in mm: x to its left, y up. It may be left out:
	// then every form is as deep as it is thick.
	Front []outline.Ring `json:"front,omitempty"`
	// Parts are its measured parts; a form whose size agrees with one of them is bound to
	// it.
	Parts []Part `json:"parts,omitempty"`
}

// Part is a measured part at the finished size.
type Part struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// MM is its length.
	MM float64 `json:"mm"`
	// Axis is length or width.
	Axis string `json:"axis,omitempty"`
}

// BreakdownResponse is a first breakdown.
type BreakdownResponse struct {
	// Forms are the largest first.
	Forms []Proposed `json:"forms"`
	// Covered is the area that the forms as placed share with the outline from the side,
	// over the area of both together.
	Covered float64 `json:"covered"`
	Notes   []Note  `json:"notes"`
}

// Proposed is a form that is proposed.
type Proposed struct {
	// StandsFor is body, head, neck, leg, tail or other.
	StandsFor string `json:"stands_for"`
	Shape     Shape  `json:"shape"`
	// Count is how many there are of it; Mirrored, that they lie left and right.
	Count    int  `json:"count"`
	Mirrored bool `json:"mirrored"`
	// Side is where it lies in the outline from the side.
	Side Placed `json:"side"`
	// Front is where its middle lies from the front, for each of its count that is seen
	// there; null without that outline.
	Front [][2]float64 `json:"front"`
	// Binds are the parts that its sizes agree with, by the name of the size.
	Binds []Bind `json:"binds"`
}

// Placed is where a form lies: its root, and how far its axis is turned from x, in
// radians, anticlockwise with y up.
type Placed struct {
	// At is x and y of its root in mm.
	At [2]float64 `json:"at"`
	// TurnRad is from -pi to pi.
	TurnRad float64 `json:"turn_rad"`
}

// Bind is a size of a form that is a part's.
type Bind struct {
	Size string `json:"size"`
	Part string `json:"part"`
}

// NoteNoFront says that nothing is known of how deep the forms are.
const NoteNoFront = "no-front"

// Breakdown proposes forms for an animal: the trunk is what a disc of 0.6 of its thickest
// radius can reach into, everything that stands out from it is a limb with an axis of its
// own, and a thick end on a thin neck is a head. Errors as FromOutlines.
func Breakdown(req BreakdownRequest) (BreakdownResponse, error) {
	if err := fault.Positive("height_mm", req.HeightMM); err != nil {
		return BreakdownResponse{}, err
	}
	told := notes{}
	side, err := told.upright("side", req.Side, req.HeightMM)
	if err != nil {
		return BreakdownResponse{}, err
	}
	b := &breakdown{cell: req.HeightMM / rows, side: side, out: BreakdownResponse{Notes: []Note{}}}
	b.low, _, _ = outline.Bounds(req.Side)
	if len(req.Front) > 0 {
		if b.front, err = told.upright("front", req.Front, req.HeightMM); err != nil {
			return BreakdownResponse{}, err
		}
	} else {
		b.out.Notes = append(b.out.Notes, Note{NoteNoFront, "Without a front view each form is taken to be as deep as it is thick."})
	}
	b.propose()
	for i := range b.out.Forms {
		b.out.Forms[i].Binds = binds(b.out.Forms[i], req.Parts)
	}
	b.out.Covered = b.covered(req.Side)
	return b.out, nil
}

// breakdown is the work on one animal; lengths in it are in cells.
type breakdown struct {
	cell        float64
	low         [2]float64
	side, front *view
	out         BreakdownResponse
}

// at is a cell's middle in mm.
func (b *breakdown) at(col, row float64) [2]float64 {
	return [2]float64{b.low[0] + float64(b.cell*(col-1+0.5)), b.low[1] + float64(b.cell*(row+0.5))}
}

func (b *breakdown) propose() {
	trunk := b.trunk()
	b.add(b.body(trunk))
	limbs := b.side.parts(func(i int) bool { return b.side.half[i] > 0 && !trunk[i] })
	all := b.side.count(func(i int) bool { return b.side.half[i] > 0 })
	slices.SortStableFunc(limbs, func(a, c []int) int { return cmp.Compare(len(c), len(a)) })
	var found []limb
	for _, cells := range limbs {
		if float64(len(cells)) >= smallest*float64(all) && len(found) < MaxProposed-3 {
			if l := b.limb(cells, trunk); l.length > sliver*l.middle(0.2, 1) {
				found = append(found, l)
			}
		}
	}
	b.name(found)
	for _, l := range found {
		for _, p := range b.forms(l) {
			b.add(p)
		}
	}
}

func (b *breakdown) add(p Proposed) {
	if p.Shape.check("") == nil {
		b.out.Forms = append(b.out.Forms, p)
	}
}

// trunk marks the cells that a large disc inside the outline reaches into.
func (b *breakdown) trunk() []bool {
	v := b.side
	thickest := 0.0
	for _, half := range v.half {
		thickest = max(thickest, half)
	}
	least := trunkShare * thickest
	reach := make([]float64, len(v.half)) // squared distance to the middle of such a disc, less its radius squared
	far := float64(rows*rows + v.cols*v.cols)
	for i := range reach {
		reach[i] = far
		if v.disc[i] >= least {
			reach[i] = -v.disc[i] * v.disc[i]
		}
	}
	e := newEnvelope(max(rows, v.cols))
	for row := range rows {
		e.along(reach[row*v.cols:], v.cols, 1)
	}
	for col := range v.cols {
		e.along(reach[col:], rows, v.cols)
	}
	trunk := make([]bool, len(reach))
	for i := range trunk {
		trunk[i] = v.half[i] > 0 && reach[i] <= 0
	}
	// Of several thick places the largest is the trunk: a thick head is a limb.
	pieces := v.parts(func(i int) bool { return trunk[i] })
	slices.SortStableFunc(pieces, func(a, c []int) int { return cmp.Compare(len(c), len(a)) })
	clear(trunk)
	for _, i := range pieces[0] {
		trunk[i] = true
	}
	return trunk
}

// count counts cells.
func (v *view) count(which func(i int) bool) int {
	n := 0
	for i := range v.half {
		if which(i) {
			n++
		}
	}
	return n
}

// parts are the connected sets of cells of which which is true; neighbours share a side.
func (v *view) parts(which func(i int) bool) [][]int {
	seen := make([]bool, len(v.half))
	var all [][]int
	for start := range v.half {
		if seen[start] || !which(start) {
			continue
		}
		seen[start] = true
		part := []int{start}
		for k := 0; k < len(part); k++ {
			v.beside(part[k], func(i int) {
				if !seen[i] && which(i) {
					seen[i] = true
					part = append(part, i)
				}
			})
		}
		all = append(all, part)
	}
	return all
}

// beside visits the cells that share a side with a cell.
func (v *view) beside(i int, visit func(i int)) {
	if col := i % v.cols; col > 0 {
		visit(i - 1)
		if col < v.cols-1 {
			visit(i + 1)
		}
	} else if v.cols > 1 {
		visit(i + 1)
	}
	if i >= v.cols {
		visit(i - v.cols)
	}
	if i+v.cols < len(v.half) {
		visit(i + v.cols)
	}
}

// body is the egg with the moments of the trunk.
func (b *breakdown) body(trunk []bool) Proposed {
	var cells []int
	for i, in := range trunk {
		if in {
			cells = append(cells, i)
		}
	}
	m := b.moments(cells)
	egg := Shape{Kind: Egg, LengthMM: 4 * m.long * b.cell, WidthMM: 4 * m.wide * b.cell}
	egg.DepthMM = b.depth(m.row, 2*m.wide, egg.WidthMM)
	p := Proposed{StandsFor: Body, Shape: egg, Count: 1, Side: b.placed(m, egg.LengthMM)}
	p.Front = b.middles(m.row, 1)
	return p
}

// moments are the middle of cells, their axis, and the standard deviation along and across
// it: a quarter of the axes of the ellipse of the same moments.
type moments struct{ col, row, turn, long, wide float64 }

func (b *breakdown) moments(cells []int) moments {
	var m moments
	n := float64(len(cells))
	for _, i := range cells {
		m.col, m.row = m.col+float64(i%b.side.cols)/n, m.row+float64(i/b.side.cols)/n
	}
	var xx, yy, xy float64
	for _, i := range cells {
		x, y := float64(i%b.side.cols)-m.col, float64(i/b.side.cols)-m.row
		xx, yy, xy = xx+float64(x*x)/n, yy+float64(y*y)/n, xy+float64(x*y)/n
	}
	m.turn = math.Atan2(2*xy, xx-yy) / 2
	mean, half := float64((xx+yy)/2), math.Hypot((xx-yy)/2, xy)
	m.long, m.wide = math.Sqrt(mean+half), math.Sqrt(max(0, mean-half))
	return m
}

// placed puts an axis of a length with its middle on the moments'.
func (b *breakdown) placed(m moments, length float64) Placed {
	sin, cos := math.Sincos(m.turn)
	at := b.at(m.col, m.row)
	return Placed{[2]float64{at[0] - float64(cos*length/2), at[1] - float64(sin*length/2)}, m.turn}
}

// depth is how wide the front is about a row, in mm; without a front, as given.
func (b *breakdown) depth(row, about, otherwise float64) float64 {
	if b.front == nil {
		return otherwise
	}
	widest := 0.0
	for r := max(0, int(row-float64(about/2))); r <= min(rows-1, int(row+float64(about/2))); r++ {
		for _, run := range b.front.runs[r] {
			widest = max(widest, run[1]-run[0])
		}
	}
	if widest == 0 {
		return otherwise
	}
	return widest * b.cell
}

// middles are the middles, in mm from the middle of the front, of the runs of the front in
// a row: so many as there should be, or none.
func (b *breakdown) middles(row float64, wanted int) [][2]float64 {
	if b.front == nil {
		return nil
	}
	r := min(rows-1, max(0, int(row)))
	runs := b.front.runs[r]
	y := b.low[1] + float64(b.cell*(float64(r)+0.5))
	centre := float64((b.front.width)/2) + 1
	if wanted == 1 || len(runs) < 2 {
		return [][2]float64{{0, y}}
	}
	first, last := runs[0], runs[len(runs)-1]
	return [][2]float64{{b.cell * (float64((first[0]+first[1])/2) - centre), y}, {b.cell * (float64((last[0]+last[1])/2) - centre), y}}
}
