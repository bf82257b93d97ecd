package main

import (
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/pictures"
	"needlesight/pwa/engine/raster"
	"needlesight/pwa/engine/raster/decode"
	"needlesight/pwa/engine/wasm/door"
)

// answer calls a method and gives its response, or its error as JSON, and the file
// beside it, if there is one.
func answer(method string, request []byte, given raster.Source) (response, file []byte) {
	err := door.Try(method, func() (err error) {
		response, file, err = pictures.Call(method, request, given)
		return err
	})
	if err != nil {
		return fault.JSON(err), nil
	}
	return response, file
}

// notACall is the answer to a call with anything but what a call is made of.
func notACall() []byte {
	return fault.JSON(fault.New(fault.WrongType, "", "The pictures' engine is called with two texts, the name of a method and its request as JSON, and an object of pictures."))
}

// opened are the pictures of one call, each taken over and decoded once, when it is
// first asked for.
type opened struct {
	pixels map[string]*raster.Picture
	take   func(name string) (given, error)
}

// given is a picture as it was given: its pixels, or a file of it.
type given struct {
	pixels *raster.Picture
	file   []byte
}

// Pixels gives the pixels that were given, or those of the file.
func (o *opened) Pixels(name string) (*raster.Picture, error) {
	if p := o.pixels[name]; p != nil {
		return p, nil
	}
	g, err := o.take(name)
	if err != nil {
		return nil, err
	}
	if g.pixels == nil {
		if g.pixels, err = decode.Picture(name, g.file); err != nil {
			return nil, err
		}
	}
	if o.pixels == nil {
		o.pixels = map[string]*raster.Picture{}
	}
	o.pixels[name] = g.pixels
	return g.pixels, nil
}

// File gives the file, made upright.
func (o *opened) File(name string) ([]byte, string, error) {
	g, err := o.take(name)
	if err != nil {
		return nil, "", err
	}
	if g.file == nil {
		return raster.Loose{name: g.pixels}.File(name) // which refuses
	}
	return decode.Upright(name, g.file)
}
