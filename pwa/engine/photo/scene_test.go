package photo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"needlesight/pwa/engine/raster"
)

// scene is a table as a pinhole sees it: a cloth, a card with rounded corners and its soft
// shadow, a wool animal, and what else lies there. It is drawn by rays, one px by many, and
// shares no sum with the engine.
type scene struct {
	camera        pinhole
	cloth         func(x, y float64) [3]float64
	card          func(x, y float64) [3]float64 // mm from the card's middle
	x, y, turn    float64
	without       bool                       // no card
	animal        func(x, y float64) float64 // how deep inside, mm
	wool          [3]float64
	others        []box
	light, darker float64 // a slope of the light, and its way
	shadow, soft  float64 // mm to the lower right, and its softness
	noise         float64 // levels
	seed          uint64
	name          string
}

// box is another rectangle on the table.
type box struct {
	x, y, turn, w, h float64
	colour           [3]float64
}

// inRect is how deep a point lies inside a rectangle with corners of radius r, mm.
func inRect(x, y, w, h, r float64) float64 {
	dx, dy := math.Abs(x)-w/2+r, math.Abs(y)-h/2+r
	return r - math.Hypot(max(dx, 0), max(dy, 0)) - min(max(dx, dy), 0)
}

func local(x, y, cx, cy, turn float64) (float64, float64) {
	c, s := math.Cos(turn), math.Sin(turn)
	return c*(x-cx) + s*(y-cy), -s*(x-cx) + c*(y-cy)
}

// colour of the table's point (x, y), mm.
func (s *scene) colour(x, y float64) [3]float64 {
	c := s.cloth(x, y)
	dim := 1.
	for _, b := range s.others {
		u, v := local(x, y, b.x, b.y, b.turn)
		if inRect(u, v, b.w, b.h, 0.3) > 0 {
			c = b.colour
		}
	}
	u, v := local(x, y, s.x, s.y, s.turn)
	if !s.without {
		if d := inRect(u, v, ID1WidthMM, ID1HeightMM, ID1RadiusMM); d > 0 {
			c = s.card(u, v)
		} else {
			su, sv := local(x-0.7*s.shadow, y-0.7*s.shadow, s.x, s.y, s.turn)
			dim -= 0.35 * ramp(inRect(su, sv, ID1WidthMM, ID1HeightMM, ID1RadiusMM), -s.soft, s.soft)
		}
	}
	if s.animal != nil {
		d := s.animal(x, y) + 0.8*grain(x*1.3, y*1.3, s.seed+9)
		if d > 0 {
			g := 0.8 + 0.25*grain(x*2, y*2, s.seed+1)
			c = [3]float64{s.wool[0] * g, s.wool[1] * g, s.wool[2] * g}
		} else if d > -25 {
			dim -= 0.3 * (1 + d/25)
		}
	}
	light := dim * (1 + s.light*(x*math.Cos(s.darker)+y*math.Sin(s.darker))/300)
	return [3]float64{c[0] * light, c[1] * light, c[2] * light}
}

// hash and grain: noise that is the same at the same place, smooth between whole numbers,
// -1 to 1.
func hash(x, y int, seed uint64) float64 {
	h := uint64(x)*0x9E3779B97F4A7C15 ^ uint64(y)*0xC2B2AE3D27D4EB4F ^ seed*0x165667B19E3779F9
	h ^= h >> 29
	h *= 0xBF58476D1CE4E5B9
	h ^= h >> 32
	h *= 0x94D049BB133111EB
	h ^= h >> 29
	return float64(h>>11)/(1<<52) - 1
}

func grain(x, y float64, seed uint64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	i, j := int(fx), int(fy)
	a, b := x-fx, y-fy
	a, b = a*a*(3-2*a), b*b*(3-2*b)
	return (1-b)*((1-a)*hash(i, j, seed)+a*hash(i+1, j, seed)) + b*((1-a)*hash(i, j+1, seed)+a*hash(i+1, j+1, seed))
}

