//go:build js && wasm

package door

import "syscall/js"

// IsBytes tells whether a value is a Uint8Array or, as ImageData has it, a
// Uint8ClampedArray.
func IsBytes(v js.Value) bool {
	return v.InstanceOf(js.Global().Get("Uint8Array")) || v.InstanceOf(js.Global().Get("Uint8ClampedArray"))
}

// ToGo copies the bytes of what IsBytes.
func ToGo(v js.Value) []byte {
	bytes := make([]byte, v.Length())
	js.CopyBytesToGo(bytes, v)
	return bytes
}

// ToJS copies bytes to a new Uint8Array.
func ToJS(bytes []byte) js.Value {
	array := js.Global().Get("Uint8Array").New(len(bytes))
	js.CopyBytesToJS(array, bytes)
	return array
}
