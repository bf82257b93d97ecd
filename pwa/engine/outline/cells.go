package outline

import (
	"math"

	"needlesight/pwa/engine/raster"
)

// feel is what a cell is judged by: its colour, and how rough it is.
type feel [4]float32

// cells is a photo made small: squares of the same side, each with its mean colour. What
// needs a look at the whole photo is worked out on them.
type cells struct {
	w, h int // in cells
	side int // of a cell in px
	feel []feel
	// edge is the strongest step of lightness within the cell over a few px, which tells the edge of a
	// thing from the edge of a soft shadow.
	edge []float32
	// spread is the standard deviation of the lightness within a cell.
	spread []float32
}

// cellsWanted is about how many cells a photo is divided into.
const cellsWanted = 40000

// newCells makes the cells of a photo.
func newCells(p *raster.Picture, colours *palette) *cells {
	side := max(1, int(math.Round(math.Sqrt(float64(p.Width)*float64(p.Height)/cellsWanted))))
	c := &cells{w: (p.Width + side - 1) / side, h: (p.Height + side - 1) / side, side: side}
	c.feel = make([]feel, c.w*c.h)
	c.edge = make([]float32, c.w*c.h)
	c.spread = make([]float32, c.w*c.h)
	grey := greys(p)
	for cy := range c.h {
		for cx := range c.w {
			c.fill(p, colours, grey, cx, cy)
		}
	}
	return c
}

// greys is the lightness of each pixel as a byte: a weighted mean of its bytes.
func greys(p *raster.Picture) []byte {
	out := make([]byte, p.Width*p.Height)
	for i := range out {
		px := p.Pix[4*i : 4*i+3 : 4*i+3]
		out[i] = byte((77*int(px[0]) + 150*int(px[1]) + 29*int(px[2]) + 128) >> 8)
	}
	return out
}

// fill looks at the pixels of one cell.
func (c *cells) fill(p *raster.Picture, colours *palette, grey []byte, cx, cy int) {
	left, top := cx*c.side, cy*c.side
	right, bottom := min(p.Width, left+c.side), min(p.Height, top+c.side)
	var r, g, b float32
	sum, square, rough, step := 0, 0, 0, 0
	for y := top; y < bottom; y++ {
		inside := y >= 2 && y < p.Height-2
		for x := left; x < right; x++ {
			i := y*p.Width + x
			px := p.Pix[4*i : 4*i+3 : 4*i+3]
			r += colours.linear[px[0]]
			g += colours.linear[px[1]]
			b += colours.linear[px[2]]
			v := int(grey[i])
			sum += v
			square += v * v
			if !inside || x < 2 || x >= p.Width-2 {
				continue
			}
			west, east, north, south := int(grey[i-2]), int(grey[i+2]), int(grey[i-2*p.Width]), int(grey[i+2*p.Width])
			rough += abs(2*v-west-east) + abs(2*v-north-south)
			step = max(step, abs(east-west), abs(south-north))
		}
	}
	n := float32((right - left) * (bottom - top))
	at := cy*c.w + cx
	lab := colours.of(r/n, g/n, b/n)
	c.feel[at] = feel{lab[0], lab[1], lab[2], roughScale * float32(math.Log(float64(float32(rough)/(2*n))+0.5))}
	c.edge[at] = float32(step)
	mean := float32(sum) / n
	c.spread[at] = float32(math.Sqrt(float64(max(0, float32(square)/n-float32(mean*mean)))))
}

// roughScale brings the logarithm of the roughness to about the size of steps in lightness.
const roughScale = 6

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}
