package outline

import "math"

// guess is one way to part the cells into piece and cloth.
type guess struct {
	piece []bool
	// edged is how much of the piece's edge runs where the photo has one, 0 to 1.
	edged float64
	size  int
	shade shade
	other int // the size of the next biggest thing that was not taken
}

// shade is how a shadow is thought of: how much of its lightness it leaves the cloth at least, and what
// being in it costs, as -2 ln of a likelihood.
type shade struct{ least, price float32 }

// taps are what a hand said, in cells.
type taps struct {
	on  []int // on the piece
	off []int // on what is not the piece
}

// lookFor parts the cells, taking it that shade leaves the cloth at least so much of its lightness. ok
// is false where nothing stands out from the cloth.
func (s *scan) lookFor(shade shade, t taps) (guess, bool) {
	n := len(s.plain)
	off := make([]float32, n) // how far from cloth
	base := s.cloth.least()
	for i, v := range s.plain {
		off[i] = s.cloth.shadedCost(v, shade.least, shade.price) - base
	}
	seeds := make([]bool, n)
	for i := range seeds {
		seeds[i] = s.known[i] == wanted || s.known[i] == unknown && off[i] > 30
	}
	piece := s.choose(seeds, t)
	if piece == nil {
		return guess{}, false
	}
	found := seeds
	for range 2 {
		colours := learn(s.some(func(i int) bool { return piece[i] }, 4000), 5, 0.01, pieceFloor)
		if len(colours) == 0 {
			return guess{}, false
		}
		all := s.part(off, base, colours)
		next := s.choose(all, t)
		if next == nil {
			break
		}
		piece, found = next, all
	}
	g := guess{piece: piece, shade: shade, other: s.biggest(found, piece)}
	g.edged, g.size = s.edged(piece), count(piece)
	return g, true
}

func (m mixture) least() float32 {
	best := float32(math.MaxFloat32)
	for i := range m {
		best = min(best, m[i].cost)
	}
	return best
}

func count(v []bool) int {
	n := 0
	for _, b := range v {
		if b {
			n++
		}
	}
	return n
}

// part divides all cells by the cheapest cut: what each is like, and that edges run where colours change.
func (s *scan) part(off []float32, base float32, colours mixture) []bool {
	n := len(s.plain)
	graph := newCut(n, 4*n)
	for i, v := range s.plain {
		switch s.known[i] {
		case apart:
			graph.lean(i, -100000)
		case wanted:
			graph.lean(i, 100000)
		default:
			gain := (min(off[i]+base, base+60) - min(colours.shadedCost(v, 0.6, 5), base+60)) / 2
			graph.lean(i, int32(100*min(12, max(-12, gain))))
		}
	}
	soft := s.softness()
	for y := range s.h {
		for x := range s.w {
			i := y*s.w + x
			if x+1 < s.w {
				graph.tie(i, i+1, s.bond(i, i+1, soft, 1))
			}
			if y+1 < s.h {
				graph.tie(i, i+s.w, s.bond(i, i+s.w, soft, 1))
				if x+1 < s.w {
					graph.tie(i, i+s.w+1, s.bond(i, i+s.w+1, soft, 0.7))
				}
				if x > 0 {
					graph.tie(i, i+s.w-1, s.bond(i, i+s.w-1, soft, 0.7))
				}
			}
		}
	}
	graph.solve()
	piece := make([]bool, n)
	for i := range piece {
		piece[i] = graph.onSource(i)
	}
	return piece
}

// softness is the mean squared step between neighbours.
func (s *scan) softness() float32 {
	sum, n := 0.0, 0
	for i := 0; i+1 < len(s.feel); i += 3 {
		sum += float64(s.step(i, i+1))
		n++
	}
	return float32(sum/float64(max(1, n))) + 1
}

func (s *scan) step(i, j int) float32 {
	a, b := &s.feel[i], &s.feel[j]
	l, u, v := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return float32(l*l) + float32(u*u) + float32(v*v)
}

func (s *scan) bond(i, j int, soft, near float32) int32 {
	return int32(near * (20 + float32(400*exp32(-s.step(i, j)/(2*soft)))))
}

func exp32(v float32) float32 { return float32(math.Exp(float64(v))) }

// choose keeps, of cells that may be the piece, the part that is meant: those that were tapped on, or
// the largest and most central. It gives nil where there is none worth the name.
func (s *scan) choose(may []bool, t taps) []bool {
	label, parts := s.parts(may)
	if len(parts) == 0 {
		return nil
	}
	keep := make([]bool, len(parts))
	for _, i := range t.on {
		if l := s.near(label, i); l >= 0 {
			keep[l] = true
		}
	}
	if len(t.on) == 0 {
		best, at := 0.0, -1
		for l, p := range parts {
			if s.holds(label, int32(l), t.off) {
				continue
			}
			if score := p.score(s.w, s.h); score > best {
				best, at = score, l
			}
		}
		if at < 0 || parts[at].size < len(may)/1000 {
			return nil
		}
		keep[at] = true
	}
	for _, i := range t.off {
		if l := s.near(label, i); l >= 0 && !s.holds(label, l, t.on) {
			keep[l] = false
		}
	}
	out := make([]bool, len(may))
	any := false
	for i, l := range label {
		if l >= 0 && keep[l] {
			out[i], any = true, true
		}
	}
	if !any {
		return nil
	}
	return out
}

