//go:build js && wasm

// Command pictures is the door of the engine's second half for the phone: what looks
// at pictures and makes sheets. It puts one object into the global scope,
//
//	needlesightPictures = {
//		call(method: string, request: string, pictures: {[name: string]:
//			{width: number, height: number, rgba: Uint8Array} | {file: Uint8Array, type: string}
//		}): [response: string, file: Uint8Array | null],
//	}
//
// where request and response are JSON texts and the pictures those that the request
// names. The response is what the method answers, or {"error":{"code":..,"text":..,
// "at":..}}; the file is what comes beside it: a PDF, pixels. Nothing that is given
// to it makes it throw; it throws only when the program is no longer running, and
// then the worker starts another.
package main

import (
	"syscall/js"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
	"needlesight/pwa/engine/wasm/door"
)

func main() {
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 3 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString || args[2].Type() != js.TypeObject {
			return js.ValueOf([]any{string(notACall()), nil})
		}
		from := &opened{take: func(name string) (given, error) { return take(args[2], name) }}
		response, file := answer(args[0].String(), []byte(args[1].String()), from)
		if file == nil {
			return js.ValueOf([]any{string(response), nil})
		}
		return js.ValueOf([]any{string(response), door.ToJS(file)})
	})
	js.Global().Set("needlesightPictures", js.ValueOf(map[string]any{"call": call}))
	select {}
}

// take copies a picture out of JavaScript. What throws there panics here, and door.Try
// tells it.
func take(pictures js.Value, name string) (given, error) {
	if !js.Global().Get("Object").Call("hasOwn", pictures, name).Bool() {
		return given{}, raster.Missing(name)
	}
	picture := pictures.Get(name)
	if picture.Type() != js.TypeObject {
		return given{}, raster.Missing(name)
	}
	if file := picture.Get("file"); door.IsBytes(file) {
		return given{file: door.ToGo(file)}, nil
	}
	p := &raster.Picture{Width: side(picture.Get("width")), Height: side(picture.Get("height"))}
	if err := raster.CheckSize(name, p.Width, p.Height); err != nil {
		return given{}, err
	}
	rgba := picture.Get("rgba")
	if !door.IsBytes(rgba) {
		return given{}, fault.New(fault.PictureNotRead, name, "%.200s is given without pixels.", name)
	}
	if rgba.Length() == 4*p.Width*p.Height { // else Check tells it, without a copy
		p.Pix = door.ToGo(rgba)
	}
	return given{pixels: p}, p.Check(name)
}

// side is a width or height, or 0 for what is none.
func side(v js.Value) int {
	if v.Type() != js.TypeNumber {
		return 0
	}
	if f := v.Float(); f >= 1 && f <= 1<<30 && f == float64(int(f)) {
		return int(f)
	}
	return 0
}
