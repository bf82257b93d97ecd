package outline

import (
	"math"

	"needlesight/pwa/engine/raster"
)

// window is a part of a photo in px that is looked at pixel by pixel.
type window struct {
	left, top, w, h int
	// likely is how much likelier each pixel is piece than cloth: above 0 is piece.
	likely []float32
	in     []bool
}

// around is the window round the piece's cells, with room for what the cells missed.
func (s *scan) around(piece []bool, width, height int) window {
	const room = 6
	x0, y0, x1, y1 := s.w, s.h, 0, 0
	for i, in := range piece {
		if in {
			x, y := i%s.w, i/s.w
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x+1), max(y1, y+1)
		}
	}
	left, top := max(0, (x0-room)*s.side), max(0, (y0-room)*s.side)
	right, bottom := min(width, (x1+room)*s.side), min(height, (y1+room)*s.side)
	n := (right - left) * (bottom - top)
	return window{left: left, top: top, w: right - left, h: bottom - top, likely: make([]float32, n), in: make([]bool, n)}
}

// sure tells which cells are surely piece, and which surely not: those that lie some way
// within and without.
func (s *scan) sure(piece []bool) (in, out []bool) {
	in, out = make([]bool, len(piece)), make([]bool, len(piece))
	for y := range s.h {
		for x := range s.w {
			i := y*s.w + x
			if piece[i] {
				in[i] = s.all(piece, x, y, 1, true)
			} else {
				out[i] = s.known[i] == unknown && s.all(piece, x, y, 2, false)
			}
		}
	}
	return in, out
}

// all tells whether all cells up to r away are as wanted; beyond the frame is as wanted.
func (s *scan) all(v []bool, x, y, r int, want bool) bool {
	for j := max(0, y-r); j <= min(s.h-1, y+r); j++ {
		for i := max(0, x-r); i <= min(s.w-1, x+r); i++ {
			if v[j*s.w+i] != want {
				return false
			}
		}
	}
	return true
}

// tone is the mean colour of one kind of cells in each cell's neighbourhood, and how much of what is
// near is of that kind.
type tone struct {
	mean  []feel
	share []float32
}

// tones parts the cells that are used into at most three kinds that differ clearly, mostly by hue, and
// gives the local mean of each: a piece of two colours, or a patterned cloth, has no one mean.
func (s *scan) tones(use []bool) []tone {
	var samples []feel
	var at []int
	for i, v := range s.feel {
		if use[i] {
			samples = append(samples, feel{v[0] / 2, v[1], v[2]})
			at = append(at, i)
		}
	}
	if len(samples) == 0 {
		return nil
	}
	owner := make([]uint8, len(samples))
	centres := farApart(samples, 3)
	partAround(samples, centres, owner, feel{})
	into := unite(centres, samples, owner)
	kinds := map[uint8][]bool{}
	for k, i := range at {
		kind := into[owner[k]]
		if kinds[kind] == nil {
			kinds[kind] = make([]bool, len(use))
		}
		kinds[kind][i] = true
	}
	var all []tone
	for kind := range uint8(len(centres)) {
		if kinds[kind] != nil {
			all = append(all, s.local(kinds[kind]))
		}
	}
	s.shares(all)
	return all
}

// unite joins kinds that are much alike, or of which there is next to nothing, to the nearest.
func unite(centres, samples []feel, owner []uint8) []uint8 {
	const alike = 12
	size := make([]int, len(centres))
	for _, o := range owner {
		size[o]++
	}
	into := make([]uint8, len(centres))
	for i := range into {
		into[i] = uint8(i)
	}
	for i := range centres {
		near, to := float32(math.MaxFloat32), i
		for j := range i {
			var d float32
			for k := range 3 {
				d += float32((centres[i][k] - centres[j][k]) * (centres[i][k] - centres[j][k]))
			}
			if d < near {
				near, to = d, j
			}
		}
		if to != i && (near < alike*alike || 50*size[i] < len(samples)) {
			into[i] = into[to]
		}
	}
	return into
}

// local is the mean colour of the cells that are used in each cell's neighbourhood, or where there
// is none near, further off.
func (s *scan) local(use []bool) tone {
	n := len(use)
	sums := [5][]float32{}
	for k := range sums {
		sums[k] = make([]float32, n)
	}
	var whole [5]float32
	for i, v := range s.feel {
		if use[i] {
			sums[0][i], sums[1][i], sums[2][i], sums[3][i], sums[4][i] = 1, v[0], v[1], v[2], v[3]
			for k := range sums {
				whole[k] += sums[k][i]
			}
		}
	}
	const near = 3
	wide := [5][]float32{}
	for k := range sums {
		boxes(sums[k], s.w, s.h, near)
		boxes(sums[k], s.w, s.h, near)
		wide[k] = append([]float32(nil), sums[k]...)
		boxes(wide[k], s.w, s.h, 4*near)
	}
	out := tone{make([]feel, n), make([]float32, n)}
	for i := range out.mean {
		w := sums[0][i] + float32(0.02*wide[0][i]) + 1e-5
		out.share[i] = w
		for k := range 4 {
			out.mean[i][k] = (sums[k+1][i] + float32(0.02*wide[k+1][i]) + 1e-5*whole[k+1]/whole[0]) / w
		}
	}
	return out
}