// draw makes the photo: four rays a px over a little more than its area, so that the lens is
// a little soft, then noise.
func (s *scene) draw() *raster.Picture {
	w, h := int(s.camera.width), int(s.camera.height)
	pic := &raster.Picture{Width: w, Height: h, Pix: make([]byte, 4*w*h)}
	var wait sync.WaitGroup
	rows := make(chan int, h)
	for y := range h {
		rows <- y
	}
	close(rows)
	for range runtime.NumCPU() {
		wait.Go(func() {
			for y := range rows {
				s.row(pic, y)
			}
		})
	}
	wait.Wait()
	return pic
}

func (s *scene) row(pic *raster.Picture, y int) {
	r := rand.New(rand.NewPCG(s.seed, uint64(y)))
	const n = 2
	for x := range pic.Width {
		var sum [3]float64
		for k := range n * n {
			dx, dy := (float64(k%n)+0.5)/n-0.5, (float64(k/n)+0.5)/n-0.5
			c := s.colour(s.camera.ray(float64(x)+0.5+1.4*dx, float64(y)+0.5+1.4*dy))
			for ch := range 3 {
				sum[ch] += c[ch] / (n * n)
			}
		}
		for ch := range 3 {
			pic.Pix[4*(y*pic.Width+x)+ch] = byte(min(max(sum[ch]+s.noise*r.NormFloat64()+0.5, 0), 255))
		}
		pic.Pix[4*(y*pic.Width+x)+3] = 255
	}
}

// ray is where the line of sight through a px meets the plane.
func (c pinhole) ray(px, py float64) (x, y float64) {
	d := [3]float64{(px - c.width/2) / c.focal, (py - c.height/2) / c.focal, 1}
	var way, from [3]float64 // in the plane's axes
	for i := range 3 {
		for j := range 3 {
			way[i] += c.turn[j][i] * d[j]
			from[i] -= c.turn[j][i] * c.move[j]
		}
	}
	t := -from[2] / way[2]
	return from[0] + t*way[0], from[1] + t*way[1]
}

func (s *scene) truth() []Point {
	return s.camera.quad(s.x, s.y, s.turn, ID1WidthMM, ID1HeightMM)
}

func scaled(c [3]float64, f float64) [3]float64 { return [3]float64{c[0] * f, c[1] * f, c[2] * f} }

// cloths, cards: what there is to draw.
var clothKinds = []string{"plain", "felt", "gingham", "stripes", "flowers", "wood"}

func cloth(kind string, base, second [3]float64, seed uint64) func(x, y float64) [3]float64 {
	return func(x, y float64) [3]float64 {
		switch kind {
		case "felt":
			return scaled(base, 1+0.06*grain(x*1.5, y*1.5, seed)+0.03*grain(x/20, y/20, seed+1))
		case "gingham":
			n := 0
			if math.Mod(math.Mod(x*0.96+y*0.28, 16)+16, 16) < 8 {
				n++
			}
			if math.Mod(math.Mod(-x*0.28+y*0.96, 16)+16, 16) < 8 {
				n++
			}
			f := float64(n) / 2
			return [3]float64{base[0]*(1-f) + second[0]*f, base[1]*(1-f) + second[1]*f, base[2]*(1-f) + second[2]*f}
		case "stripes":
			if math.Mod(math.Mod(x*0.8+y*0.6, 22)+22, 22) < 7 {
				return second
			}
			return base
		case "flowers":
			i, j := math.Floor(x/24), math.Floor(y/24)
			cx, cy := (i+0.5+0.3*hash(int(i), int(j), seed))*24, (j+0.5+0.3*hash(int(j), int(i), seed+1))*24
			if math.Hypot(x-cx, y-cy) < 5+2*math.Cos(5*math.Atan2(y-cy, x-cx)) {
				return second
			}
			return base
		case "wood":
			return scaled(base, 1+0.10*grain(x/60, y*0.8, seed)+0.05*grain(x/30, y*2.3, seed+2))
		}
		return scaled(base, 1+0.02*grain(x/30, y/30, seed))
	}
}

var cardKinds = []string{"one colour", "print", "frame", "picture", "stripe"}

