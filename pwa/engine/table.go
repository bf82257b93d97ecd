package engine

import "needlesight/pwa/engine/length"

// table is every method, sorted by name. It is never changed.
var table = sorted(
	method("parse-length", "Reads a typed length in mm, cm or inches with fractions.", length.Parse),
	method("format-length", "Writes lengths in mm, cm or inches with fractions.", length.Format),
)
