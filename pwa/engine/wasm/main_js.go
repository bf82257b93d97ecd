//go:build js && wasm

// Command wasm is the engine's door for the phone: the one place that knows
// JavaScript. It puts one object into the global scope,
//
//	needlesight = { call(method: string, request: string): string }
//
// where request and response are JSON texts. The response is what the method
// answers, or {"error":{"code":..,"text":..,"at":..}}. Nothing that is given
// to call makes it throw; it throws only when the program is no longer
// running, and then the worker starts another.
package main

import "syscall/js"

func main() {
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if len(args) != 2 || args[0].Type() != js.TypeString || args[1].Type() != js.TypeString {
			return string(notTexts())
		}
		return string(answer(methods, args[0].String(), []byte(args[1].String())))
	})
	js.Global().Set("needlesight", js.ValueOf(map[string]any{"call": call}))
	select {}
}
