package outline

import "math"

// colour is lightness and two hue axes, as in CIELAB (ISO/CIE 11664-4) but by the cube root all the way
// to black and without the offset of 16. So shade, which takes the same share of red, green and
// blue light, moves a colour straight towards the origin, however dark it is.
type colour [3]float32

// palette turns sRGB bytes to colours by tables.
type palette struct {
	linear [256]float32
	root   [rootSteps + 1]float32
}

const rootSteps = 4096

// newPalette fills the tables: the transfer curve of sRGB (IEC 61966-2-1), and the cube root.
// Between two steps the root is interpolated; the first steps, where it is steep, are finer.
func newPalette() *palette {
	p := &palette{}
	for i := range p.linear {
		v := float64(i) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		p.linear[i] = float32(v)
	}
	for i := range p.root {
		p.root[i] = float32(math.Cbrt(float64(i) / rootSteps))
	}
	return p
}

func (p *palette) cube(v float32) float32 {
	if v < 16./rootSteps {
		v *= 64 // a cube root 4 times as big
		if v < 16./rootSteps {
			return 1.6 * v // near black: a straight line to the first root that is exact enough
		}
		return p.between(v) / 4
	}
	return p.between(v)
}

func (p *palette) between(v float32) float32 {
	at := float32(v * rootSteps)
	i := int(at)
	if i >= rootSteps {
		return 1
	}
	return p.root[i] + float32((p.root[i+1]-p.root[i])*(at-float32(i)))
}

// of gives the colour of linear red, green and blue, 0 to 1: the matrix is that of sRGB with
// its white D65 divided out (IEC 61966-2-1).
func (p *palette) of(r, g, b float32) colour {
	x := p.cube(float32(0.433953*r) + float32(0.376219*g) + float32(0.189828*b))
	y := p.cube(float32(0.212671*r) + float32(0.715160*g) + float32(0.072169*b))
	z := p.cube(float32(0.017758*r) + float32(0.109477*g) + float32(0.872766*b))
	return colour{116 * y, 500 * (x - y), 200 * (y - z)}
}