// shares turns the weights of tones into shares of their sum.
func (s *scan) shares(all []tone) {
	for i := range s.feel {
		sum := float32(0)
		for _, t := range all {
			sum += t.share[i]
		}
		for _, t := range all {
			t.share[i] /= sum
		}
	}
}

// noise is the variance of pixels about the mean of their neighbourhood.
func (s *scan) noise(p *raster.Picture, colours *palette, use []bool, all []tone) colour {
	var sum colour
	n := float32(0)
	skip := max(1, count(use)/400)
	k := 0
	for i, in := range use {
		if !in {
			continue
		}
		if k++; k%skip != 0 {
			continue
		}
		left, top := i%s.w*s.side, i/s.w*s.side
		mean := closest(all, i, colour{s.feel[i][0], s.feel[i][1], s.feel[i][2]}, colour{1, 1, 1})
		for y := top; y < min(p.Height, top+s.side); y++ {
			for x := left; x < min(p.Width, left+s.side); x++ {
				v := colours.at(p, x, y)
				for c := range v {
					d := v[c] - mean[c]
					sum[c] += float32(d * d)
				}
				n++
			}
		}
	}
	for c := range sum {
		sum[c] /= max(1, n)
	}
	return sum
}

// at is the colour of a pixel.
func (c *palette) at(p *raster.Picture, x, y int) colour {
	px := p.Pix[4*(y*p.Width+x):]
	return c.of(c.linear[px[0]], c.linear[px[1]], c.linear[px[2]])
}

// closest is that tone at a cell which is nearest to a colour, of those that are near in the photo.
func closest(all []tone, i int, c, weight colour) feel {
	best, at := float32(math.MaxFloat32), 0
	for k, t := range all {
		if t.share[i] < leastShare {
			continue
		}
		var d float32
		for j := range c {
			d += float32(weight[j] * (c[j] - t.mean[i][j]) * (c[j] - t.mean[i][j]))
		}
		if d < best {
			best, at = d, k
		}
	}
	return all[at].mean[i]
}

// judge works out how likely each pixel of the window is piece: how far it lies on the way from the cloth's colour
// beside it to the piece's. Where the two are hardly apart, what the cells said counts too. It
// gives how far they are apart along the edge, in standard deviations squared.
func (s *scan) judge(p *raster.Picture, colours *palette, win *window, piece []bool) float32 {
	in, out := s.sure(piece)
	if count(in) < 4 {
		in = piece
	}
	fleece, cloth := s.tones(in), s.tones(out)
	if len(fleece) == 0 || len(cloth) == 0 {
		return 0
	}
	a, b := s.noise(p, colours, in, fleece), s.noise(p, colours, out, cloth)
	var weight colour
	for k := range weight {
		weight[k] = 2 / (a[k] + b[k] + 1)
	}
	j := judge{s, p, colours, win, fleece, cloth, weight, s.held(in, out), nil}
	contrast := j.all()
	if contrast < 2*weak {
		j.rough = roughness(p, win)
		j.all()
	}
	return contrast
}

// judge holds what a pixel is judged by.
type judge struct {
	s             *scan
	p             *raster.Picture
	colours       *palette
	win           *window
	fleece, cloth []tone
	weight        colour
	held          []float32
	rough         []float32 // of each pixel of the window, nil where it is not needed
}

// all judges every pixel of the window, and gives how far apart piece and cloth are along the edge.
func (j *judge) all() float32 {
	s, win := j.s, j.win
	side := float32(s.side)
	contrast, n := float32(0), float32(0)
	for y := range win.h {
		v := (float32(win.top+y)+0.5)/side - 0.5
		row := min(s.h-2, max(0, int(v)))
		v = min(1, max(0, v-float32(row)))
		for x := range win.w {
			u := (float32(win.left+x)+0.5)/side - 0.5
			column := min(s.w-2, max(0, int(u)))
			u = min(1, max(0, u-float32(column)))
			o := row*s.w + column
			h := float32((float32(j.held[o]*(1-u))+float32(j.held[o+1]*u))*(1-v)) + float32((float32(j.held[o+s.w]*(1-u))+float32(j.held[o+s.w+1]*u))*v)
			long := j.pixel(x, y, o, u, v, h)
			if h > -0.5 && h < 0.5 {
				contrast += min(long, 100)
				n++
			}
		}
	}
	return contrast / max(1, n)
}

