package form

import (
	"math"
	"slices"
	"strings"

	"needlesight/pwa/engine/outline"
)

// limb is something that stands out from the trunk.
type limb struct {
	cells  []int
	steps  []float64    // how far along the limb each cell lies from the trunk
	length float64      // to the furthest cell
	root   [2]float64   // col, row where it meets the trunk
	tip    [2]float64   // col, row of its end
	width  []float64    // along it, in equal stretches
	line   [][2]float64 // its middle line, in equal stretches: col, row
	part   string
	count  int
}

// stretches is into how many a limb is divided along.
const stretches = 24

// limb measures a set of cells beside the trunk: distances run inside it, from the trunk.
func (b *breakdown) limb(cells []int, trunk []bool) limb {
	v := b.side
	l := limb{cells: cells, part: OtherPart, count: 1}
	in := make(map[int]int, len(cells))
	for k, i := range cells {
		in[i] = k
	}
	l.steps = make([]float64, len(cells))
	var order []int
	for k, i := range cells {
		l.steps[k] = -1
		v.beside(i, func(j int) {
			if trunk[j] && l.steps[k] < 0 {
				l.steps[k] = 0
				order = append(order, k)
			}
		})
	}
	for _, k := range order {
		l.root[0] += float64(cells[k]%v.cols) / float64(len(order))
		l.root[1] += float64(cells[k]/v.cols) / float64(len(order))
	}
	l.walk(v, in, order)
	l.along(v)
	return l
}

// walk measures the way from the trunk to each cell, straight and across.
func (l *limb) walk(v *view, in map[int]int, order []int) {
	for len(order) > 0 {
		var next []int
		for _, k := range order {
			i := l.cells[k]
			for _, d := range [8][3]float64{{1, 0, 1}, {-1, 0, 1}, {0, 1, 1}, {0, -1, 1}, {1, 1, math.Sqrt2}, {1, -1, math.Sqrt2}, {-1, 1, math.Sqrt2}, {-1, -1, math.Sqrt2}} {
				j, there := in[i+int(d[0])+int(d[1])*v.cols]
				if there && (l.steps[j] < 0 || l.steps[k]+d[2] < l.steps[j]-1e-9) {
					l.steps[j] = l.steps[k] + d[2]
					next = append(next, j)
				}
			}
		}
		order = next
	}
}

// along cuts the limb into stretches and finds its middle line and its width in each.
func (l *limb) along(v *view) {
	for k, s := range l.steps {
		if s > l.length {
			l.length = s
			l.tip = [2]float64{float64(l.cells[k] % v.cols), float64(l.cells[k] / v.cols)}
		}
	}
	l.length++
	counts := make([]float64, stretches)
	l.line, l.width = make([][2]float64, stretches), make([]float64, stretches)
	for k, s := range l.steps {
		at := min(stretches-1, max(0, int(s/l.length*stretches)))
		counts[at]++
		l.line[at][0] += float64(l.cells[k] % v.cols)
		l.line[at][1] += float64(l.cells[k] / v.cols)
	}
	for at, n := range counts {
		if n > 0 {
			l.line[at][0], l.line[at][1] = l.line[at][0]/n, l.line[at][1]/n
		} else {
			l.line[at] = l.root
		}
		l.width[at] = n / (l.length / stretches)
	}
}

// middle is the mean of the widths from one share of the way to another.
func (l limb) middle(from, to float64) float64 {
	a, z := int(from*stretches), max(int(from*stretches)+1, int(math.Ceil(to*stretches)))
	sum := 0.0
	for _, w := range l.width[a:min(z, stretches)] {
		sum += w
	}
	return sum / float64(min(z, stretches)-a)
}

