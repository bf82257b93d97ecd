package main

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
)

// scene is what the camera sees.
type scene struct {
	width, height      int // of the picture, px
	fine               int // rays along the side of a pixel at an edge
	eye, at, up        vec
	focal              float64 // px
	light              vec
	wool               *animal
	ground             func(p vec) float64 // how far above the cloth
	cloth              colour
	weave              func(p vec) (u, v float64) // where on the cloth, mm
	card               *card
	fuzz               float64 // how hairy, 1 as usual
	right, down, ahead vec
}

// card lies on the cloth: an ID-1 card (ISO/IEC 7810: 85.60 x 53.98 x 0.76 mm, corners of 3.18 mm).
type card struct {
	middle vec
	turn   float64 // rad
}

const cardLong, cardShort, cardThick, cardCorner = 85.60, 53.98, 0.76, 3.18

// on is a point in the card's own plane.
func (c *card) on(p vec) vec {
	q := p.sub(c.middle)
	s, k := math.Sincos(-c.turn)
	return vec{q.x*k - q.y*s, q.x*s + q.y*k, q.z}
}

func (c *card) corner(x, y float64) vec {
	s, k := math.Sincos(c.turn)
	x, y = x*cardLong/2, y*cardShort/2
	return c.middle.add(vec{x*k - y*s, x*s + y*k, cardThick})
}

func (c *card) distance(p vec) float64 {
	q := c.on(p)
	x, y := math.Abs(q.x)-cardLong/2+cardCorner, math.Abs(q.y)-cardShort/2+cardCorner
	flat := math.Hypot(math.Max(x, 0), math.Max(y, 0)) + math.Min(math.Max(x, y), 0) - cardCorner
	high := math.Abs(q.z-cardThick/2) - cardThick/2
	return math.Min(math.Max(flat, high), 0) + math.Hypot(math.Max(flat, 0), math.Max(high, 0))
}

// colourAt is a plain pale card with a stripe of woad and a needle drawn on it.
func (c *card) colourAt(p vec) colour {
	q := c.on(p)
	body := rgb(238, 236, 226)
	switch {
	case q.y > 9 && q.y < 17:
		return rgb(38, 88, 134)
	case math.Abs(q.y+9) < 0.55 && q.x > -33 && q.x < 24, math.Hypot(q.x-27, q.y+9) < 3.2 && math.Hypot(q.x-27, q.y+9) > 2.1:
		return rgb(60, 68, 74)
	case math.Hypot(q.x+20, q.y+9) < 1.7, math.Hypot(q.x+5, q.y+9) < 1.7, math.Hypot(q.x-10, q.y+9) < 1.7:
		return rgb(214, 164, 20)
	}
	return body
}

const (
	nothing = iota
	cloth
	felt
	glossy
	carded
)

func (s *scene) set() {
	s.ahead = s.at.sub(s.eye).unit()
	s.right = s.ahead.cross(s.up.mul(-1)).unit()
	s.down = s.right.cross(s.ahead)
}

// project is where a point comes to lie in the picture, px.
func (s *scene) project(p vec) [2]float64 {
	q := p.sub(s.eye)
	z := q.dot(s.ahead)
	return [2]float64{float64(s.width)/2 + s.focal*q.dot(s.right)/z, float64(s.height)/2 + s.focal*q.dot(s.down)/z}
}

func (s *scene) ray(x, y float64) vec {
	return s.ahead.add(s.right.mul((x - float64(s.width)/2) / s.focal)).add(s.down.mul((y - float64(s.height)/2) / s.focal)).unit()
}

// distance is how far a point is from anything, and from what.
func (s *scene) distance(p vec) (float64, int) {
	d, what := s.ground(p), cloth
	if s.card != nil {
		if e := s.card.distance(p); e < d {
			d, what = e, carded
		}
	}
	if e, gloss := s.wool.distance(p); e < d {
		d, what = e, felt
		if gloss {
			what = glossy
		}
	}
	return d, what
}

func (s *scene) march(from, way vec) (vec, int) {
	t := 0.0
	for range 220 {
		p := from.add(way.mul(t))
		d, what := s.distance(p)
		if d < 0.02 {
			return p, what
		}
		if t += d * 0.8; t > 3000 {
			break
		}
	}
	return vec{}, nothing
}

func (s *scene) normal(p vec) vec {
	const e = 0.12
	f := func(q vec) float64 { d, _ := s.distance(q); return d }
	return vec{f(p.add(vec{e, 0, 0})) - f(p.sub(vec{e, 0, 0})), f(p.add(vec{0, e, 0})) - f(p.sub(vec{0, e, 0})), f(p.add(vec{0, 0, e})) - f(p.sub(vec{0, 0, e}))}.unit()
}

// shade is how much of the lamp reaches a point: a large lamp, so that shadows are soft.
func (s *scene) shade(p vec) float64 {
	lit, t := 1.0, 1.2
	for range 40 {
		d, _ := s.distance(p.add(s.light.mul(t)))
		lit = math.Min(lit, 0.5+0.5*d/(0.16*t))
		if lit < 0 {
			return 0
		}
		if t += math.Max(d*0.8, 0.5); t > 220 {
			break
		}
	}
	lit = math.Max(0, lit)
	return lit * lit * (3 - 2*lit)
}

