package call

import (
	"errors"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

type ask struct {
	Image string `json:"image"`
}

type size struct {
	Width int `json:"width"`
	file  []byte
}

func (s size) Bytes() []byte { return s.file }

var looking = Table{
	Looking("width", "Tells a picture's width.", func(a ask, from raster.Source) (size, error) {
		p, err := from.Pixels(a.Image)
		if err != nil {
			return size{}, err
		}
		return size{p.Width, p.Pix}, nil
	}),
	Plain("plain", "Says nothing.", func(ask) (struct{}, error) { return struct{}{}, nil }),
}

func TestLooking(t *testing.T) {
	pictures := raster.Loose{"otter": {Width: 1, Height: 1, Pix: []byte{1, 2, 3, 4}}}
	response, file, err := looking.Call("width", []byte(`{"image":"otter"}`), pictures)
	if string(response) != `{"width":1}` || string(file) != "\x01\x02\x03\x04" || err != nil {
		t.Errorf("%s, %v, %v", response, file, err)
	}
	if response, file, err = looking.Call("plain", []byte(`{}`), nil); string(response) != `{}` || file != nil || err != nil {
		t.Errorf("%s, %v, %v", response, file, err)
	}
	_, _, err = looking.Call("width", []byte(`{"image":"owl"}`), pictures)
	var e *fault.Error
	if !errors.As(err, &e) || e.Code != fault.PictureMissing {
		t.Errorf("%v", err)
	}
}

func TestTable(t *testing.T) {
	if looking.Find("height") != nil || !looking.Find("width").File || looking.Find("plain").File {
		t.Error("a method that is not there is found, or does not know whether it gives a file")
	}
}
