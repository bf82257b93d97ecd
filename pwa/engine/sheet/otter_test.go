package sheet

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"needlesight/pwa/engine/raster"
)

// An otter of our own, from the side and from the front: points that a smooth line
// goes through, drawn by hand, in shares of its length.
var (
	otterSide = [][2]float64{{0, .115}, {.012, .075}, {.045, .045}, {.06, .03}, {.075, .042}, {.12, .05}, {.17, .085}, {.24, .09}, {.34, .06}, {.45, .065}, {.55, .1},
		{.64, .15}, {.76, .215}, {.9, .27}, {1, .295}, {.995, .31}, {.88, .305}, {.74, .275}, {.62, .235}, {.6, .25}, {.605, .29}, {.64, .31}, {.635, .325}, {.57, .325},
		{.55, .29}, {.53, .235}, {.44, .22}, {.34, .215}, {.27, .215}, {.265, .25}, {.275, .295}, {.305, .315}, {.3, .33}, {.24, .33}, {.225, .3}, {.215, .24}, {.19, .2},
		{.14, .165}, {.08, .15}, {.025, .145}}
	otterFront = [][2]float64{{.13, 0}, {.17, .02}, {.2, .01}, {.215, .035}, {.235, .09}, {.225, .15}, {.26, .2}, {.285, .28}, {.28, .36}, {.3, .4}, {.29, .43}, {.22, .43},
		{.2, .4}, {.13, .405}, {.06, .4}, {.04, .43}, {-.03, .43}, {-.04, .4}, {-.02, .36}, {-.025, .28}, {0, .2}, {.035, .15}, {.025, .09}, {.045, .035}, {.06, .01}, {.09, .02}}
	otterGap = [][2]float64{{.1, .31}, {.13, .3}, {.16, .31}, {.165, .37}, {.13, .38}, {.095, .37}}
)

// smooth goes through all points as a closed Catmull-Rom spline.
func smooth(points [][2]float64, mm float64) (ring [][2]float64) {
	n := len(points)
	const steps = 12
	for i := range points {
		a, b, c, d := points[(i+n-1)%n], points[i], points[(i+1)%n], points[(i+2)%n]
		for k := range steps {
			t := float64(k) / steps
			var p [2]float64
			for x := range 2 {
				p[x] = mm / 2 * (2*b[x] + (c[x]-a[x])*t + (2*a[x]-5*b[x]+4*c[x]-d[x])*t*t + (3*b[x]-a[x]-3*c[x]+d[x])*t*t*t)
			}
			ring = append(ring, p)
		}
	}
	return ring
}

// files are pictures that a request names.
type files map[string][]byte

func (f files) File(name string) ([]byte, string, error) {
	file, ok := f[name]
	if !ok {
		return nil, "", raster.Missing(name)
	}
	kind := "image/png"
	if bytes.HasPrefix(file, []byte{0xff, 0xd8}) {
		kind = "image/jpeg"
	}
	return file, kind, nil
}

func (f files) Pixels(name string) (*raster.Picture, error) {
	file, ok := f[name]
	if !ok {
		return nil, raster.Missing(name)
	}
	m, _, err := image.Decode(bytes.NewReader(file))
	if err != nil {
		return nil, raster.Missing(name)
	}
	b := m.Bounds()
	p := &raster.Picture{Width: b.Dx(), Height: b.Dy()}
	for y := range p.Height {
		for x := range p.Width {
			c := color.NRGBAModel.Convert(m.At(b.Min.X+x, b.Min.Y+y)).(color.NRGBA)
			p.Pix = append(p.Pix, c.R, c.G, c.B, c.A)
		}
	}
	return p, nil
}

