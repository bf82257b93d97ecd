package main

import "math"

// vec is a point or a direction, in mm: x to the right, y down, z towards the eye.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec            { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec            { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) mul(k float64) vec        { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64        { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) long() float64            { return math.Sqrt(a.dot(a)) }
func (a vec) unit() vec                { return a.mul(1 / a.long()) }
func (a vec) cross(b vec) vec          { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }
func (a vec) mix(b vec, t float64) vec { return a.mul(1 - t).add(b.mul(t)) }

// colour is linear light: red, green, blue.
type colour = vec

// rgb is a colour as it is written for a screen, 0 to 255, made linear.
func rgb(r, g, b float64) colour {
	f := func(c float64) float64 { return math.Pow(c/255, 2.2) }
	return colour{f(r), f(g), f(b)}
}

// lump is a piece of an animal: a rod from a to b whose radius goes from ra to rb, or, when radii are given, an ellipsoid about a.
type lump struct {
	a, b   vec
	ra, rb float64
	radii  vec
	colour colour
	soft   float64 // how far it flows into its neighbours, mm
	gloss  bool    // glass or beak: no felt on it
}

// distance is about how far a point is outside of it.
func (l *lump) distance(p vec) float64 {
	q := p.sub(l.a)
	if l.radii.x > 0 {
		k := vec{q.x / l.radii.x, q.y / l.radii.y, q.z / l.radii.z}
		g := vec{k.x / l.radii.x, k.y / l.radii.y, k.z / l.radii.z}.long()
		n := k.long()
		if g < 1e-9 {
			return -l.radii.x
		}
		return n * (n - 1) / g
	}
	ba := l.b.sub(l.a)
	t := math.Max(0, math.Min(1, q.dot(ba)/ba.dot(ba)))
	return q.sub(ba.mul(t)).long() - (l.ra + (l.rb-l.ra)*t)
}

// animal is lumps that have been felted together.
type animal struct {
	lumps []lump
	paint func(p vec, c colour) colour // markings; may be nil
	dent  func(p vec) float64          // what is pressed in, mm; may be nil
	low   vec                          // the box about all lumps
	high  vec
}

// far is how far from the animal its box alone is asked, mm.
const far = 30

// bound finds the box about all lumps.
func (a *animal) bound() {
	a.low, a.high = vec{1e9, 1e9, 1e9}, vec{-1e9, -1e9, -1e9}
	for _, l := range a.lumps {
		r := math.Max(math.Max(l.ra, l.rb), math.Max(l.radii.x, math.Max(l.radii.y, l.radii.z))) + 3
		for _, p := range []vec{l.a, l.b} {
			if l.radii.x > 0 {
				p = l.a
			}
			a.low = vec{math.Min(a.low.x, p.x-r), math.Min(a.low.y, p.y-r), math.Min(a.low.z, p.z-r)}
			a.high = vec{math.Max(a.high.x, p.x+r), math.Max(a.high.y, p.y+r), math.Max(a.high.z, p.z+r)}
		}
	}
}

// outside is how far a point is outside the box.
func (a *animal) outside(p vec) float64 {
	gap := func(v, low, high float64) float64 { return math.Max(0, math.Max(low-v, v-high)) }
	return vec{gap(p.x, a.low.x, a.high.x), gap(p.y, a.low.y, a.high.y), gap(p.z, a.low.z, a.high.z)}.long()
}

// distance is how far a point is outside the animal, and what is met there.
func (a *animal) distance(p vec) (float64, bool) {
	d, hard, gloss := 1e9, 1e9, false
	if out := a.outside(p); out > far {
		return out, false
	}
	for i := range a.lumps {
		l := &a.lumps[i]
		if l.gloss {
			hard = math.Min(hard, l.distance(p))
			continue
		}
		d = meld(d, l.distance(p), l.soft)
	}
	if d < 6 {
		d += 0.35*noise(p.mul(0.42)) + 0.16*noise(p.mul(1.3))
		if a.dent != nil {
			d += a.dent(p)
		}
	}
	if hard < d {
		d, gloss = hard, true
	}
	return d, gloss
}

// meld is the smaller of two distances, rounded where they meet: a fillet of about k.
func meld(a, b, k float64) float64 {
	h := math.Max(k-math.Abs(a-b), 0)
	if k <= 0 {
		return math.Min(a, b)
	}
	return math.Min(a, b) - h*h/(4*k)
}

// colourAt mixes the colours of the lumps that are near.
func (a *animal) colourAt(p vec, gloss bool) colour {
	var sum colour
	var all float64
	for i := range a.lumps {
		l := &a.lumps[i]
		if l.gloss != gloss {
			continue
		}
		w := math.Exp(-l.distance(p) / 1.1)
		sum, all = sum.add(l.colour.mul(w)), all+w
	}
	c := sum.mul(1 / math.Max(all, 1e-12))
	if a.paint != nil && !gloss {
		c = a.paint(p, c)
	}
	return c
}

// noise is smooth, from -1 to 1, and the same in every run.
func noise(p vec) float64 {
	fx, fy, fz := math.Floor(p.x), math.Floor(p.y), math.Floor(p.z)
	x, y, z := ease(p.x-fx), ease(p.y-fy), ease(p.z-fz)
	at := func(i, j, k float64) float64 { return dice(int64(fx+i), int64(fy+j), int64(fz+k)) }
	line := func(j, k float64) float64 { return at(0, j, k)*(1-x) + at(1, j, k)*x }
	face := func(k float64) float64 { return line(0, k)*(1-y) + line(1, k)*y }
	return (face(0)*(1-z)+face(1)*z)*2 - 1
}

func ease(t float64) float64 { return t * t * (3 - 2*t) }

// dice is a number from 0 to 1 that three whole numbers lead to.
func dice(x, y, z int64) float64 {
	n := uint64(x)*0x9E3779B97F4A7C15 ^ uint64(y)*0xC2B2AE3D27D4EB4F ^ uint64(z)*0x165667B19E3779F9
	n ^= n >> 29
	n *= 0xBF58476D1CE4E5B9
	n ^= n >> 32
	n *= 0x94D049BB133111EB
	n ^= n >> 29
	return float64(n>>11) / (1 << 53)
}
