//go:build js && wasm

// Command wasm is the engine's door for the phone: with package door the
// one place that knows JavaScript, but for the door of the pictures. It puts one object into the global scope,
//
//	needlesight = {
//		call(method: string, request: string): string,
//		peer(event: string, rows: string, frame: Uint8Array | null): [string, ...Uint8Array[]],
//	}
//
// where request and response are JSON texts. The response is what the method
// answers, or {"error":{"code":..,"text":..,"at":..}}. Peer tells the phone's
// end of the sync of an event, and answers what is to be done and the frames
// to be sent. Nothing that is given to them makes them throw; they throw only
// when the program is no longer running, and then the worker starts another.
package main

import (
	"runtime/debug"
	"syscall/js"

	"needlesight/pwa/engine/wasm/door"
)

func main() {
	debug.SetGCPercent(400)
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 2 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
			return string(notTexts())
		}
		return string(answer(methods, args[0].String(), []byte(args[1].String())))
	})
	l := &link{}
	peer := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 3 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
			return js.ValueOf([]any{string(notTexts())})
		}
		m := more{rows: args[1].String()}
		if door.IsBytes(args[2]) {
			m.frame = door.ToGo(args[2])
		}
		text, frames := l.tell([]byte(args[0].String()), m)
		all := []any{string(text)}
		for _, frame := range frames {
			all = append(all, door.ToJS(frame))
		}
		return js.ValueOf(all)
	})
	js.Global().Set("needlesight", js.ValueOf(map[string]any{"call": call, "peer": peer}))
	select {}
}