// wool is a photo of the otter in brown wool on a cloth: pxPerMM px a mm, with
// aroundMM of cloth; the otter's origin lies at aroundMM. The grain makes it as long
// a file as photos are.
func wool(ring [][2]float64, pxPerMM, around float64) []byte {
	b := nowhere().add(ring...).around(around)
	w, h := int(b.width()*pxPerMM), int(b.height()*pxPerMM)
	chance := rand.New(rand.NewPCG(1, 2))
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		py := b.top + (float64(y)+.5)/pxPerMM
		var cuts []float64 // where this row crosses the outline
		for i, p := range ring {
			q := ring[(i+1)%len(ring)]
			if (p[1] > py) != (q[1] > py) {
				cuts = append(cuts, p[0]+(py-p[1])/(q[1]-p[1])*(q[0]-p[0]))
			}
		}
		for x := range w {
			px := b.left + (float64(x)+.5)/pxPerMM
			inside := false
			for _, c := range cuts {
				inside = inside != (c > px)
			}
			grain := 14 * (chance.Float64() - .5)
			light := 6 * math.Sin(px/9+py/7)
			c := color.RGBA{uint8(206 + grain), uint8(212 + grain), uint8(208 + grain), 255}
			if inside {
				c = color.RGBA{uint8(122 + 2*grain + light), uint8(92 + 2*grain + light), uint8(66 + 2*grain + light), 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	var file bytes.Buffer
	if err := jpeg.Encode(&file, m, &jpeg.Options{Quality: 92}); err != nil {
		panic(err)
	}
	return file.Bytes()
}

var otterParts = []Part{
	{"Head", "1", "34 mm"}, {"Body", "3 1/4 ± 0.1", "110 mm"}, {"Tail", "1 3/4", "60 mm"}, {"Foreleg", "0.9", "31 mm"}, {"Hindleg", "1", "34 mm"},
	{"Neck, across", "0.7", "24 mm"}, {"Body, across", "0.95", "32 mm"}, {"Tail, across at the root", "0.45", "15 mm"},
}

var otterCautions = []string{
	"Needles are barbed and brittle: eyes on the needle, straight in and straight out, finger guards on.",
	"Count needles out and in, and find a broken tip before going on.",
	"A decoration, not a toy for small children: beads, wire and loose wool can be swallowed.",
}

// otter is a request for the otter so many mm long, and its photos.
func otter(mm float64, what, paper string) (Request, files) {
	side, front := smooth(otterSide, mm), smooth(otterFront, mm)
	const around = 18
	place := func(ring [][2]float64) *Place {
		b := nowhere().add(ring...).around(around)
		return &Place{LeftMM: b.left, TopMM: b.top, WidthMM: b.width(), HeightMM: b.height()}
	}
	sized := func(ring [][2]float64) []byte { // as if all were taken at 180 mm
		return wool(ring, 1600/(mm+36), around)
	}
	req := Request{Paper: paper, Title: "Otter", Size: "18 cm long", Date: "28 November 2026", Parts: otterParts, Cautions: otterCautions, Views: []View{
		{Name: "Side", What: what, Image: "side", Photo: place(side), RingsMM: [][][2]float64{side},
			Marks: []Mark{{"Head", [2][2]float64{{0, -.03 * mm}, {.17 * mm, -.03 * mm}}, "34 mm"}, {"Body", [2][2]float64{{0, .38 * mm}, {.62 * mm, .38 * mm}}, "110 mm"},
				{"Tail", [2][2]float64{{.62 * mm, .1 * mm}, {mm, .24 * mm}}, "60 mm"}}},
		{Name: "Front", What: what, Image: "front", Photo: place(front), RingsMM: [][][2]float64{front, smooth(otterGap, mm)}},
	}}
	photos := files{}
	if what != "outline" {
		photos["side"], photos["front"] = sized(side), sized(front)
	}
	return req, photos
}

// TestLook writes documents to look at into the folder that SHEET_LOOK names.
func TestLook(t *testing.T) {
	dir := os.Getenv("SHEET_LOOK")
	if dir == "" {
		return
	}
	for _, l := range looks() {
		answer, err := Make(l.req, l.photos)
		if err != nil {
			t.Fatal(l.name, err)
		}
		t.Log(l.name, answer.Pages, answer.Views, answer.Notes, len(answer.Bytes()))
		if err := os.WriteFile(dir+"/"+l.name+".pdf", answer.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

type look struct {
	name   string
	req    Request
	photos files
}

func looks() (all []look) {
	add := func(name string, mm float64, what, paper string, change func(*Request)) {
		req, photos := otter(mm, what, paper)
		if change != nil {
			change(&req)
		}
		all = append(all, look{name, req, photos})
	}
	add("small", 150, "outline", "A4", nil)
	add("two", 260, "both", "A4", nil)
	add("twelve", 620, "photo", "Letter", func(r *Request) { r.Size = "62 cm long" })
	add("outline-big", 620, "outline", "A4", nil)
	add("long", 180, "both", "Letter", func(r *Request) {
		r.Title = "The old dog otter of the mill race, Выдра, Βίδρα 水獺 who sleeps on the third stone below the weir, for Mathilde’s afternoon class"
		r.Size = "18 cm from the nose to the tip of the tail, measured along the back"
		for i := range 36 {
			r.Parts = append(r.Parts, Part{"A part with a long name of its own, measured straight across, " + string(rune('a'+i%26)), "1 1/16 ± 0.05", "22 1/16 in"})
		}
		r.Cautions = append(r.Cautions, r.Cautions...)
		r.Views[0].Name = "From the left side, as she stands at the water with her head up and turned"
	})
	return all
}