// pixel judges one pixel, which lies between the four cells from o on, and gives how far apart piece
// and cloth are there.
func (j *judge) pixel(x, y, o int, u, v, h float32) float32 {
	c := j.colours.at(j.p, j.win.left+x, j.win.top+y)
	var f, g feel
	if len(j.fleece) == 1 && len(j.cloth) == 1 {
		f, g = blend(j.fleece[0].mean, o, j.s.w, u, v), blend(j.cloth[0].mean, o, j.s.w, u, v)
	} else {
		f, g = blendClosest(j.fleece, o, j.s.w, u, v, c, j.weight), blendClosest(j.cloth, o, j.s.w, u, v, c, j.weight)
	}
	var dot, long float32
	for k := range c {
		d := f[k] - g[k]
		dot += float32((c[k] - float32((f[k]+g[k])/2)) * d * j.weight[k])
		long += float32(d * d * j.weight[k])
	}
	at, lean, far := y*j.win.w+x, float32(0), long
	if long < 2*weak { // a pixel's colour tells too little
		much := min(1, 2-float32(long/weak))
		lean = much * (12*h/max(long, 4) + float32(3*h*h*h))
		if j.rough != nil {
			// The share of fleece in what was looked at, since roughness, unlike its logarithm, adds up; less a
			// little for the step at the edge, which is rough too.
			d := f[3] - g[3]
			fleece, cloth := exp32(f[3]/roughScale), exp32(g[3]/roughScale)
			if gap := fleece - cloth; gap > 0.2 || gap < -0.2 {
				share := min(1, max(0, (j.rough[at]-cloth)/gap))
				dot += float32((share - 0.78) * d * d * roughWeight * much)
				long += float32(d * d * roughWeight * much)
			}
		}
	}
	j.win.likely[at] = min(1, max(0, 0.5+dot/max(long, 1)+lean))
	return far
}

// roughWeight is one over the variance of a pixel's roughness, of fleece and of cloth.
const roughWeight = 0.4

// roughness is a cell's, but not its logarithm, for each pixel of a window from the 5 x 5 px round it.
func roughness(p *raster.Picture, win *window) []float32 {
	out := make([]float32, win.w*win.h)
	grey := greys(p)
	for y := range win.h {
		for x := range win.w {
			px, py := win.left+x, win.top+y
			if px < 2 || py < 2 || px >= p.Width-2 || py >= p.Height-2 {
				continue
			}
			i := py*p.Width + px
			v := 2 * int(grey[i])
			out[y*win.w+x] = float32(abs(v-int(grey[i-2])-int(grey[i+2])) + abs(v-int(grey[i-2*p.Width])-int(grey[i+2*p.Width])))
		}
	}
	boxes(out, win.w, win.h, 2)
	for i, v := range out {
		out[i] = float32(v/2) + 0.5
	}
	return out
}

// weak is the squared distance of piece and cloth below which a pixel alone tells too little.
const weak = 20

// held is 1 well within the piece, -1 well without, 0 between.
func (s *scan) held(in, out []bool) []float32 {
	v := make([]float32, len(in))
	for i := range v {
		if in[i] {
			v[i] = 1
		} else if out[i] {
			v[i] = -1
		}
	}
	return v
}

// blend is a colour between the four cells from o on.
func blend(mean []feel, o, w int, u, v float32) feel {
	a, b, c, d := &mean[o], &mean[o+1], &mean[o+w], &mean[o+w+1]
	p, q, r, t := (1-u)*(1-v), u*(1-v), (1-u)*v, u*v
	return feel{
		float32(a[0]*p) + float32(b[0]*q) + float32(c[0]*r) + float32(d[0]*t),
		float32(a[1]*p) + float32(b[1]*q) + float32(c[1]*r) + float32(d[1]*t),
		float32(a[2]*p) + float32(b[2]*q) + float32(c[2]*r) + float32(d[2]*t),
		float32(a[3]*p) + float32(b[3]*q) + float32(c[3]*r) + float32(d[3]*t),
	}
}

// blendClosest is blend of the tone that is nearest to a colour.
func blendClosest(all []tone, o, w int, u, v float32, c, weight colour) feel {
	best := float32(math.MaxFloat32)
	var chosen feel
	for _, t := range all {
		if t.share[o] < leastShare {
			continue
		}
		m := blend(t.mean, o, w, u, v)
		var d float32
		for k := range c {
			d += float32(weight[k] * (c[k] - m[k]) * (c[k] - m[k]))
		}
		if d < best {
			best, chosen = d, m
		}
	}
	return chosen
}

// leastShare is how much of what is near has to be of a tone for a pixel to be of it.
const leastShare = 0.25