// biggest is the size of the biggest part that was not taken and does not lie along the frame's edge.
func (s *scan) biggest(all, taken []bool) int {
	rest := make([]bool, len(all))
	for i := range rest {
		rest[i] = all[i] && !taken[i]
	}
	most := 0
	_, parts := s.parts(rest)
	for _, p := range parts {
		if p.rim == 0 {
			most = max(most, p.size)
		}
	}
	return most
}

// holds tells whether one of the cells lies in a part or close by.
func (s *scan) holds(label []int32, l int32, cells []int) bool {
	for _, i := range cells {
		if s.near(label, i) == l {
			return true
		}
	}
	return false
}

// patch is a set of cells that hang together.
type patch struct {
	size, rim int
	x, y      float64 // sums
}

// score is its size, less if it lies off the middle or along the frame's edge.
func (p patch) score(w, h int) float64 {
	n := float64(p.size)
	dx, dy := (p.x/n-float64(float64(w)/2))/float64(w), (p.y/n-float64(float64(h)/2))/float64(h)
	score := n * math.Exp(-3*(float64(dx*dx)+float64(dy*dy)))
	edge := float64(p.rim) / math.Sqrt(n)
	return score / (1 + float64(edge*edge))
}

// parts finds what hangs together: a label for each cell (-1 for none), and the patches.
func (s *scan) parts(may []bool) ([]int32, []patch) {
	label := make([]int32, len(may))
	for i := range label {
		label[i] = -1
	}
	var found []patch
	var open []int
	for i, in := range may {
		if !in || label[i] >= 0 {
			continue
		}
		l := int32(len(found))
		p := patch{}
		label[i] = l
		open = append(open[:0], i)
		for len(open) > 0 {
			k := open[len(open)-1]
			open = open[:len(open)-1]
			x, y := k%s.w, k/s.w
			p.size++
			p.x += float64(x)
			p.y += float64(y)
			if x == 0 || y == 0 || x == s.w-1 || y == s.h-1 {
				p.rim++
			}
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					u, v := x+dx, y+dy
					if u < 0 || v < 0 || u >= s.w || v >= s.h {
						continue
					}
					if j := v*s.w + u; may[j] && label[j] < 0 {
						label[j] = l
						open = append(open, j)
					}
				}
			}
		}
		found = append(found, p)
	}
	return label, found
}

// near is the label at a cell or close to it, -1 for none.
func (s *scan) near(label []int32, i int) int32 {
	for r := 0; r <= 4; r++ {
		for y := max(0, i/s.w-r); y <= min(s.h-1, i/s.w+r); y++ {
			for x := max(0, i%s.w-r); x <= min(s.w-1, i%s.w+r); x++ {
				if l := label[y*s.w+x]; l >= 0 {
					return l
				}
			}
		}
	}
	return -1
}

// edged tells how much of the piece's edge runs where the photo has one: where lightness steps within a
// few px, as it does not at the edge of a soft shadow, and where what lies within differs from what
// lies without, as it does not along a grain of the fleece.
func (s *scan) edged(piece []bool) float64 {
	calm := s.calm(piece)
	sum, n := 0.0, 0
	for y := 3; y < s.h-3; y++ {
		for x := 3; x < s.w-3; x++ {
			i := y*s.w + x
			for _, step := range [4]int{1, -1, s.w, -s.w} {
				if !piece[i] || piece[i+step] || !piece[i-step] || piece[i+2*step] {
					continue
				}
				best := float32(0)
				for k := -1; k <= 2; k++ {
					best = max(best, s.edge[i+k*step])
				}
				within, without := s.plain[i-step], s.plain[i+2*step]
				var off float32
				for k, floor := range [4]float32{3, 2, 2, 4} {
					d := (within[k] - without[k]) / floor
					off += float32(d * d)
				}
				n++
				sum += float64(min(1, max(0, float64(best/calm-1))) * min(1, float64(off)/4))
			}
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// calm is the step within a cell that nine in ten cells outside the piece do not exceed.
func (s *scan) calm(piece []bool) float32 {
	var hist [256]int
	n := 0
	for i, e := range s.edge {
		if !piece[i] && s.known[i] == unknown {
			hist[min(255, int(e))]++
			n++
		}
	}
	seen := 0
	for v, c := range hist {
		if seen += c; seen*10 >= n*9 {
			return float32(max(v, 3))
		}
	}
	return 255
}
