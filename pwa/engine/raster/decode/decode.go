// Package decode makes pixels of PNG and JPEG files. It stands apart from package
// raster so that an engine that never opens a file does not carry the decoders.
package decode

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"strings"
	"unicode/utf8"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// The types of file that are read.
const (
	JPEG = "image/jpeg"
	PNG  = "image/png"
)

// Picture reads a PNG or JPEG and turns it upright, as the orientation in its EXIF
// says. The name is for the sentences of its errors, which are *fault.Error:
// PictureTooBig for more than raster.MaxSide or MaxPixels, told before room is made
// for a pixel, and PictureNotRead for whatever else is wrong.
func Picture(name string, file []byte) (*raster.Picture, error) {
	kind, err := Kind(name, file)
	if err != nil {
		return nil, err
	}
	readSize, read := png.DecodeConfig, png.Decode
	if kind == JPEG {
		readSize, read = jpeg.DecodeConfig, jpeg.Decode
	}
	size, err := readSize(bytes.NewReader(file))
	if err != nil {
		return nil, notRead(name, kind, err)
	}
	if err := raster.CheckSize(name, size.Width, size.Height); err != nil {
		return nil, err
	}
	decoded, err := read(bytes.NewReader(file))
	if err != nil {
		return nil, notRead(name, kind, err)
	}
	return turn(pixels(decoded), orientation(kind, file)), nil
}

// Upright gives a PNG or JPEG as it is, unless its EXIF says that it must be turned:
// then it is turned and written anew, a JPEG at quality 95. Errors are Picture's.
func Upright(name string, file []byte) (upright []byte, kind string, err error) {
	kind, err = Kind(name, file)
	if err != nil || orientation(kind, file) == 1 {
		return file, kind, err
	}
	p, err := Picture(name, file)
	if err != nil {
		return nil, "", err
	}
	var out bytes.Buffer
	turned := &image.NRGBA{Pix: p.Pix, Stride: 4 * p.Width, Rect: image.Rect(0, 0, p.Width, p.Height)}
	if kind == JPEG {
		err = jpeg.Encode(&out, turned, &jpeg.Options{Quality: 95})
	} else {
		err = png.Encode(&out, turned)
	}
	return out.Bytes(), kind, err
}

// Kind tells whether a file is a JPEG or a PNG by its first bytes, whatever its name
// says, and refuses any other with PictureNotRead.
func Kind(name string, file []byte) (string, error) {
	switch found := format(file); found {
	case "":
		return "", fault.New(fault.PictureNotRead, name, "%.200s is no picture: it begins with the bytes % x. A JPEG or PNG is needed.", name, file[:min(8, len(file))])
	case JPEG:
		return JPEG, nil
	case PNG:
		if animated(file) {
			return "", fault.New(fault.PictureNotRead, name, "%.200s is animated, and a still picture is needed.", name)
		}
		return PNG, nil
	default:
		return "", fault.New(fault.PictureNotRead, name, "%.200s is %s, and only JPEG and PNG are read.", name, found)
	}
}

// format is JPEG, PNG, or what else a file is by its first bytes, in words.
func format(file []byte) string {
	begins := func(at int, text string) bool {
		return len(file) >= at+len(text) && string(file[at:at+len(text)]) == text
	}
	switch {
	case len(file) == 0:
		return "empty"
	case begins(0, "\xff\xd8\xff"):
		return JPEG
	case begins(0, "\x89PNG\r\n\x1a\n"):
		return PNG
	case begins(0, "GIF8"):
		return "a GIF"
	case begins(0, "RIFF") && begins(8, "WEBP"):
		return "a WebP"
	case begins(4, "ftypavif") || begins(4, "ftypavis"):
		return "an AVIF"
	case begins(4, "ftyphe") || begins(4, "ftypmif1"):
		return "a HEIC"
	case begins(0, "II*\x00") || begins(0, "MM\x00*"):
		return "a TIFF or a camera's raw file"
	case begins(0, "\xff\x0a") || begins(4, "JXL "):
		return "a JPEG XL"
	case begins(0, "BM"):
		return "a BMP"
	case begins(0, "%PDF"):
		return "a PDF"
	case isText(file):
		return "a text"
	}
	return ""
}

// isText tells whether a file begins as only a text does.
func isText(file []byte) bool {
	head := file[:min(64, len(file))]
	for len(head) > 0 {
		r, size := utf8.DecodeRune(head)
		if r == utf8.RuneError && len(head) >= utf8.UTFMax || r < ' ' && !strings.ContainsRune("\t\r\n", r) {
			return false
		}
		head = head[size:]
	}
	return true
}

// notRead says why the decoder gave up.
func notRead(name, kind string, err error) error {
	kind = strings.ToUpper(strings.TrimPrefix(kind, "image/"))
	// The decoders tell the end of a file as an error, or in the words of another.
	if text := err.Error(); errors.Is(err, io.EOF) || strings.Contains(text, "unexpected EOF") || strings.Contains(text, "short Huffman data") {
		return fault.New(fault.PictureNotRead, name, "%.200s breaks off before its end: it did not arrive whole.", name)
	}
	if _, ok := errors.AsType[jpeg.UnsupportedError](err); ok {
		return fault.New(fault.PictureNotRead, name, "%.200s is a kind of JPEG that is not read (%v). Save it anew as an ordinary JPEG or PNG.", name, err)
	}
	return fault.New(fault.PictureNotRead, name, "%.200s is a %s that is damaged: %v.", name, kind, err)
}

// pixels are those of a decoded picture, not multiplied by alpha.
func pixels(m image.Image) *raster.Picture {
	size := m.Bounds()
	p := &raster.Picture{Width: size.Dx(), Height: size.Dy()}
	switch m := m.(type) {
	case *image.NRGBA: // a PNG with alpha
		p.Pix = m.Pix
		return p
	case *image.RGBA: // a PNG without: nothing to be divided by alpha
		p.Pix = m.Pix
		return p
	case *image.YCbCr, *image.Gray, *image.CMYK: // a JPEG: opaque, and draw is quick at these
		opaque := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
		draw.Draw(opaque, opaque.Rect, m, size.Min, draw.Src)
		p.Pix = opaque.Pix
		return p
	}
	p.Pix = make([]byte, 0, 4*p.Width*p.Height)
	for y := size.Min.Y; y < size.Max.Y; y++ {
		for x := size.Min.X; x < size.Max.X; x++ {
			c := color.NRGBAModel.Convert(m.At(x, y)).(color.NRGBA)
			p.Pix = append(p.Pix, c.R, c.G, c.B, c.A)
		}
	}
	return p
}
