package outline

import (
	"math"

	"needlesight/pwa/engine/raster"
)

// maxLooked is the most pixels that are looked at one by one: a bigger photo is made
// smaller first. Edges of wool are no finer than that.
const maxLooked = 1_500_000

// smaller makes a photo of more than maxLooked pixels smaller, each new pixel the mean of what it
// covers, and tells by what factor it was bigger.
func smaller(p *raster.Picture) (*raster.Picture, float64) {
	if p.Width*p.Height <= maxLooked {
		return p, 1
	}
	f := math.Sqrt(float64(p.Width) * float64(p.Height) / 1_400_000)
	w, h := int(float64(p.Width)/f), int(float64(p.Height)/f)
	out := &raster.Picture{Width: max(1, w), Height: max(1, h)}
	out.Pix = make([]byte, 4*out.Width*out.Height)
	row := make([]float32, 4*out.Width)
	for y := range out.Height {
		clear(row)
		top, bottom := float64(y)*f, min(float64(y+1)*f, float64(p.Height))
		for sy := int(top); sy < p.Height && float64(sy) < bottom; sy++ {
			tall := float32(min(bottom, float64(sy+1)) - max(top, float64(sy)))
			addRow(row, p.Pix[4*sy*p.Width:4*(sy+1)*p.Width], f, tall)
		}
		for i, v := range row {
			out.Pix[4*y*out.Width+i] = byte(min(255, v/float32(f*f)+0.5))
		}
	}
	return out, f
}

// addRow adds a row of pixels, each by how much of it lies in each of the new ones.
func addRow(row []float32, pix []byte, f float64, tall float32) {
	n := len(row) / 4
	for x := range n {
		left, right := float64(x)*f, min(float64(x+1)*f, float64(len(pix)/4))
		for sx := int(left); 4*sx < len(pix) && float64(sx) < right; sx++ {
			wide := tall * float32(min(right, float64(sx+1))-max(left, float64(sx)))
			for k := range 4 {
				row[4*x+k] += float32(wide * float32(pix[4*sx+k]))
			}
		}
	}
}
