// Package pictures is the table of the engine's methods that look at pictures or
// draw sheets: pure like the rest. It stands apart from package engine since it is
// heavier, and only they who look at a picture load it.
package pictures

import (
	"slices"

	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/raster"
)

// Methods returns the table, sorted by name. The slice is the caller's own.
func Methods() []call.Method { return slices.Clone(table) }

// Call runs the named method on a JSON request and the pictures it names; see
// call.Table.Call.
func Call(name string, request []byte, source raster.Source) (response, file []byte, err error) {
	return table.Call(name, request, source)
}
