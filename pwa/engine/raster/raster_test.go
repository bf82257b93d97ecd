package raster

import (
	"errors"
	"testing"

	"needlesight/pwa/engine/fault"
)

func TestLoose(t *testing.T) {
	l := Loose{
		"good":  {Width: 2, Height: 1, Pix: make([]byte, 8)},
		"short": {Width: 2, Height: 1, Pix: make([]byte, 7)},
		"none":  {},
		"long":  {Width: MaxSide + 1, Height: 1},
		"wide":  {Width: 8001, Height: 8000},
	}
	for name, want := range map[string]string{
		"good": "", "short": fault.PictureNotRead, "none": fault.PictureNotRead,
		"long": fault.PictureTooBig, "wide": fault.PictureTooBig, "other": fault.PictureMissing,
	} {
		_, err := l.Pixels(name)
		var e *fault.Error
		if want == "" && err != nil || want != "" && (!errors.As(err, &e) || e.Code != want || e.At != name) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
	if _, _, err := l.File("good"); err == nil {
		t.Error("pixels alone were given as a file")
	}
}
