// Package raster is what a picture is to the engine: pixels, and the place they come
// from. Coordinates are in pixels, with the top-left corner of the top-left pixel at
// (0,0), so that a pixel's centre lies half a pixel further.
package raster

import "needlesight/pwa/engine/fault"

// MaxSide is the longest side of a picture that is looked at, in pixels.
const MaxSide = 16384

// MaxPixels is the most pixels of a picture that is looked at.
const MaxPixels = 64_000_000

// Picture is an upright picture of 8 bits a channel.
type Picture struct {
	// Width and Height are in pixels, 1 to MaxSide.
	Width, Height int
	// Pix holds red, green, blue and alpha of each pixel, 0 to 255, not multiplied by
	// alpha, in rows from the top: 4*Width*Height bytes.
	Pix []byte
}

// Source gives the pictures that a request names. Its errors are *fault.Error:
// PictureMissing, PictureNotRead, PictureTooBig.
type Source interface {
	// Pixels are those of the named picture. They are the source's own: nobody changes them.
	Pixels(name string) (*Picture, error)
	// File is the picture as a file of its own, upright, and the type it is of:
	// "image/jpeg" or "image/png".
	File(name string) (file []byte, kind string, err error)
}

// Loose is a source of pictures that have no files.
type Loose map[string]*Picture

// Pixels returns the named picture.
func (l Loose) Pixels(name string) (*Picture, error) {
	p, ok := l[name]
	if !ok {
		return nil, Missing(name)
	}
	return p, p.Check(name)
}

// File always refuses, with PictureMissing.
func (l Loose) File(name string) ([]byte, string, error) {
	return nil, "", fault.New(fault.PictureMissing, name, "%.200s was given as pixels, and its file is needed.", name)
}

// Missing is the error of a picture that was not given.
func Missing(name string) error {
	return fault.New(fault.PictureMissing, name, "The picture %.200q is not there.", name)
}

// Check refuses a picture with more pixels than are looked at, or with other bytes
// than its size says. The name is for the sentence.
func (p *Picture) Check(name string) error {
	if err := CheckSize(name, p.Width, p.Height); err != nil {
		return err
	}
	if want := 4 * p.Width * p.Height; len(p.Pix) != want {
		return fault.New(fault.PictureNotRead, name, "%.200s is given as %d x %d pixels, which are %d bytes, and has %d.", name, p.Width, p.Height, want, len(p.Pix))
	}
	return nil
}

// CheckSize refuses a size in pixels that is not looked at: none with
// PictureNotRead, too many with PictureTooBig.
func CheckSize(name string, width, height int) error {
	switch {
	case width < 1 || height < 1:
		return fault.New(fault.PictureNotRead, name, "%.200s is %d x %d pixels, which is no picture.", name, width, height)
	case width > MaxSide || height > MaxSide || width*height > MaxPixels:
		return fault.New(fault.PictureTooBig, name, "%.200s is %d x %d pixels, and at most %d on a side and %d in all are looked at. Make it smaller.", name, width, height, MaxSide, MaxPixels)
	}
	return nil
}
