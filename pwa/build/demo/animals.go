package main

import "math"

// otterHead is the length of the model otter's head, mm: all else about it is told in heads.
const otterHead = 30.0

var (
	brown = rgb(124, 84, 55)
	dark  = rgb(88, 58, 40)
	cream = rgb(216, 190, 154)
	black = rgb(22, 20, 20)
	pads  = rgb(74, 52, 42)
	gold  = rgb(206, 162, 102)
	white = rgb(226, 218, 203)
	grey  = rgb(150, 144, 140)
	ivory = rgb(226, 208, 182)
	smoky = rgb(206, 196, 180)
)

// heads makes lumps that are told in heads into mm.
func heads(unit float64, lumps []lump) []lump {
	for i := range lumps {
		l := &lumps[i]
		l.a, l.b, l.radii = l.a.mul(unit), l.b.mul(unit), l.radii.mul(unit)
		l.ra, l.rb, l.soft = l.ra*unit, l.rb*unit, l.soft*unit
	}
	return lumps
}

// otterLying is the otter on its side on a cloth (z = 0), nose to the left. The proportions are those of the demo's counts:
// head 1, body 3.2, tail 2.75, whole 7.5, foreleg 0.875, hind leg 1.05, body 1 deep.
func otterLying() *animal {
	rod := func(ax, ay, az, ra, bx, by, bz, rb, soft float64, c colour) lump {
		return lump{a: vec{ax, ay, az}, b: vec{bx, by, bz}, ra: ra, rb: rb, soft: soft, colour: c}
	}
	ball := func(x, y, z, rx, ry, rz, soft float64, c colour) lump {
		return lump{a: vec{x, y, z}, radii: vec{rx, ry, rz}, soft: soft, colour: c}
	}
	bead := func(l lump) lump { l.gloss = true; return l }
	lumps := []lump{
		ball(0.57, -0.15, 0.40, 0.43, 0.315, 0.36, 0.1, brown),    // head
		ball(0.24, -0.045, 0.40, 0.215, 0.17, 0.215, 0.12, cream), // muzzle
		ball(0.40, 0.03, 0.40, 0.26, 0.13, 0.22, 0.10, cream),
		ball(0.86, -0.36, 0.66, 0.105, 0.10, 0.075, 0.05, dark),              // ear
		rod(0.72, -0.09, 0.42, 0.285, 1.70, -0.02, 0.48, 0.375, 0.22, brown), // neck
		rod(0.70, 0.06, 0.42, 0.16, 1.75, 0.20, 0.48, 0.20, 0.2, cream),      // throat
		rod(1.70, 0.00, 0.48, 0.40, 2.55, -0.05, 0.50, 0.475, 0.07, brown),
		rod(2.55, -0.05, 0.50, 0.475, 3.40, -0.02, 0.51, 0.49, 0.07, brown),
		rod(3.40, -0.02, 0.51, 0.49, 4.28, 0.02, 0.49, 0.44, 0.07, brown),
		rod(4.28, 0.02, 0.49, 0.44, 4.70, 0.06, 0.40, 0.30, 0.07, brown),
		rod(2.1, 0.27, 0.46, 0.20, 3.9, 0.30, 0.47, 0.215, 0.16, cream), // belly
		rod(4.55, 0.04, 0.38, 0.31, 5.60, 0.14, 0.26, 0.215, 0.07, brown),
		rod(5.60, 0.14, 0.26, 0.215, 6.60, 0.29, 0.16, 0.135, 0.07, brown),
		rod(6.60, 0.29, 0.16, 0.135, 7.42, 0.28, 0.09, 0.06, 0.07, dark),
		rod(2.02, 0.12, 0.80, 0.21, 1.95, 0.55, 0.84, 0.135, 0.12, brown), // near foreleg
		rod(1.95, 0.58, 0.84, 0.13, 1.74, 0.715, 0.84, 0.105, 0.07, pads),
		rod(2.36, 0.20, 0.22, 0.20, 2.46, 0.55, 0.16, 0.13, 0.12, dark), // far foreleg
		rod(2.46, 0.58, 0.16, 0.125, 2.28, 0.715, 0.14, 0.10, 0.07, pads),
		rod(4.22, 0.16, 0.70, 0.33, 4.36, 0.52, 0.82, 0.17, 0.2, brown), // near hind leg
		rod(4.36, 0.56, 0.82, 0.155, 4.06, 0.815, 0.84, 0.115, 0.07, pads),
		rod(3.86, 0.22, 0.22, 0.28, 3.78, 0.56, 0.16, 0.16, 0.14, dark), // far hind leg
		rod(3.78, 0.58, 0.15, 0.145, 3.50, 0.80, 0.13, 0.11, 0.07, pads),
		bead(ball(0.055, -0.10, 0.42, 0.06, 0.058, 0.085, 0, black)),   // nose
		bead(ball(0.385, -0.215, 0.735, 0.056, 0.058, 0.05, 0, black)), // eye
	}
	return &animal{lumps: heads(otterHead, lumps)}
}