// open is how much of the room's light reaches a point.
func (s *scene) open(p, n vec) float64 {
	shut, w := 0.0, 1.0
	for i := 1; i <= 6; i++ {
		h := 1.1 * float64(i) * float64(i) * 0.6
		d, _ := s.distance(p.add(n.mul(h)))
		shut += w * math.Max(0, h-d) / h
		w *= 0.72
	}
	return math.Max(0.12, 1-0.62*shut)
}

// linen is the cloth's colour: threads over and under, thicker here and there.
func (s *scene) linen(p vec) colour {
	u, v := s.weave(p)
	const pitch = 0.85
	wander := 0.35 * noise(vec{u * 0.05, v * 0.05, 3})
	a, b := (u+wander)/pitch, (v+wander)/pitch
	ia, ib := int64(math.Floor(a)), int64(math.Floor(b))
	over := (ia+ib)&1 == 0
	across, along := a-math.Floor(a)-0.5, b-math.Floor(b)-0.5
	thread, which := across, dice(ia, 7, 1)
	if !over {
		thread, which = along, dice(ib, 9, 2)
	}
	round := math.Sqrt(math.Max(0, 1-3.2*thread*thread))
	slub := 1 + 0.10*(which-0.5) + 0.07*noise(vec{u * 0.9, v * 0.12, float64(ia & 7)})
	tone := 0.80 + 0.22*round
	return s.cloth.mul(tone * slub * (1 + 0.05*noise(vec{u * 0.021, v * 0.021, 8})))
}

// see is the light that comes along one ray, and what it comes from.
func (s *scene) see(way vec) (colour, int, vec) {
	p, what := s.march(s.eye, way)
	if what == nothing {
		return s.cloth.mul(0.5), what, p
	}
	n := s.normal(p)
	var skin colour
	switch what {
	case cloth:
		skin = s.linen(p)
	case carded:
		skin = s.card.colourAt(p)
	default:
		skin = s.wool.colourAt(p, what == glossy)
	}
	lamp := s.shade(p.add(n.mul(0.6)))
	room := s.open(p, n)
	face := math.Max(0, n.dot(s.light))
	if what == felt { // light goes a little way into wool
		face = math.Max(0, (n.dot(s.light)+0.28)/1.28)
		lamp = 0.12 + 0.88*lamp
	}
	warm, cool := colour{1.06, 1.0, 0.92}, colour{0.90, 0.97, 1.06}
	up := 0.5 + 0.5*n.dot(s.up.mul(1).add(s.ahead.mul(-0.9)).unit())
	light := warm.mul(1.02 * face * lamp).add(cool.mul(0.44 * room * (0.45 + 0.55*up)))
	out := colour{skin.x * light.x, skin.y * light.y, skin.z * light.z}
	edge := 1 - math.Max(0, -n.dot(way))
	switch what {
	case felt:
		out = out.add(skin.mix(colour{1, 1, 1}, 0.25).mul(0.26 * math.Pow(edge, 2.4) * (0.35 + 0.65*room)))
	case glossy:
		half := s.light.sub(way).unit()
		out = out.add(colour{1, 1, 1}.mul(0.85*math.Pow(math.Max(0, n.dot(half)), 90) + 0.16*math.Pow(edge, 3)))
	}
	return out, what, p
}

// photo is the picture, and for each of its pixels the share that the animal covers.
type photo struct {
	s     *scene
	light []colour
	cover []float64
}

func (s *scene) shoot() *photo {
	s.set()
	s.wool.bound()
	ph := &photo{s: s, light: make([]colour, s.width*s.height), cover: make([]float64, s.width*s.height)}
	ph.pixels(1, func(int, int) bool { return true })
	once := append([]float64(nil), ph.cover...)
	// An edge is looked at more closely.
	ph.pixels(s.fine, func(x, y int) bool {
		c := once[y*s.width+x]
		for j := max(0, y-1); j <= min(s.height-1, y+1); j++ {
			for i := max(0, x-1); i <= min(s.width-1, x+1); i++ {
				if once[j*s.width+i] != c {
					return true
				}
			}
		}
		return false
	})
	ph.hairs()
	return ph
}

// pixels looks along so many rays a side in each pixel that is wanted.
func (ph *photo) pixels(fine int, wanted func(x, y int) bool) {
	rows := make(chan int)
	var all sync.WaitGroup
	for range runtime.NumCPU() {
		all.Go(func() {
			for y := range rows {
				for x := range ph.s.width {
					if wanted(x, y) {
						ph.pixel(x, y, fine)
					}
				}
			}
		})
	}
	for y := range ph.s.height {
		rows <- y
	}
	close(rows)
	all.Wait()
}

