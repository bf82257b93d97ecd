// Package shell is the engine as the shell has it: the methods of both its tables,
// which the phone has in two modules.
package shell

import (
	"slices"
	"strings"

	"needlesight/pwa/engine"
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/pictures"
)

// Table returns every method, sorted by name. It is the caller's own.
func Table() call.Table {
	all := append(engine.Methods(), pictures.Methods()...)
	slices.SortFunc(all, func(a, b call.Method) int { return strings.Compare(a.Name, b.Name) })
	return all
}
