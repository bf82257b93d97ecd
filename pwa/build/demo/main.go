// Command demo makes the pictures of the demo: a felted otter and a felted barn owl of our own, in light and shade, as a camera would
// see them. The same picture comes of every run. Besides the pictures it writes down what is known of them, since they were made by
// numbers: where the card's corners lie, where the ends of each part, and the outline of the otter.
package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"log"
	"math"
	"os"
	"path/filepath"
)

type pin struct {
	name string
	ends [2]vec
}

type shot struct {
	name    string
	scene   *scene
	after   func(*photo)
	pins    []pin
	outline bool
}

func main() {
	log.SetFlags(0)
	to := flag.String("to", "pwa/app/demo", "where the pictures go")
	size := flag.Int("size", 1200, "the long side, px")
	fine := flag.Int("fine", 4, "rays along the side of a pixel at the edge of the animal")
	only := flag.String("only", "", "one picture alone")
	flag.Parse()
	if err := run(*to, *size, *fine, *only); err != nil {
		log.Fatal(err)
	}
}

func run(to string, size, fine int, only string) error {
	told := map[string]any{}
	for _, one := range shots(size, fine) {
		if only != "" && one.name != only {
			continue
		}
		ph := one.scene.shoot()
		if one.after != nil {
			one.after(ph)
		}
		about, err := write(to, one, ph)
		if err != nil {
			return err
		}
		told[one.name] = about
	}
	if only != "" {
		return nil
	}
	text, err := json.Marshal(told)
	if err != nil {
		return err
	}
	head := "// What is known of the demo's pictures: the ends of each part, the card's corners, the otter's outline, in px. Written by pwa/build/demo.\n"
	return os.WriteFile(filepath.Join(to, "known.js"), fmt.Appendf([]byte(head), "export const known = %s;\n", text), 0o644)
}

// write keeps a picture and its small one, and tells what is known of it.
func write(to string, one shot, ph *photo) (map[string]any, error) {
	picture := ph.picture()
	small := smaller(picture, 320)
	for name, file := range map[string]struct {
		picture *image.RGBA
		most    int
	}{one.name: {picture, 92_000}, one.name + "-small": {small, 14_000}} {
		text, err := pack(file.picture, file.most)
		if err != nil {
			return nil, err
		}
		if err := os.WriteFile(filepath.Join(to, name+".jpg"), text, 0o644); err != nil {
			return nil, err
		}
	}
	about := map[string]any{"width": picture.Rect.Dx(), "height": picture.Rect.Dy()}
	pins := map[string][2][2]float64{}
	for _, p := range one.pins {
		pins[p.name] = [2][2]float64{tenth(one.scene.project(p.ends[0])), tenth(one.scene.project(p.ends[1]))}
	}
	about["pins"] = pins
	if c := one.scene.card; c != nil {
		corners := [][2]float64{}
		for _, at := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
			corners = append(corners, tenth(one.scene.project(c.corner(at[0], at[1]))))
		}
		about["corners"] = corners
	}
	if one.outline {
		about["rings"] = ph.outline()
	}
	return about, nil
}

// pack is the best JPEG that is not larger than so many bytes.
func pack(picture *image.RGBA, most int) ([]byte, error) {
	for quality := 92; ; quality -= 2 {
		var out bytes.Buffer
		if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: quality}); err != nil {
			return nil, err
		}
		if out.Len() <= most || quality < 40 {
			fmt.Printf("%d x %d: quality %d, %d bytes\n", picture.Rect.Dx(), picture.Rect.Dy(), quality, out.Len())
			return out.Bytes(), nil
		}
	}
}

func tenth(p [2]float64) [2]float64 {
	return [2]float64{math.Round(p[0]*10) / 10, math.Round(p[1]*10) / 10}
}