func (ph *photo) pixel(x, y, fine int) {
	s := ph.s
	var sum colour
	wool := 0
	for j := range fine {
		for i := range fine {
			c, what, _ := s.see(s.ray(float64(x)+(float64(i)+0.5)/float64(fine), float64(y)+(float64(j)+0.5)/float64(fine)))
			sum = sum.add(c)
			if what == felt || what == glossy {
				wool++
			}
		}
	}
	k := 1 / float64(fine*fine)
	ph.light[y*s.width+x] = sum.mul(k)
	ph.cover[y*s.width+x] = float64(wool) * k
}

// hairs lays the fibres of the wool: many short ones over it, and some that stand off at its edge.
func (ph *photo) hairs() {
	s := ph.s
	plain := append([]colour(nil), ph.light...)
	chance := rand.New(rand.NewPCG(7, 11))
	at := func(x, y int) float64 {
		if x < 0 || y < 0 || x >= s.width || y >= s.height {
			return 0
		}
		return ph.cover[y*s.width+x]
	}
	unit := float64(s.width) / 1200
	for y := range s.height {
		for x := range s.width {
			c := at(x, y)
			if c < 0.5 {
				continue
			}
			gx, gy := at(x+3, y)-at(x-3, y), at(x, y+3)-at(x, y-3)
			edge := math.Hypot(gx, gy)
			if chance.Float64() < 0.30/unit/unit {
				flow := 2.2*noise(vec{float64(x) / 46 / unit, float64(y) / 46 / unit, 5}) + 1.9*(chance.Float64()-0.5)
				tone := 0.72 + 0.62*chance.Float64()
				ph.hair(plain[y*s.width+x].mul(tone), float64(x), float64(y), flow, 2.2*(chance.Float64()-0.5), (5+9*chance.Float64())*unit, 0.34, true)
			}
			if edge > 0.35 && chance.Float64() < 0.42*s.fuzz/unit {
				out := math.Atan2(-gy, -gx) + 2.1*(chance.Float64()-0.5)
				long := (2.5 + 9*math.Pow(chance.Float64(), 2.4)) * unit
				ph.hair(plain[y*s.width+x].mul(0.85+0.5*chance.Float64()), float64(x), float64(y), out, 2.6*(chance.Float64()-0.5), long, 0.42, false)
			}
		}
	}
}

// hair draws one fibre that bends as it goes and fades to its tip.
func (ph *photo) hair(c colour, x, y, way, bend, long, thick float64, within bool) {
	s := ph.s
	steps := int(long*1.6) + 2
	for i := range steps {
		t := float64(i) / float64(steps)
		a := way + bend*(t-0.3)
		x += math.Cos(a) * long / float64(steps)
		y += math.Sin(a) * long / float64(steps)
		fx, fy := math.Floor(x-0.5), math.Floor(y-0.5)
		for j := range 2 {
			for k := range 2 {
				px, py := int(fx)+k, int(fy)+j
				if px < 0 || py < 0 || px >= s.width || py >= s.height {
					continue
				}
				w := (1 - math.Abs(x-0.5-float64(px))) * (1 - math.Abs(y-0.5-float64(py)))
				w *= thick * (1 - t*t) * 0.62
				n := py*s.width + px
				if within {
					w *= ph.cover[n]
				}
				ph.light[n] = ph.light[n].mix(c, math.Max(0, math.Min(1, w)))
			}
		}
	}
}

// line draws a thin stroke between points of the scene: whiskers, a mouth.
func (ph *photo) line(c colour, thick float64, points ...vec) {
	for i := 0; i+1 < len(points); i++ {
		a, b := ph.s.project(points[i]), ph.s.project(points[i+1])
		long := math.Hypot(b[0]-a[0], b[1]-a[1])
		ph.hairWithin(c, a, b, long, thick)
	}
}

func (ph *photo) hairWithin(c colour, a, b [2]float64, long, thick float64) {
	way := math.Atan2(b[1]-a[1], b[0]-a[0])
	ph.hair(c, a[0], a[1], way, 0.25, long, thick, false)
}

// picture is what comes out of the camera: grain, a little less light towards the corners, and the bytes of a screen.
func (ph *photo) picture() *image.RGBA {
	s := ph.s
	out := image.NewRGBA(image.Rect(0, 0, s.width, s.height))
	for y := range s.height {
		for x := range s.width {
			c := ph.light[y*s.width+x]
			dx, dy := float64(x)/float64(s.width)-0.5, float64(y)/float64(s.height)-0.5
			c = c.mul(1 - 0.34*(dx*dx+dy*dy))
			grain := 0.006 * (dice(int64(x), int64(y), 77) - 0.5)
			f := func(v float64) uint8 {
				v = v * 1.06 / (1 + 0.10*v) // the shoulder of a film
				return uint8(math.Max(0, math.Min(255, 255*(math.Pow(math.Max(v, 0), 1/2.2)+grain)+0.5)))
			}
			out.SetRGBA(x, y, color.RGBA{f(c.x), f(c.y), f(c.z), 255})
		}
	}
	return out
}
