package outline

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"needlesight/pwa/engine/raster"
)

// A scene is a made-up photo of which all is known. It is drawn without any of the code it
// tests: shapes are filled by counting sub-samples, light, fleece, fur, shadow and noise come from
// plain formulas and a seeded source of chance.
type scene struct {
	width, height int
	seed          uint64
	animal        string
	size          float64 // the longer side of the piece over the shorter of the frame
	turn          float64 // radians
	at            [2]float64
	wool, cloth   [3]float64 // sRGB 0..255
	patch         *[3]float64
	pattern       string // "", "stripes", "checks"
	second        [3]float64
	light         float64 // how much darker the far corner is, as a share
	shadow        float64 // how much light the shadow takes at its darkest
	soft          float64 // the shadow's blur in px
	noise         float64
	fur           float64 // the longest hair in px
	fleece        float32 // how strong the grain of the wool is; 1 is about that of a photo
	card          *[3]float64
	other         string // a second animal in the frame
}

type drawn struct {
	picture *raster.Picture
	mask    []bool
	card    Ring
	middle  [2]float64 // a point well inside the piece
	other   [2]float64 // the middle of the second piece's box
	second  []bool     // its mask
}

func animals(t testing.TB) map[string][]Ring {
	text, err := os.ReadFile("testdata/animals.json")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][]Ring{}
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	return all
}

// placed scales, turns and moves an animal so that its box's middle is at a point.
func placed(rings []Ring, long, turn float64, at [2]float64) []Ring {
	low, high, _ := Bounds(rings)
	s := long / max(high[0]-low[0], high[1]-low[1])
	sin, cos := math.Sincos(turn)
	out := make([]Ring, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			x, y := s*(p[0]-(low[0]+high[0])/2), -s*(p[1]-(low[1]+high[1])/2)
			out[i] = append(out[i], [2]float64{at[0] + cos*x - sin*y, at[1] + sin*x + cos*y})
		}
	}
	return out
}

// cover gives what share of each pixel lies inside the rings, from 4 x 4 samples.
func cover(rings []Ring, w, h int) []float32 {
	out := make([]float32, w*h)
	for sub := range 4 * h {
		y := (float64(sub) + 0.5) / 4
		var xs []float64
		for _, ring := range rings {
			for i, b := range ring {
				a := ring[(i+len(ring)-1)%len(ring)]
				if (a[1] > y) != (b[1] > y) {
					xs = append(xs, a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]))
				}
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			for k := max(0, int(math.Ceil(4*xs[i]-0.5))); float64(k)+0.5 < 4*xs[i+1] && k < 4*w; k++ {
				out[sub/4*w+k/4] += 1. / 16
			}
		}
	}
	return out
}

// blur averages over a box three times, which is near a bell curve of that sigma.
func blur(in []float32, w, h int, sigma float64) []float32 {
	r := max(0, int(math.Round(math.Sqrt(4*sigma*sigma+1)/2-0.5)))
	a, b := slices.Clone(in), make([]float32, len(in))
	pass := func(src, dst []float32, n, step, lines, next int) {
		for l := range lines {
			o := l * next
			sum := float32(0)
			for i := -r; i <= r; i++ {
				sum += src[o+min(n-1, max(0, i))*step]
			}
			for i := range n {
				dst[o+i*step] = sum / float32(2*r+1)
				sum += src[o+min(n-1, i+r+1)*step] - src[o+max(0, i-r)*step]
			}
		}
	}
	for range 3 {
		pass(a, b, w, 1, h, w)
		pass(b, a, h, w, w, 1)
	}
	return a
}

// cloud is smooth noise of mean 0 and standard deviation 1.
func cloud(rnd *rand.Rand, w, h int, sigma float64) []float32 {
	f := max(1, int(sigma/3)) // made small and spread, or it would take long
	sw, sh := w/f+3, h/f+3
	in := make([]float32, sw*sh)
	for i := range in {
		in[i] = float32(rnd.NormFloat64())
	}
	in = blur(in, sw, sh, sigma/float64(f))
	var sum, square float64
	for _, v := range in {
		sum += float64(v)
		square += float64(v * v)
	}
	mean := sum / float64(len(in))
	sd := math.Sqrt(square/float64(len(in)) - mean*mean)
	out := make([]float32, w*h)
	for y := range h {
		for x := range w {
			u, v := float32(x)/float32(f), float32(y)/float32(f)
			i, j := int(u), int(v)
			u, v = u-float32(i), v-float32(j)
			o := j*sw + i
			top := in[o]*(1-u) + in[o+1]*u
			low := in[o+sw]*(1-u) + in[o+sw+1]*u
			out[y*w+x] = (top*(1-v) + low*v - float32(mean)) / float32(sd)
		}
	}
	return out
}