func shots(size, fine int) []shot {
	scaled := func(s *scene) *scene {
		k := float64(size) / float64(max(s.width, s.height))
		s.width, s.height, s.focal, s.fine = int(float64(s.width)*k+0.5), int(float64(s.height)*k+0.5), s.focal*k, fine
		return s
	}
	pins := func(unit float64, list ...any) (out []pin) {
		for i := 0; i < len(list); i += 3 {
			out = append(out, pin{list[i].(string), [2]vec{list[i+1].(vec).mul(unit), list[i+2].(vec).mul(unit)}})
		}
		return out
	}
	flat := func(p vec) float64 { return p.z }
	lying := &scene{width: 1200, height: 800, eye: vec{118, 96, 640}, at: vec{112, 38, 0}, up: vec{0, -1, 0.1}, focal: 640.0 / 256 * 1200,
		light: vec{-0.52, -0.55, 0.72}.unit(), wool: otterLying(), ground: flat, cloth: rgb(172, 186, 184),
		weave: func(p vec) (float64, float64) { return p.x*0.995 + p.y*0.09, p.y*0.995 - p.x*0.09 }, card: &card{middle: vec{66, 80, 0}, turn: -0.08}, fuzz: 1}
	// A cloth that hangs down behind and runs out in front, without an edge.
	cove := func(p vec) float64 { return meld(-p.y, p.z+150, 130) }
	hung := func(p vec) (float64, float64) { return p.x, p.z - p.y }
	upright := func(wool *animal, high float64, c colour, wide float64) *scene {
		return &scene{width: 800, height: 1067, eye: vec{20, -high * 0.80, 1500}, at: vec{wide, -high * 0.47, 0}, up: vec{0, -1, 0}, focal: 1500.0 / (high * 1.34) * 1067,
			light: vec{-0.55, -0.66, 0.62}.unit(), wool: wool, ground: cove, cloth: c, weave: hung, fuzz: 1}
	}
	return []shot{
		{name: "otter-side", scene: scaled(lying), outline: true, after: func(ph *photo) {
			whisk(ph, otterHead, vec{0.17, -0.03, 0.60}, -1)
		}, pins: pins(otterHead,
			"head length", vec{-0.005, -0.10, 0.42}, vec{1.0, -0.20, 0.45}, "whole length", vec{-0.005, -0.10, 0.42}, vec{7.475, 0.28, 0.09},
			"body length", vec{1.51, -0.02, 0.48}, vec{4.70, 0.06, 0.40}, "tail", vec{4.70, 0.06, 0.40}, vec{7.475, 0.28, 0.09},
			"foreleg", vec{2.02, -0.04, 0.80}, vec{1.86, 0.815, 0.84}, "hind leg", vec{4.22, -0.12, 0.72}, vec{4.13, 0.92, 0.84},
			"body depth", vec{3.1, -0.515, 0.5}, vec{3.1, 0.49, 0.5})},
		{name: "otter-front", scene: scaled(upright(otterStanding(), otterHead*4.15, rgb(172, 186, 184), 12)), after: func(ph *photo) {
			whisk(ph, otterHead, vec{-0.12, -3.69, 0.66}, -1)
			whisk(ph, otterHead, vec{0.12, -3.69, 0.66}, 1)
		}, pins: pins(otterHead, "head width", vec{-0.375, -3.80, 0.2}, vec{0.375, -3.80, 0.2}, "neck width", vec{-0.328, -3.16, 0.12}, vec{0.328, -3.16, 0.12},
			"body width", vec{-0.515, -1.5, 0}, vec{0.515, -1.5, 0})},
		{name: "owl-front", scene: scaled(upright(owlStanding(0), owlHead*3.75, rgb(96, 116, 124), 0)), pins: pins(owlHead,
			"body height", vec{0, -3.75, 0}, vec{0, 0, 0}, "head height", vec{0, -3.75, 0}, vec{0, -2.75, 0},
			"face height", vec{0, -3.66, 0.4}, vec{0, -2.826, 0.4}, "face width", vec{-0.395, -3.30, 0.3}, vec{0.395, -3.30, 0.3},
			"body width", vec{-0.633, -1.9, 0}, vec{0.633, -1.9, 0}, "eye spacing", vec{-0.1667, -3.285, 0.5}, vec{0.1667, -3.285, 0.5})},
		{name: "owl-side", scene: scaled(upright(owlStanding(-1.45), owlHead*3.75, rgb(96, 116, 124), 0)), pins: pins(owlHead,
			"body height", vec{0, -3.75, 0}, vec{0, 0, 0}, "wing", vec{0.16, -2.89, 0.45}, vec{0.54, -0.09, 0.22})},
	}
}

// whisk draws whiskers from a point of the muzzle to one side.
func whisk(ph *photo, unit float64, from vec, side float64) {
	for i := range 5 {
		f := float64(i) - 2
		at := from.add(vec{0.012 * f, 0.022 * f, 0})
		ph.line(rgb(240, 236, 226), 0.5, at.mul(unit), at.add(vec{side * (0.34 + 0.04*math.Abs(f)), 0.06*f + 0.05, 0.1}).mul(unit))
	}
}

// smaller is a picture whose long side is so many px: each of its pixels is the mean of those it stands for.
func smaller(p *image.RGBA, side int) *image.RGBA {
	w, h := p.Rect.Dx(), p.Rect.Dy()
	long := max(w, h)
	out := image.NewRGBA(image.Rect(0, 0, w*side/long, h*side/long))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			var sum [3]int
			n := 0
			for v := y * long / side; v < min(h, (y+1)*long/side); v++ {
				for u := x * long / side; u < min(w, (x+1)*long/side); u++ {
					c := p.RGBAAt(u, v)
					sum[0], sum[1], sum[2], n = sum[0]+int(c.R), sum[1]+int(c.G), sum[2]+int(c.B), n+1
				}
			}
			out.SetRGBA(x, y, color.RGBA{uint8(sum[0] / n), uint8(sum[1] / n), uint8(sum[2] / n), 255})
		}
	}
	return out
}
