package sheet

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// photo is a picture as it goes into the document: once, however many pages show it.
type photo struct {
	name          string // in the document
	jpeg          []byte
	width, height int    // px
	space         string // of its colours, in the words of ISO 32000-1, 8.6.4
}

// quality is that of a picture which is packed anew.
const quality = 92

// load gets the pictures of all views that show one, each once. They come in the
// order of the views.
func load(views []View, from raster.Source) (map[string]*photo, error) {
	photos := map[string]*photo{}
	for _, v := range views {
		if v.What == "outline" || photos[v.Image] != nil {
			continue
		}
		p, err := read(v.Image, from)
		if err != nil {
			return nil, err
		}
		p.name = fmt.Sprintf("Photo%02d", len(photos)+1)
		photos[v.Image] = p
	}
	return photos, nil
}

// read takes a whole JPEG of grey or YCbCr as it is: every reader of PDF knows it.
// Whatever else it is, is packed anew.
func read(name string, from raster.Source) (*photo, error) {
	file, kind, err := from.File(name)
	if err != nil {
		return nil, err
	}
	if kind == "image/jpeg" && ends(file) {
		if c, err := jpeg.DecodeConfig(bytes.NewReader(file)); err == nil {
			switch c.ColorModel {
			case color.YCbCrModel:
				return &photo{jpeg: file, width: c.Width, height: c.Height, space: "DeviceRGB"}, raster.CheckSize(name, c.Width, c.Height)
			case color.GrayModel:
				return &photo{jpeg: file, width: c.Width, height: c.Height, space: "DeviceGray"}, raster.CheckSize(name, c.Width, c.Height)
			}
		}
	}
	pixels, err := from.Pixels(name)
	if err != nil {
		return nil, err
	}
	return pack(name, pixels)
}

// ends tells whether a JPEG has its last marker (ITU-T T.81, B.1.1.3); one that was
// cut short has not.
func ends(file []byte) bool {
	return bytes.HasSuffix(bytes.TrimRight(file, "\x00\r\n"), []byte{0xff, 0xd9})
}

// pack makes a JPEG of a picture as it looks on white paper.
func pack(name string, p *raster.Picture) (*photo, error) {
	flat := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
	for i := 0; i < len(p.Pix); i += 4 {
		alpha := int(p.Pix[i+3])
		for c := range 3 {
			flat.Pix[i+c] = byte((int(p.Pix[i+c])*alpha + 255*(255-alpha) + 127) / 255)
		}
		flat.Pix[i+3] = 255
	}
	var file bytes.Buffer
	if err := jpeg.Encode(&file, flat, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fault.New(fault.PictureNotRead, name, "%.200s could not be packed for the document: %v.", name, err)
	}
	return &photo{jpeg: file.Bytes(), width: p.Width, height: p.Height, space: "DeviceRGB"}, nil
}

// matrix takes the photo's px to mm: x = m[0] px + m[1] py + m[2], and y alike.
func (p *photo) matrix(at *Place) [6]float64 {
	if m := at.Matrix; m != nil {
		return [6]float64(m[:6])
	}
	return [6]float64{at.WidthMM / float64(p.width), 0, at.LeftMM, 0, at.HeightMM / float64(p.height), at.TopMM}
}

// box is what the whole photo covers, in mm.
func (p *photo) box(m [6]float64) box {
	b := nowhere()
	for _, c := range [][2]float64{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
		x, y := c[0]*float64(p.width), c[1]*float64(p.height)
		b = b.add([2]float64{float64(m[0]*x) + float64(m[1]*y) + m[2], float64(m[3]*x) + float64(m[4]*y) + m[5]})
	}
	return b
}
