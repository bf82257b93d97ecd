package outline

import (
	"math"
	"math/rand/v2"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
	"pgregory.net/rapid"
)

// The cheapest way by trying all shorter ones over and over until none gets shorter (Bellman 1958, Ford 1956): slow and
// plain, against Dijkstra's with buckets.
func cheapest(c *wire, from, to int) int {
	n := len(c.cost)
	far := make([]int, n)
	for i := range far {
		far[i] = math.MaxInt32
	}
	far[from] = 0
	for changed := true; changed; {
		changed = false
		for i := range n {
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					x, y := i%c.w+dx, i/c.w+dy
					if x < 0 || y < 0 || x >= c.w || y >= c.h || dx == 0 && dy == 0 || far[i] == math.MaxInt32 {
						continue
					}
					long := 5
					if dx != 0 && dy != 0 {
						long = 7
					}
					if d := far[i] + long*int(c.cost[y*c.w+x]); d < far[y*c.w+x] {
						far[y*c.w+x], changed = d, true
					}
				}
			}
		}
	}
	return far[to]
}

func TestFollowIsTheCheapestWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 12).Draw(t, "w"), rapid.IntRange(1, 12).Draw(t, "h")
		c := &wire{w, h, make([]uint8, w*h)}
		for i := range c.cost {
			c.cost[i] = uint8(rapid.IntRange(leastCost, mostCost).Draw(t, "cost"))
		}
		from, to := rapid.IntRange(0, w*h-1).Draw(t, "from"), rapid.IntRange(0, w*h-1).Draw(t, "to")
		way := c.follow(from, to)
		if way[0] != from || way[len(way)-1] != to {
			t.Fatalf("the way goes from %d to %d", way[0], way[len(way)-1])
		}
		sum := 0
		for k := 1; k < len(way); k++ {
			dx, dy := way[k]%w-way[k-1]%w, way[k]/w-way[k-1]/w
			if dx < -1 || dx > 1 || dy < -1 || dy > 1 {
				t.Fatalf("a step from %d to %d", way[k-1], way[k])
			}
			long := 5
			if dx != 0 && dy != 0 {
				long = 7
			}
			sum += long * int(c.cost[way[k]])
		}
		if want := cheapest(c, from, to); sum != want {
			t.Fatalf("the way costs %d, and %d is enough", sum, want)
		}
	})
}

// disc is a crop with a noisy disc in it, whose edge is known.
func disc(w, h int, at [2]float64, radius, noise float64) *raster.Picture {
	rnd := rand.New(rand.NewPCG(3, 3))
	p := &raster.Picture{Width: w, Height: h, Pix: make([]byte, 4*w*h)}
	for i := range w * h {
		off := math.Hypot(float64(i%w)+0.5-at[0], float64(i/w)+0.5-at[1]) - radius
		share := 1 / (1 + math.Exp(1.7*off)) // an edge about 2 px soft
		for k, c := range [3][2]float64{{150, 212}, {105, 206}, {75, 196}} {
			p.Pix[4*i+k] = byte(min(255, max(0, c[0]*share+c[1]*(1-share)+noise*rnd.NormFloat64())))
		}
		p.Pix[4*i+3] = 255
	}
	return p
}

func TestSnapFollowsTheEdge(t *testing.T) {
	const left, top = 700, 300
	at := [2]float64{160, 150}
	p := disc(320, 320, at, 100, 3)
	var turns = []float64{0, 1.2, 2, 3.5}
	for _, turn := range turns {
		on := func(a, off float64) [2]float64 {
			return [2]float64{left + at[0] + (100+off)*math.Cos(a), top + at[1] + (100+off)*math.Sin(a)}
		}
		// A finger that is up to 6 px beside the edge.
		req := SnapRequest{Image: "crop", Left: left, Top: top, From: on(turn, 6), To: on(turn+1.3, -5)}
		got, err := Snap(req, raster.Loose{"crop": p})
		if err != nil {
			t.Fatal(err)
		}
		path := got.Path
		if path[0] != req.From || path[len(path)-1] != req.To {
			t.Errorf("from %v to %v", path[0], path[len(path)-1])
		}
		off, worst, n := 0.0, 0.0, 0
		for k := range len(path) - 1 {
			for s := range 20 { // along the path, but for the first and last of it
				f := float64(s) / 20
				x := path[k][0]*(1-f) + path[k+1][0]*f - left
				y := path[k][1]*(1-f) + path[k+1][1]*f - top
				if math.Hypot(x+left-req.From[0], y+top-req.From[1]) < 14 || math.Hypot(x+left-req.To[0], y+top-req.To[1]) < 14 {
					continue
				}
				d := math.Abs(math.Hypot(x-at[0], y-at[1]) - 100)
				off, worst, n = off+d, max(worst, d), n+1
			}
		}
		if n == 0 || off/float64(n) > 0.7 || worst > 2.5 {
			t.Errorf("turn %v: %v px off on the mean, %v at worst, of %d places", turn, off/float64(n), worst, n)
		}
	}
}

func TestSnapRefuses(t *testing.T) {
	src := raster.Loose{"crop": disc(20, 20, [2]float64{10, 10}, 5, 0), "big": disc(MaxCrop+1, 2, [2]float64{10, 10}, 5, 0)}
	_, err := Snap(SnapRequest{Image: "none"}, src)
	refused(t, err, fault.PictureMissing)
	_, err = Snap(SnapRequest{Image: "big"}, src)
	refused(t, err, fault.OutOfRange)
	_, err = Snap(SnapRequest{Image: "crop", Left: 100, From: [2]float64{5, 5}, To: [2]float64{110, 5}}, src)
	refused(t, err, fault.OutOfRange)
	_, err = Snap(SnapRequest{Image: "crop", From: [2]float64{5, 5}, To: [2]float64{5, math.NaN()}}, src)
	refused(t, err, fault.OutOfRange)
	// A crop with no edge at all, and one of a single pixel.
	plain := &raster.Picture{Width: 1, Height: 1, Pix: make([]byte, 4)}
	got, err := Snap(SnapRequest{Image: "one", From: [2]float64{0.5, 0.5}, To: [2]float64{1, 1}}, raster.Loose{"one": plain})
	if err != nil || len(got.Path) != 2 {
		t.Errorf("%v %v", got, err)
	}
}

func BenchmarkSnap(b *testing.B) {
	src := raster.Loose{"crop": disc(320, 320, [2]float64{160, 160}, 120, 3)}
	req := SnapRequest{Image: "crop", From: [2]float64{281, 160}, To: [2]float64{41, 150}}
	for b.Loop() {
		if _, err := Snap(req, src); err != nil {
			b.Fatal(err)
		}
	}
}
