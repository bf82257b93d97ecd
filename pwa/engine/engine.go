// Package engine is the maths of the craft as one table of methods, the same for
// the phone and for the shell. It is pure: no clock, no files, no network, no
// state. Inside, lengths are mm, angles radians, masses grams; the JSON names say
// so (height_mm, tilt_rad).
package engine

import (
	"slices"

	"needlesight/pwa/engine/call"
)

// MaxRequest is the longest request in bytes that Call reads.
const MaxRequest = call.MaxRequest

// Method is one thing the engine can do.
type Method = call.Method

// Methods returns the table of all methods that look at no pictures, sorted by
// name; those that do are in package pictures. The slice is the caller's own.
func Methods() []Method { return slices.Clone(table) }

// Call runs the named method of the table on a JSON request and returns its JSON
// response. Its errors are those of call.Table.Call.
func Call(name string, request []byte) ([]byte, error) {
	response, _, err := table.Call(name, request, nil)
	return response, err
}
