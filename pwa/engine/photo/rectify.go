package photo

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// The limits of a picture that is made.
const (
	MaxMadeSide = 8192
	MaxMade     = 16_000_000 // px in all
	mostSamples = 12         // px of the photo, each way, that are averaged for one
)

// RectifyRequest asks for a part of a plane as it would look from straight above.
type RectifyRequest struct {
	// Image is the photo's name.
	Image string `json:"image"`
	// Matrix brings px of the photo to mm of the plane, row by row, its last number 1.
	Matrix []float64 `json:"matrix"`
	// LeftMM is the least x of the part, mm of the plane, within MaxSizeMM of 0.
	LeftMM float64 `json:"left_mm"`
	// TopMM is the least y of the part, mm of the plane, within MaxSizeMM of 0.
	TopMM float64 `json:"top_mm"`
	// WidthMM is its width, mm, above 0, at most MaxSizeMM.
	WidthMM float64 `json:"width_mm"`
	// HeightMM is its height, mm, above 0, at most MaxSizeMM.
	HeightMM float64 `json:"height_mm"`
	// PxPerMM is how fine the picture is made, px per mm: above 0, at most 1000. It has at
	// most MaxMadeSide px on a side and MaxMade in all.
	PxPerMM float64 `json:"px_per_mm"`
}

// RectifyResponse is the picture: its pixels are in Bytes.
type RectifyResponse struct {
	// WidthPx is its width in px.
	WidthPx int `json:"width_px"`
	// HeightPx is its height in px.
	HeightPx int `json:"height_px"`

	pix []byte
}

// Bytes are red, green, blue and alpha of each pixel, in rows from the top. Alpha is 0 where
// the photo shows nothing of the plane.
func (r RectifyResponse) Bytes() []byte { return r.pix }

// Rectify makes a picture of a part of the plane: where it has less px than the photo, each
// is the mean of those it covers, else it lies between the four nearest (bilinear). It
// refuses with OutOfRange, PointsOnALine (a matrix without a way back), TooMany (more px
// than are made), and what the source refuses.
func Rectify(req RectifyRequest, from raster.Source) (RectifyResponse, error) {
	back, width, height, err := checkRectify(req)
	if err != nil {
		return RectifyResponse{}, err
	}
	pic, err := from.Pixels(req.Image)
	if err != nil {
		return RectifyResponse{}, err
	}
	var forth Matrix
	copy(forth[:], req.Matrix)
	w := warp{pic: pic, forth: forth, back: back, side: seenFrom(forth, pic)}
	out := RectifyResponse{width, height, make([]byte, 4*width*height)}
	step := 1 / req.PxPerMM
	for j := range height {
		for i := range width {
			at := Point{req.LeftMM + float64((float64(i)+0.5)*step), req.TopMM + float64((float64(j)+0.5)*step)}
			w.paint(out.pix[4*(j*width+i):], at, step)
		}
	}
	return out, nil
}

func checkRectify(req RectifyRequest) (back Matrix, width, height int, err error) {
	if len(req.Matrix) != 9 {
		return back, 0, 0, fault.New(fault.OutOfRange, "matrix", "matrix holds %d numbers, and must hold 9.", len(req.Matrix))
	}
	for _, c := range []struct {
		at              string
		value, from, to float64
	}{
		{"left_mm", req.LeftMM, -MaxSizeMM, MaxSizeMM}, {"top_mm", req.TopMM, -MaxSizeMM, MaxSizeMM},
		{"width_mm", req.WidthMM, 1e-3, MaxSizeMM}, {"height_mm", req.HeightMM, 1e-3, MaxSizeMM},
		{"px_per_mm", req.PxPerMM, 1e-3, 1000},
	} {
		if err := fault.Between(c.at, c.value, c.from, c.to); err != nil {
			return back, 0, 0, err
		}
	}
	w, h := math.Floor(float64(req.WidthMM*req.PxPerMM)+0.5), math.Floor(float64(req.HeightMM*req.PxPerMM)+0.5)
	if w > MaxMadeSide || h > MaxMadeSide || w*h > MaxMade {
		return back, 0, 0, fault.New(fault.TooMany, "px_per_mm", "The picture would be %.0f x %.0f px, and at most %d on a side and %d in all are made. Make it smaller or coarser.", w, h, MaxMadeSide, MaxMade)
	}
	back, ok := Matrix(req.Matrix).Inverse()
	if !ok {
		return back, 0, 0, fault.New(fault.PointsOnALine, "matrix", "matrix has no way back from the plane to the picture.")
	}
	return back, max(int(w), 1), max(int(h), 1), nil
}

// seenFrom is the sign of w in the picture, on the near side of the plane's horizon.
func seenFrom(m Matrix, pic *raster.Picture) float64 {
	_, _, w := m.lift(Point{float64(pic.Width) / 2, float64(pic.Height) / 2})
	if w < 0 {
		return -1
	}
	return 1
}

// warp looks up points of the plane in a photo.
type warp struct {
	pic         *raster.Picture
	forth, back Matrix
	side        float64
}

// paint sets one px of the picture that is made, at a point of the plane, step mm wide.
func (w *warp) paint(out []byte, at Point, step float64) {
	p := w.back.Apply(at)
	_, _, depth := w.forth.lift(p)
	if !(depth*w.side > 0) || !w.within(p) {
		return
	}
	j := w.back.Jacobian(at)
	nx := samples(float64(step * math.Sqrt(float64(j[0]*j[0])+float64(j[2]*j[2]))))
	ny := samples(float64(step * math.Sqrt(float64(j[1]*j[1])+float64(j[3]*j[3]))))
	var sum [4]float64
	for y := range ny {
		v := step * ((float64(y)+0.5)/float64(ny) - 0.5)
		for x := range nx {
			u := step * ((float64(x)+0.5)/float64(nx) - 0.5)
			q := Point{p[0] + float64(j[0]*u) + float64(j[1]*v), p[1] + float64(j[2]*u) + float64(j[3]*v)}
			if !w.within(q) {
				continue
			}
			c := colourAt(w.pic, q)
			for ch := range c {
				sum[ch] += c[ch]
			}
			sum[3]++
		}
	}
	if sum[3] == 0 {
		return
	}
	for ch := range 3 {
		out[ch] = byte(sum[ch]/sum[3] + 0.5)
	}
	out[3] = byte(255*sum[3]/float64(nx*ny) + 0.5)
}

func (w *warp) within(p Point) bool {
	return p[0] >= 0 && p[1] >= 0 && p[0] <= float64(w.pic.Width) && p[1] <= float64(w.pic.Height)
}

// samples is how many px of the photo one of the picture covers, in one direction.
func samples(px float64) int { return int(min(max(math.Ceil(px-0.01), 1), mostSamples)) }
