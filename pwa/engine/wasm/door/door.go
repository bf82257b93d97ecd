// Package door is what both doors of the engine for the phone have in common.
package door

import "needlesight/pwa/engine/fault"

// Try runs what answers a call of a method. A panic in it is an error with the code
// EngineCrashed; the door stays open.
func Try(method string, run func() error) (err error) {
	defer func() {
		if crash := recover(); crash != nil {
			err = fault.New(fault.EngineCrashed, "", "The engine met a fault of its own in %.40q: %.200v.", method, crash)
		}
	}()
	return run()
}