func cardFace(kind string, base, second [3]float64, seed uint64) func(x, y float64) [3]float64 {
	return func(x, y float64) [3]float64 {
		switch kind {
		case "print": // a chip and lines of text
			if inRect(x+25, y+4, 12, 10, 2) > 0 {
				return [3]float64{200, 170, 90}
			}
			if x > -30 && x < 25 && (math.Abs(y-10) < 1.5 || math.Abs(y-18) < 1) && hash(int(math.Floor(x/1.5)), int(math.Floor(y/9)), seed) > -0.2 {
				return second
			}
		case "frame": // a frame 4 mm inside
			if d := inRect(x, y, ID1WidthMM-8, ID1HeightMM-8, 0.1); d > 0 && d < 0.8 {
				return second
			}
		case "picture":
			f := 0.5 + 0.5*grain(x/14, y/14, seed)
			return [3]float64{base[0]*(1-f) + second[0]*f, base[1]*(1-f) + second[1]*f, base[2]*(1-f) + second[2]*f}
		case "stripe":
			if y > -18 && y < -6 {
				return second
			}
		}
		return base
	}
}

var cardColours = [][3]float64{{45, 85, 140}, {240, 240, 238}, {30, 30, 34}, {170, 30, 40}, {60, 140, 80}, {230, 200, 60}, {150, 150, 155}}
var clothColours = [][3]float64{{222, 214, 202}, {120, 120, 125}, {60, 70, 90}, {200, 180, 150}, {150, 90, 80}, {235, 232, 225}}

// randomScene is one of many: any card on any cloth, tilted up to 35 degrees.
func randomScene(seed uint64, width, height float64) *scene {
	r := rand.New(rand.NewPCG(seed, 77))
	f := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	pick := func(n int) int { return r.IntN(n) }
	s := &scene{seed: seed}
	long := max(width, height)
	focal := long * f(0.75, 1.6)
	across := f(3, 6.5) * ID1WidthMM // mm along the longer side of the picture
	tilt := f(0, 35) * math.Pi / 180
	if pick(3) == 0 {
		tilt = f(0, 4) * math.Pi / 180
	}
	s.camera = newPinhole(width, height, focal, across*focal/long, tilt, f(0, 7), f(0, 7), 0, 0)
	s.turn = f(0, 7)
	for {
		s.x, s.y = f(-0.45, 0.45)*across, f(-0.45, 0.45)*across
		if s.inView(0.03 * long) {
			break
		}
	}
	ck, fk := clothKinds[pick(len(clothKinds))], cardKinds[pick(len(cardKinds))]
	var ground, face [3]float64
	for {
		ground, face = clothColours[pick(len(clothColours))], cardColours[pick(len(cardColours))]
		d := math.Sqrt(sq(ground[0]-face[0]) + sq(ground[1]-face[1]) + sq(ground[2]-face[2]))
		if d > 25 {
			break
		}
	}
	second := clothColours[pick(len(clothColours))]
	s.cloth, s.card = cloth(ck, ground, second, seed), cardFace(fk, face, cardColours[pick(len(cardColours))], seed)
	s.wool = [3]float64{f(60, 230), f(60, 200), f(50, 180)}
	ax, ay := f(-0.3, 0.3)*across, f(-0.3, 0.3)*across
	if math.Hypot(ax-s.x, ay-s.y) > 115 {
		a, b := f(40, 60), f(20, 32)
		s.animal = func(x, y float64) float64 {
			body := b * (1 - math.Hypot((x-ax)/a, (y-ay)/b))
			head := 15 - math.Hypot(x-ax-a, y-ay+10)
			return max(body, head)
		}
	}
	if pick(2) == 0 {
		b := box{f(-0.4, 0.4) * across, f(-0.4, 0.4) * across, f(0, 7), f(40, 130), f(20, 60), clothColours[pick(len(clothColours))]}
		if math.Hypot(b.x-s.x, b.y-s.y) > 60+math.Hypot(b.w, b.h)/2 {
			s.others = append(s.others, b)
		}
	}
	s.light, s.darker = f(0, 0.35), f(0, 7)
	s.shadow, s.soft = f(0.5, 3), f(0.7, 4)
	s.noise = f(0.5, 4)
	s.name = fmt.Sprintf("seed %d: %s on %s, tilt %.0f", seed, fk, ck, tilt*180/math.Pi)
	return s
}

func (s *scene) inView(margin float64) bool {
	for _, c := range s.truth() {
		if c[0] < margin || c[1] < margin || c[0] > s.camera.width-margin || c[1] > s.camera.height-margin {
			return false
		}
	}
	return true
}
