package outline

import (
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

// local is the mean colour of the cells that are used in each cell's neighbourhood, or
// where there is none near, further off.
func (s *scan) local(use []bool) []colour {
	n := len(use)
	sums := [4][]float32{}
	for k := range sums {
		sums[k] = make([]float32, n)
	}
	for i, v := range s.feel {
		if use[i] {
			sums[0][i], sums[1][i], sums[2][i], sums[3][i] = 1, v[0], v[1], v[2]
		}
	}
	near := 3
	for range 2 {
		for k := range sums {
			boxes(sums[k], s.w, s.h, near)
		}
	}
	out := make([]colour, n)
	wide := [4][]float32{}
	for k := range sums {
		wide[k] = append([]float32(nil), sums[k]...)
		boxes(wide[k], s.w, s.h, 4*near)
	}
	whole := [4]float32{}
	for i, v := range s.feel {
		if use[i] {
			whole[0]++
			for k := range 3 {
				whole[k+1] += v[k]
			}
		}
	}
	for i := range out {
		w := sums[0][i] + 0.02*wide[0][i] + 1e-5
		for k := range 3 {
			out[i][k] = (sums[k+1][i] + 0.02*wide[k+1][i] + 1e-5*whole[k+1]/max(1, whole[0])) / w
		}
	}
	return out
}

// noise is the variance of pixels about the mean of their neighbourhood.
func (s *scan) noise(p *raster.Picture, colours *palette, use []bool, mean []colour) colour {
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
		for y := top; y < min(p.Height, top+s.side); y++ {
			for x := left; x < min(p.Width, left+s.side); x++ {
				v := colours.at(p, x, y)
				for c := range v {
					d := v[c] - mean[i][c]
					sum[c] += d * d
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

// judge works out how likely each pixel of the window is piece.
func (s *scan) judge(p *raster.Picture, colours *palette, win *window, piece []bool) {
	in, out := s.sure(piece)
	fleece, cloth := s.local(in), s.local(out)
	a, b := s.noise(p, colours, in, fleece), s.noise(p, colours, out, cloth)
	var weight colour
	for k := range weight {
		weight[k] = 2 / (a[k] + b[k] + 1)
	}
	side := float32(s.side)
	for y := range win.h {
		v := (float32(win.top+y)+0.5)/side - 0.5
		j := min(s.h-2, max(0, int(v)))
		v = min(1, max(0, v-float32(j)))
		for x := range win.w {
			u := (float32(win.left+x)+0.5)/side - 0.5
			i := min(s.w-2, max(0, int(u)))
			u = min(1, max(0, u-float32(i)))
			o := j*s.w + i
			c := colours.at(p, win.left+x, win.top+y)
			var dot, long float32
			for k := range c {
				f := (fleece[o][k]*(1-u)+fleece[o+1][k]*u)*(1-v) + (fleece[o+s.w][k]*(1-u)+fleece[o+s.w+1][k]*u)*v
				g := (cloth[o][k]*(1-u)+cloth[o+1][k]*u)*(1-v) + (cloth[o+s.w][k]*(1-u)+cloth[o+s.w+1][k]*u)*v
				d := f - g
				dot += (c[k] - (f+g)/2) * d * weight[k]
				long += d * d * weight[k]
			}
			win.likely[y*win.w+x] = min(1, max(0, 0.5+dot/max(long, 1e-6)))
		}
	}
}