// otterStanding is the same otter upright on its hind legs, seen from the front: head 0.75 wide, neck 7/8 and body 11/8 of that.
func otterStanding() *animal {
	rod := func(ax, ay, az, ra, bx, by, bz, rb, soft float64, c colour) lump {
		return lump{a: vec{ax, ay, az}, b: vec{bx, by, bz}, ra: ra, rb: rb, soft: soft, colour: c}
	}
	ball := func(x, y, z, rx, ry, rz, soft float64, c colour) lump {
		return lump{a: vec{x, y, z}, radii: vec{rx, ry, rz}, soft: soft, colour: c}
	}
	bead := func(l lump) lump { l.gloss = true; return l }
	lumps := []lump{
		rod(0, -0.62, 0, 0.50, 0, -1.70, 0.02, 0.505, 0.25, brown),
		rod(0, -1.70, 0.02, 0.505, 0, -2.55, 0.06, 0.42, 0.25, brown),
		rod(0, -2.55, 0.06, 0.42, 0, -3.20, 0.12, 0.322, 0.22, brown),
		ball(0, -3.82, 0.18, 0.37, 0.33, 0.43, 0.12, brown),
		ball(0, -3.70, 0.50, 0.235, 0.175, 0.20, 0.10, cream),
		ball(0, -3.55, 0.36, 0.20, 0.14, 0.20, 0.10, cream),
		rod(0, -3.35, 0.30, 0.20, 0, -2.5, 0.34, 0.22, 0.14, cream),
		rod(0, -2.5, 0.34, 0.22, 0, -0.9, 0.34, 0.27, 0.16, cream),
	}
	for _, side := range []float64{-1, 1} {
		lumps = append(lumps,
			ball(side*0.335, -4.035, 0.02, 0.085, 0.10, 0.075, 0.05, dark),
			rod(side*0.36, -2.52, 0.16, 0.17, side*0.40, -2.08, 0.42, 0.13, 0.12, brown),
			rod(side*0.40, -2.08, 0.42, 0.13, side*0.15, -1.95, 0.66, 0.105, 0.07, pads),
			ball(side*0.40, -0.58, 0.16, 0.27, 0.40, 0.36, 0.14, brown),
			rod(side*0.36, -0.13, 0.22, 0.13, side*0.45, -0.11, 0.66, 0.115, 0.08, pads),
			bead(ball(side*0.185, -3.90, 0.535, 0.05, 0.053, 0.05, 0, black)))
	}
	lumps = append(lumps,
		rod(0.05, -0.34, -0.40, 0.30, 0.80, -0.20, -0.52, 0.19, 0.2, brown),
		rod(0.80, -0.20, -0.52, 0.19, 1.45, -0.12, -0.30, 0.12, 0.2, brown),
		rod(1.45, -0.12, -0.30, 0.12, 1.85, -0.07, 0.10, 0.06, 0.15, dark),
		bead(ball(0, -3.765, 0.695, 0.092, 0.062, 0.05, 0, black)))
	return &animal{lumps: heads(otterHead, lumps)}
}

// owlHead is the height of the model owl's head, mm.
const owlHead = 32.0

// heart is how far outside its heart-shaped face a point of the owl is, about; below 0 is within. In heads, from the front.
func heart(x, y float64) float64 {
	u, v := x/0.395, (-3.205-y)/0.379
	v -= 0.45 * math.Sqrt(math.Abs(u))
	return (math.Hypot(u, v) - 1) * 0.36
}