// name tells legs, head and tail apart by where they stand out.
func (b *breakdown) name(limbs []limb) {
	body := b.out.Forms[0]
	sin, cos := math.Sincos(body.Side.TurnRad)
	centre := [2]float64{body.Side.At[0] + float64(cos*body.Shape.LengthMM/2), body.Side.At[1] + float64(sin*body.Shape.LengthMM/2)}
	legs, head, tail := []int{}, -1, -1
	for k, l := range limbs {
		tip, root := b.at(l.tip[0], l.tip[1]), b.at(l.root[0], l.root[1])
		down := root[1] - tip[1]
		switch {
		case tip[1]-b.low[1] < 0.12*rows*b.cell && down > 0.35*l.length*b.cell && root[1] < centre[1]+float64(0.15*body.Shape.WidthMM):
			legs = append(legs, k)
		case head < 0 && (root[0] > centre[0] || root[1] > centre[1]+float64(0.3*body.Shape.WidthMM)):
			head = k
		case tail < 0 && root[0] < centre[0]:
			tail = k
		}
	}
	each := map[int]int{1: 2, 2: 2, 3: 1, 4: 1}[len(legs)]
	for _, k := range legs {
		limbs[k].part, limbs[k].count = Leg, max(1, each)
	}
	if head >= 0 {
		limbs[head].part = Head
	}
	if tail >= 0 {
		limbs[tail].part = Tail
	}
}

// forms are the one or two simple solids that a limb is built of.
func (b *breakdown) forms(l limb) []Proposed {
	if l.part != Head {
		return []Proposed{b.rolled(l, l.part, 0, 1)}
	}
	neck := b.waist(l)
	if neck < 0.12 {
		return []Proposed{b.skull(l, 0)}
	}
	return []Proposed{b.skull(l, neck), b.rolled(l, Neck, 0, neck)}
}

// waist is the share of the way from the trunk at which a head begins: after the thinnest
// place of the first two thirds, if something thicker follows; else 0.
func (b *breakdown) waist(l limb) float64 {
	thin := 0
	for at := range stretches * 2 / 3 {
		if l.width[at] <= l.width[thin] {
			thin = at
		}
	}
	if slices.Max(l.width[thin:]) < 1.15*l.width[thin] {
		return 0
	}
	return float64(thin) / stretches
}

// stretch is the straight piece of a limb from one share of its way to another: where, how
// long, how thick at both ends.
type stretch struct {
	from, to         [2]float64
	length           float64
	start, mid, last float64
}

func (l limb) stretch(from, to float64) stretch {
	point := func(share float64) [2]float64 {
		switch {
		case share <= 0: // slivers beside the trunk pull its first stretches away: where the rest of it comes from
			return [2]float64{float64(1.5*l.line[3][0]) - float64(l.line[10][0]/2), float64(1.5*l.line[3][1]) - float64(l.line[10][1]/2)}
		case share >= 1:
			return l.line[stretches-1]
		}
		return l.line[min(stretches-1, int(share*stretches))]
	}
	s := stretch{from: point(from), to: point(to)}
	s.length = math.Hypot(s.to[0]-s.from[0], s.to[1]-s.from[1])
	third := (to - from) / 3
	s.start, s.mid, s.last = l.middle(from+float64(third/2), from+third), l.middle(from+third, to-third), l.middle(to-third, to)
	return s
}

// rolled is a limb as a cone, a cut-off cone or a cylinder with round ends.
func (b *breakdown) rolled(l limb, part string, from, to float64) Proposed {
	s := l.stretch(from, to)
	shape := Shape{Kind: Frustum, LengthMM: s.length * b.cell, WidthMM: s.start * b.cell, EndMM: s.last * b.cell}
	switch {
	case s.last < 0.45*s.start:
		shape.Kind, shape.EndMM, shape.WidthMM = Cone, 0, (s.start+s.mid)*2/3*b.cell
	case s.last > 0.75*s.start && s.last < 1.35*s.start:
		shape.EndMM, shape.WidthMM = 0, (s.start+s.mid+s.last)/3*b.cell
		shape.Kind = Cylinder
		if to == 1 && shape.LengthMM > 1.05*shape.WidthMM {
			shape.Kind = Rounded
		}
	}
	p := Proposed{StandsFor: part, Shape: shape, Count: l.count, Mirrored: l.count == 2, Side: b.between(s.from, s.to)}
	p.Front = b.middles((s.from[1]+s.to[1])/2, min(2, l.count))
	return p
}

