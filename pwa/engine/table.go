package engine

import (
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/length"
	"needlesight/pwa/engine/photo"
	"needlesight/pwa/engine/proportion"
	"needlesight/pwa/engine/ratio"
	"needlesight/pwa/engine/sight"
	"needlesight/pwa/engine/workings"
)

// table is every method, sorted by name. It is never changed.
var table = call.Table{
	call.Plain("compare", "Tells which part of a piece is out against its subject, by how much, and what to do.", proportion.Compare),
	call.Plain("format-length", "Writes lengths in mm, cm or inches with fractions.", length.Format),
	call.Plain("homography", "Fits the view of a plane to points in it.", photo.Homography),
	call.Plain("marks", "Gives the value and uncertainty of a length marked on a phone's glass.", sight.Marks),
	call.Plain("measure-photo", "Gives lengths between pins on a photo, to scale where a known size lies in it, and how far they can be trusted.", photo.MeasurePhoto),
	call.Plain("parse-length", "Reads a typed length in mm, cm or inches with fractions.", length.Parse),
	call.Plain("proportions", "Gives ratios of parts with their uncertainty from all readings together.", proportion.Solve),
	call.Plain("ratio", "Works out the fourth of two lengths on the subject and two on the piece, or compares their ratios.", ratio.Calculate),
	call.Plain("sight", "Gives the value and uncertainty of a count of units along a needle.", sight.Count),
	call.Plain("sight-advice", "Works out what a bent arm, a tilted needle and a near part do to a reading.", sight.Advice),
	call.Plain("workings", "Writes the sum behind the verdict on one part, as on paper.", workings.Lines),
}
