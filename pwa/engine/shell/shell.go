// Package shell is the engine as the shell has it: the methods of both its tables,
// which the phone has in two modules.
package shell

import (
	"needlesight/pwa/engine"
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/pictures"
)

// Table returns every method, sorted by name. It is the caller's own.
func Table() call.Table {
	return call.NewTable(append(engine.Methods(), pictures.Methods()...)...)
}
