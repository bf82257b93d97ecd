package pictures

import (
	"needlesight/pwa/engine/call"
)

// table is every method, sorted by name. It is never changed.
var table = call.NewTable()
