package proportion

import (
	"cmp"
	"math"
	"slices"
)

// comparison is a subject and a piece, and what fixes the scale between them. In
// logarithms a part's target is base·piece + offset + (part - base)·subject: base says
// how much each part of the subject's group and of the piece's group counts in the
// scale (one part kept: 1 at that part), and is nothing on the piece at a given size.
type comparison struct {
	req            CompareRequest
	subject, piece *solution
	nailed         map[string]bool
	from, part     string // what fixed the scale; from is empty when nothing did
	s, p           *group // the groups in which parts can be compared; p may be nil at size
	onS, onP       []float64
	offset         float64
	basis          string // whence mm come
}

// Whence mm come.
const (
	ruled     = "ruled"     // a ruler, or a photo of known scale, was in the piece's group
	nominally = "nominally" // from the request's nominal
)

// fix finds the scale.
func (c *comparison) fix() {
	switch c.req.Scale.Mode {
	case AtSize:
		c.fixSize()
	case KeepPart:
		c.from = FromPart
		c.fixPart(c.req.Scale.Part)
	case LeastWork:
		c.fixLeast()
	}
	switch {
	case c.from == "":
	case c.p != nil && c.p.ruled:
		c.basis = ruled
	case c.nominal():
		c.basis = nominally
	}
}

// nominal says whether the request's nominal can stand in for a ruler.
func (c *comparison) nominal() bool {
	if c.req.Nominal == nil || c.req.Scale.Mode == AtSize || c.piece.ruler() != nil {
		return false
	}
	g, _ := c.subject.index(c.req.Nominal.Part)
	return g == c.s
}

// ruler is the group that is in mm, or nil.
func (s *solution) ruler() *group {
	for _, g := range s.groups {
		if g.ruled {
			return g
		}
	}
	return nil
}

// fixSize takes the finished size for the scale; only the piece's mm can be compared.
func (c *comparison) fixSize() {
	var part int
	c.from, c.part, c.offset = FromSize, c.req.Scale.Part, ln(c.req.Scale.MM)
	c.s, part = c.subject.index(c.part)
	c.onS = c.s.only(part)
	if c.p = c.piece.ruler(); c.p != nil {
		c.onP = make([]float64, len(c.p.parts))
	}
}

// fixPart keeps one part of the piece.
func (c *comparison) fixPart(name string) {
	var i, j int
	c.part = name
	c.s, i = c.subject.index(name)
	c.p, j = c.piece.index(name)
	c.onS, c.onP = c.s.only(i), c.p.only(j)
}

// both is a part read on subject and piece.
type both struct {
	name   string
	i, j   int     // within the subject's and the piece's group
	d      float64 // ln piece - ln subject
	weight float64
	sure   float64 // the inverse variance of d by the part's own readings
}

// fixLeast keeps the part at the quantile, or takes the mean of the parts nailed down.
func (c *comparison) fixLeast() {
	parts := c.block()
	if len(parts) == 0 {
		return
	}
	var nailed []both
	for _, b := range parts {
		if c.nailed[b.name] {
			b.weight = b.sure
			nailed = append(nailed, b)
		}
	}
	switch len(nailed) {
	case 0:
		c.from = FromQuantile
		c.fixPart(quantile(parts, costOf(c.req.Scale)).name)
	case 1:
		c.from = FromNailed
		c.fixPart(nailed[0].name)
	default:
		c.from = FromNailed
		c.fixMean(nailed)
	}
}

// block is the largest set of parts that can be compared with each other: those of one
// group on the subject and one on the piece, the most of them nailed down.
func (c *comparison) block() []both {
	type pair struct{ s, p *group }
	var pairs []pair
	blocks, nails := map[pair][]both{}, map[pair]int{}
	for _, name := range c.subject.parts {
		s, i := c.subject.index(name)
		p, j := c.piece.index(name)
		if p == nil {
			continue
		}
		at := pair{s, p}
		if blocks[at] == nil {
			pairs = append(pairs, at)
		}
		blocks[at] = append(blocks[at], both{name, i, j, p.size[j] - s.size[i], exp(s.size[i]), 1 / (1/s.own[i] + 1/p.own[j])})
		if c.nailed[name] {
			nails[at]++
		}
	}
	var best pair
	for _, at := range pairs {
		if nails[at] > nails[best] || nails[at] == nails[best] && len(blocks[at]) > len(blocks[best]) {
			best = at
		}
	}
	c.s, c.p = best.s, best.p
	return blocks[best]
}

// quantile is the part at which, going up by d, cost/(1+cost) of all weight is reached:
// raising the scale past it would add more than the taking in it saves is worth. Of parts
// with one and the same d it is the one read most surely, which leaves the others' verdicts
// least rough, and of those the first.
func quantile(parts []both, cost float64) both {
	sorted := slices.Clone(parts)
	slices.SortStableFunc(sorted, func(a, b both) int { return cmp.Compare(a.d, b.d) })
	total, below := 0.0, 0.0
	for _, b := range sorted {
		total += b.weight
	}
	at := len(sorted) - 1
	for i, b := range sorted {
		if below += b.weight; below >= total*cost/(1+cost)*(1-1e-12) {
			at = i
			break
		}
	}
	var best both
	for _, b := range parts {
		if math.Abs(b.d-sorted[at].d) < noise && (best.name == "" || b.sure > best.sure*(1+noise)) {
			best = b
		}
	}
	return best
}

// fixMean takes the weighted mean of several parts for the scale.
func (c *comparison) fixMean(parts []both) {
	total := 0.0
	for _, b := range parts {
		total += b.weight
	}
	c.onS, c.onP = make([]float64, len(c.s.parts)), make([]float64, len(c.p.parts))
	for _, b := range parts {
		c.onS[b.i], c.onP[b.j] = b.weight/total, b.weight/total
	}
}

// found is the scale as it is answered.
func (c *comparison) found() ScaleFound {
	f := ScaleFound{Mode: c.req.Scale.Mode, Part: c.part, From: c.from}
	if c.from == "" {
		return f
	}
	size, variance := c.offset-dot(c.onS, c.s.size), c.s.variance(c.onS)
	if c.from != FromSize {
		size += dot(c.onP, c.p.size)
		variance += c.p.variance(c.onP)
	}
	factor := exp(size)
	f.Factor, f.U = tidied(factor), tidied(factor*math.Sqrt(variance))
	return f
}