func linear(c [3]float64) [3]float32 {
	var out [3]float32
	for i, v := range c {
		out[i] = float32(math.Pow((v/255+0.055)/1.055, 2.4))
		if v < 10.3 {
			out[i] = float32(v / 255 / 12.92)
		}
	}
	return out
}

func (s scene) draw(t testing.TB) drawn {
	rnd := rand.New(rand.NewPCG(s.seed, 7))
	w, h := s.width, s.height
	n := w * h
	at := [2]float64{s.at[0] * float64(w), s.at[1] * float64(h)}
	long := s.size * float64(min(w, h))
	all := animals(t)
	rings := placed(all[s.animal], long, s.turn, at)
	body := cover(rings, w, h)
	out := drawn{mask: make([]bool, n), picture: &raster.Picture{Width: w, Height: h, Pix: make([]byte, 4*n)}}
	deepest := -1.0
	near := blur(body, w, h, 12)
	for i, v := range body {
		out.mask[i] = v > 0.5
		if d := float64(near[i]); out.mask[i] && d > deepest {
			deepest = d
			out.middle = [2]float64{float64(i%w) + 0.5, float64(i/w) + 0.5}
		}
	}
	pieces := [][]float32{body}
	if s.other != "" {
		to := [2]float64{at[0] + 0.04*float64(w), at[1] + 0.47*float64(h)}
		if s.at[1] > 0.5 {
			to[1] = at[1] - 0.45*float64(h)
		}
		second := cover(placed(all[s.other], 0.5*long, -s.turn, to), w, h)
		pieces = append(pieces, second)
		out.other, out.second = to, make([]bool, n)
		for i, v := range second {
			out.second[i] = v > 0.5
		}
	}
	// The cloth, in linear light.
	red, green, blue := make([]float32, n), make([]float32, n), make([]float32, n)
	planes := [3][]float32{red, green, blue}
	base, second := linear(s.cloth), linear(s.second)
	folds, weave := cloud(rnd, w, h, float64(w)/9), cloud(rnd, w, h, 1.1)
	slope := rnd.Float64() * 2 * math.Pi
	gx, gy := math.Cos(slope), math.Sin(slope)
	lean := rnd.Float64() * 0.6
	band := float64(min(w, h)) / 17
	light := make([]float32, n)
	for y := range h {
		for x := range w {
			i := y*w + x
			u, v := float64(x)/float64(w)-0.5, float64(y)/float64(h)-0.5
			bright := 1 - s.light*(0.5+(u*gx+v*gy)/1.42) + 0.02*float64(folds[i])
			light[i] = float32(bright)
			c := base
			sx, sy := float64(x)*math.Cos(lean)+float64(y)*math.Sin(lean), float64(y)*math.Cos(lean)-float64(x)*math.Sin(lean)
			a, b := int(math.Floor(sx/band))&1, int(math.Floor(sy/band))&1
			switch s.pattern {
			case "stripes":
				if a == 1 {
					c = second
				}
			case "checks":
				for k := range c {
					c[k] = (base[k]*float32(2-a-b) + second[k]*float32(a+b)) / 2
				}
			}
			for k, plane := range planes {
				plane[i] = c[k] * (1 + 0.016*weave[i])
			}
		}
	}
	// The shadows: one that lies off to a side, and one close round the piece.
	dx, dy := 0.035*long, 0.06*long
	shade := make([]float32, n)
	for _, piece := range pieces {
		cast := make([]float32, n)
		for y := range h {
			for x := range w {
				if fx, fy := x-int(dx), y-int(dy); fx >= 0 && fy >= 0 {
					cast[y*w+x] = piece[fy*w+fx]
				}
			}
		}
		cast = blur(cast, w, h, s.soft)
		close := blur(piece, w, h, s.soft/3)
		for i := range shade {
			shade[i] = max(shade[i], float32(s.shadow)*min(1, 0.8*cast[i]+0.5*close[i]))
		}
	}
	for i := range n {
		for k, plane := range planes {
			// The shadow is lit by the room alone, which is a little bluer.
			plane[i] *= light[i] * (1 - shade[i]*[3]float32{1, 0.99, 0.97}[k])
		}
	}
	if s.card != nil {
		cw := 0.3 * float64(min(w, h))
		ch := cw * 53.98 / 85.6
		cx, cy := 0.72*float64(w), 0.82*float64(h)
		if s.at[1] > 0.5 {
			cy = 0.16 * float64(h)
		}
		turn := rnd.Float64()*0.5 - 0.25
		for _, p := range [][2]float64{{-cw / 2, -ch / 2}, {cw / 2, -ch / 2}, {cw / 2, ch / 2}, {-cw / 2, ch / 2}} {
			out.card = append(out.card, [2]float64{cx + p[0]*math.Cos(turn) - p[1]*math.Sin(turn), cy + p[0]*math.Sin(turn) + p[1]*math.Cos(turn)})
		}
		c := linear(*s.card)
		for i, v := range cover([]Ring{out.card}, w, h) {
			for k, plane := range planes {
				plane[i] = plane[i]*(1-v) + v*c[k]*light[i]
			}
		}
	}
	// The wool: fleece of two grains, rounded by a light from above on the left.
	grain, fleck, fibre := cloud(rnd, w, h, 2.2), cloud(rnd, w, h, 7), cloud(rnd, w, h, 1)
	wool := linear(s.wool)
	patches := cloud(rnd, w, h, long/14)
	for _, piece := range pieces {
		lump := blur(piece, w, h, long/22)
		fine := blur(piece, w, h, long/60)
		coverage := blur(piece, w, h, 0.8)
		for y := range h {
			for x := range w {
				i := y*w + x
				v := coverage[i]
				if v == 0 {
					continue
				}
				l, r := i, i
				if x > 0 && x < w-1 {
					l, r = i-1, i+1
				}
				up, down := i, i
				if y > 0 && y < h-1 {
					up, down = i-w, i+w
				}
				nx := (lump[r]-lump[l])*float32(long)/16 + (fine[r]-fine[l])*float32(long)/90
				ny := (lump[down]-lump[up])*float32(long)/16 + (fine[down]-fine[up])*float32(long)/90
				shading := min(1.15, max(0.35, 0.9+0.28*(nx+1.4*ny)+0.18*(2*fine[i]-1.6)))
				shading *= 1 + s.fleece*(0.08*grain[i]+0.07*fleck[i]+0.11*fibre[i])
				c := wool
				if s.patch != nil && patches[i] > 0.7 {
					c = linear(*s.patch)
				}
				for k, plane := range planes {
					plane[i] = plane[i]*(1-v) + v*c[k]*shading*light[i]
				}
			}
		}
	}
	s.hairs(rnd, rings, planes, light, wool, out.mask)
	for _, plane := range planes {
		copy(plane, blur(plane, w, h, 0.6))
	}
	for i := range n {
		for k, plane := range planes {
			v := float64(plane[i])
			if v <= 0.0031308 {
				v *= 12.92
			} else {
				v = 1.055*math.Pow(v, 1/2.4) - 0.055
			}
			out.picture.Pix[4*i+k] = byte(min(255, max(0, 255*v+s.noise*rnd.NormFloat64()+0.5)))
		}
		out.picture.Pix[4*i+3] = 255
	}
	return out
}