// owlStanding is the barn owl on its feet (y = 0), turned about its own height, rad: 0 shows the front. Body 3.75 heads high,
// wing 2.8; the eyes a third of a head apart, the face 2.5 of that high, 2.375 wide, the body 3.8 wide.
func owlStanding(turn float64) *animal {
	rod := func(ax, ay, az, ra, bx, by, bz, rb, soft float64, c colour) lump {
		return lump{a: vec{ax, ay, az}, b: vec{bx, by, bz}, ra: ra, rb: rb, soft: soft, colour: c}
	}
	ball := func(x, y, z, rx, ry, rz, soft float64, c colour) lump {
		return lump{a: vec{x, y, z}, radii: vec{rx, ry, rz}, soft: soft, colour: c}
	}
	bead := func(l lump) lump { l.gloss = true; return l }
	lumps := []lump{
		ball(0, -3.22, 0.02, 0.52, 0.53, 0.48, 0.12, white),
		rod(0, -2.70, -0.02, 0.46, 0, -1.95, 0.0, 0.56, 0.25, white),
		rod(0, -1.95, 0.0, 0.56, 0, -1.1, -0.04, 0.46, 0.25, white),
		rod(0, -1.1, -0.04, 0.46, 0, -0.52, -0.10, 0.31, 0.2, white),
		rod(0, -2.75, -0.22, 0.36, 0, -1.5, -0.28, 0.38, 0.2, gold), // back
		ball(0, -3.32, -0.22, 0.46, 0.44, 0.34, 0.12, gold),
		rod(0, -1.1, -0.34, 0.26, 0, -0.28, -0.56, 0.11, 0.12, gold), // tail
		rod(0, -3.55, 0.36, 0.07, 0, -3.20, 0.50, 0.075, 0.10, white),
	}
	for _, side := range []float64{-1, 1} {
		lumps = append(lumps,
			rod(side*0.41, -2.66, -0.01, 0.215, side*0.455, -1.80, -0.02, 0.185, 0.06, gold),
			rod(side*0.455, -1.80, -0.02, 0.185, side*0.37, -0.90, -0.16, 0.15, 0.06, gold),
			rod(side*0.37, -0.90, -0.16, 0.15, side*0.14, -0.13, -0.54, 0.05, 0.06, gold),
			rod(side*0.36, -2.52, -0.24, 0.24, side*0.40, -1.60, -0.24, 0.21, 0.06, gold),
			rod(side*0.40, -1.60, -0.24, 0.21, side*0.26, -0.62, -0.36, 0.13, 0.06, gold),
			rod(side*0.17, -0.58, 0.02, 0.21, side*0.19, -0.17, 0.06, 0.105, 0.12, white),
			bead(rod(side*0.19, -0.06, 0.06, 0.06, side*0.09, -0.04, 0.30, 0.04, 0, smoky)),
			bead(rod(side*0.19, -0.06, 0.06, 0.06, side*0.20, -0.04, 0.33, 0.04, 0, smoky)),
			bead(rod(side*0.19, -0.06, 0.06, 0.06, side*0.31, -0.04, 0.29, 0.04, 0, smoky)),
			bead(ball(side*0.1667, -3.285, 0.40, 0.078, 0.082, 0.07, 0, black)))
	}
	lumps = append(lumps, bead(rod(0, -3.19, 0.485, 0.055, 0, -3.06, 0.50, 0.024, 0, ivory)))
	a := &animal{lumps: heads(owlHead, lumps)}
	a.paint = func(p vec, c colour) colour {
		q := turned(p, -turn).mul(1 / owlHead)
		if h := heart(q.x, q.y); q.z > 0.12 && q.y < -2.6 {
			rim := math.Exp(-math.Pow((h-0.015)/0.030, 2))
			if h < 0 {
				c = white.mul(1.03).mix(rgb(222, 196, 160), 0.55*math.Exp(-math.Pow(math.Hypot(math.Abs(q.x)-0.13, (q.y+3.20)*0.8)/0.075, 2)))
			}
			c = c.mix(rgb(150, 92, 46), 0.85*rim)
		}
		// Grey clouds with pale and dark specks on gold; a few small dots on the breast.
		golden := math.Max(0, math.Min(1, (c.x-c.z)/(gold.x-gold.z)))
		cloud := math.Max(0, noise(q.mul(5.2))+0.12) * 0.95
		c = c.mix(grey.mul(0.92), math.Min(0.8, cloud)*golden*golden)
		cell := q.mul(8)
		ix, iy, iz := math.Floor(cell.x), math.Floor(cell.y), math.Floor(cell.z)
		luck := dice(int64(ix), int64(iy), int64(iz))
		spot := vec{cell.x - ix - 0.5, (cell.y - iy - 0.5) * 0.7, cell.z - iz - 0.5}
		near := math.Exp(-math.Pow(math.Hypot(spot.x, spot.y)/0.19, 4))
		if luck < 0.36 {
			c = c.mix(rgb(58, 50, 48), 0.75*near*golden)
		} else if luck < 0.6 {
			c = c.mix(white, 0.85*near*golden)
		}
		if q.y > -2.5 && q.z > 0 && luck > 0.80 {
			c = c.mix(rgb(120, 88, 60), 0.7*near*(1-golden))
		}
		return c
	}
	a.dent = func(p vec) float64 { // the face is a shallow dish with a raised rim
		q := turned(p, -turn).mul(1 / owlHead)
		if q.z < 0.12 || q.y > -2.7 {
			return 0
		}
		h := heart(q.x, q.y)
		return owlHead * (0.045/(1+math.Exp(h/0.02)) - 0.03*math.Exp(-math.Pow((h-0.02)/0.035, 2)))
	}
	for i := range a.lumps {
		l := &a.lumps[i]
		if l.radii.x > 0 && turn != 0 {
			s := math.Abs(math.Sin(turn))
			l.radii.x, l.radii.z = l.radii.x*(1-s)+l.radii.z*s, l.radii.z*(1-s)+l.radii.x*s
		}
		l.a, l.b = turned(l.a, turn), turned(l.b, turn)
	}
	return a
}

// turned is a point turned about the height.
func turned(p vec, by float64) vec {
	s, k := math.Sincos(by)
	return vec{p.x*k + p.z*s, p.y, p.z*k - p.x*s}
}