func (b *breakdown) between(from, to [2]float64) Placed {
	return Placed{b.at(from[0], from[1]), math.Atan2(to[1]-from[1], to[0]-from[0])}
}

// skull is the head of a limb, from a share of the way on: an egg with its moments.
func (b *breakdown) skull(l limb, from float64) Proposed {
	var cells []int
	for k, s := range l.steps {
		if s/l.length >= from {
			cells = append(cells, l.cells[k])
		}
	}
	m := b.moments(cells)
	if math.Cos(m.turn) < 0 {
		m.turn += math.Pi
	}
	egg := Shape{Kind: Egg, LengthMM: 4 * m.long * b.cell, WidthMM: 4 * m.wide * b.cell}
	// From the front a head is seen before the body: no wider than it is long.
	egg.DepthMM = min(b.depth(m.row, m.wide, egg.WidthMM), max(egg.LengthMM, egg.WidthMM))
	if egg.LengthMM < 1.1*egg.WidthMM && math.Abs(egg.DepthMM/egg.WidthMM-1) < 0.1 {
		egg = Shape{Kind: Ball, WidthMM: (egg.LengthMM + egg.WidthMM + egg.DepthMM) / 3}
	}
	p := Proposed{StandsFor: Head, Shape: egg, Count: 1, Side: b.placed(m, egg.length())}
	p.Front = b.middles(m.row, 1)
	return p
}

// near is how near a size must be to a part to be bound to it.
const agrees = 0.15

// binds finds the parts of the same name whose length a size agrees with.
func binds(p Proposed, parts []Part) []Bind {
	out := []Bind{}
	for _, size := range []string{"length_mm", "width_mm", "depth_mm"} {
		value := p.Shape.size(size)
		best, off := "", agrees
		for _, part := range parts {
			across := part.Axis == "width" || strings.Contains(part.Name, "width")
			if !strings.Contains(strings.ToLower(part.Name), p.StandsFor) || value == 0 || !(part.MM > 0) || across == (size == "length_mm") {
				continue
			}
			if apart := math.Abs(math.Log(value / part.MM)); apart < off {
				best, off = part.ID, apart
			}
		}
		if best != "" {
			out = append(out, Bind{size, best})
		}
	}
	return out
}

// covered is how much of the outline the forms as placed cover, and no more.
func (b *breakdown) covered(side []outline.Ring) float64 {
	v := b.side
	drawn := make([]bool, len(v.half))
	g := grid{cell: b.cell, left: b.low[0], low: b.low[1], cols: v.cols, rows: rows}
	for _, p := range b.out.Forms {
		across, _ := g.crossings(p.Side.place(p.Shape.side()))
		for row, runs := range runsOf(across) {
			within(runs, v.cols, func(col int) { drawn[row*v.cols+col] = true })
		}
	}
	both, either := 0, 0
	for i, in := range drawn {
		if outlined := v.half[i] > 0; in && outlined {
			both, either = both+1, either+1
		} else if in || outlined {
			either++
		}
	}
	return float64(both) / float64(max(1, either))
}

// place moves a drawing to where it lies.
func (p Placed) place(rings []outline.Ring) []outline.Ring {
	sin, cos := math.Sincos(p.TurnRad)
	out := make([]outline.Ring, len(rings))
	for i, ring := range rings {
		for _, q := range ring {
			out[i] = append(out[i], [2]float64{p.At[0] + float64(cos*q[0]) - float64(sin*q[1]), p.At[1] + float64(sin*q[0]) + float64(cos*q[1])})
		}
	}
	return out
}
