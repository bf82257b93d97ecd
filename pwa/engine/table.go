package engine

import (
	"needlesight/pwa/engine/length"
	"needlesight/pwa/engine/proportion"
	"needlesight/pwa/engine/ratio"
	"needlesight/pwa/engine/sight"
	"needlesight/pwa/engine/workings"
)

// table is every method, sorted by name. It is never changed.
var table = sorted(
	method("compare", "Tells which part of a piece is out against its subject, by how much, and what to do.", proportion.Compare),
	method("format-length", "Writes lengths in mm, cm or inches with fractions.", length.Format),
	method("marks", "Gives the value and uncertainty of a length marked on a phone's glass.", sight.Marks),
	method("parse-length", "Reads a typed length in mm, cm or inches with fractions.", length.Parse),
	method("proportions", "Gives ratios of parts with their uncertainty from all readings together.", proportion.Solve),
	method("ratio", "Works out the fourth of two lengths on the subject and two on the piece, or compares their ratios.", ratio.Calculate),
	method("sight", "Gives the value and uncertainty of a count of units along a needle.", sight.Count),
	method("sight-advice", "Works out what a bent arm, a tilted needle and a near part do to a reading.", sight.Advice),
	method("workings", "Writes the sum behind the verdict on one part, as on paper.", workings.Lines),
)
