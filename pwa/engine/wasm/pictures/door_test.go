package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"image/png"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

func codeOf(err error) string {
	if e, ok := errors.AsType[*fault.Error](err); ok {
		return e.Code
	}
	return ""
}

func TestAPictureIsTakenOverOnceAndOnlyWhenAskedFor(t *testing.T) {
	var file bytes.Buffer
	if err := png.Encode(&file, image.NewNRGBA(image.Rect(0, 0, 5, 4))); err != nil {
		t.Fatal(err)
	}
	asked := 0
	o := &opened{take: func(name string) (given, error) {
		asked++
		switch name {
		case "file":
			return given{file: file.Bytes()}, nil
		case "pixels":
			return given{pixels: &raster.Picture{Width: 1, Height: 1, Pix: make([]byte, 4)}}, nil
		}
		return given{}, raster.Missing(name)
	}}
	for range 2 {
		if p, err := o.Pixels("file"); err != nil || p.Width != 5 || p.Height != 4 {
			t.Errorf("%v, %v", p, err)
		}
		if p, err := o.Pixels("pixels"); err != nil || p.Width != 1 {
			t.Errorf("%v, %v", p, err)
		}
	}
	if asked != 2 {
		t.Errorf("two pictures were taken over %d times", asked)
	}
	if got, kind, err := o.File("file"); err != nil || kind != "image/png" || !bytes.Equal(got, file.Bytes()) {
		t.Errorf("%s, %v", kind, err)
	}
	if _, _, err := o.File("pixels"); codeOf(err) != fault.PictureMissing {
		t.Errorf("the file of pixels alone: %v", err)
	}
	if _, err := o.Pixels("other"); codeOf(err) != fault.PictureMissing {
		t.Errorf("%v", err)
	}
}

func TestErrorsAndCrashesAreTold(t *testing.T) {
	crash := &opened{take: func(string) (given, error) { panic("out of wool") }}
	response, file := answer("no-such", []byte(`{}`), crash)
	var told struct {
		Error struct{ Code, Text, At string }
	}
	if err := json.Unmarshal(response, &told); err != nil || told.Error.Code != fault.UnknownMethod || file != nil {
		t.Errorf("%s, %v", response, err)
	}
	if err := json.Unmarshal(notACall(), &told); err != nil || told.Error.Code != fault.WrongType {
		t.Errorf("%s, %v", notACall(), err)
	}
}