// hairs draws a fringe of fur along the edge and a few long stray fibres, none wider than
// a pixel and a half.
func (s scene) hairs(rnd *rand.Rand, rings []Ring, planes [3][]float32, light []float32, wool [3]float32, mask []bool) {
	w, h := s.width, s.height
	put := func(x, y float64, v float32) {
		i, j := int(math.Floor(x)), int(math.Floor(y))
		if i < 0 || j < 0 || i >= w || j >= h || mask[j*w+i] {
			return
		}
		for k, plane := range planes {
			o := j*w + i
			plane[o] = plane[o]*(1-v) + v*wool[k]*light[o]*0.9
		}
	}
	strand := func(x, y, turn, long, bend float64) {
		for d := 0.0; d < long; d += 0.5 {
			put(x, y, float32(0.45*(1-0.7*d/long)))
			x += 0.5 * math.Cos(turn)
			y += 0.5 * math.Sin(turn)
			turn += bend
		}
	}
	for _, ring := range rings {
		for i, b := range ring {
			a := ring[(i+len(ring)-1)%len(ring)]
			d := minus(b, a)
			length := math.Hypot(d[0], d[1])
			for at := rnd.Float64() * 2.5; at < length && s.fur > 0; at += 0.8 + rnd.Float64()*3.4 {
				x, y := a[0]+d[0]*at/length, a[1]+d[1]*at/length
				turn := math.Atan2(d[1], d[0]) + math.Pi/2*(1-2*float64(rnd.IntN(2))) + rnd.NormFloat64()*0.6
				strand(x, y, turn, s.fur*math.Pow(rnd.Float64(), 2), rnd.NormFloat64()*0.05)
				if rnd.Float64() < 0.01 {
					strand(x, y, turn, 3*s.fur+20*rnd.Float64(), rnd.NormFloat64()*0.03)
				}
			}
		}
	}
}

// same gives intersection over union of rings and a mask, pixel by pixel.
func same(rings []Ring, mask []bool, w, h int) float64 {
	both, either := 0, 0
	for i, v := range cover(rings, w, h) {
		in := v > 0.5
		if in && mask[i] {
			both++
		}
		if in || mask[i] {
			either++
		}
	}
	return float64(both) / float64(max(1, either))
}
