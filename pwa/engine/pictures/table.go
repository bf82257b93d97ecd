package pictures

import (
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/form"
	"needlesight/pwa/engine/outline"
	"needlesight/pwa/engine/photo"
	"needlesight/pwa/engine/sheet"
	"needlesight/pwa/engine/wool"
)

// table is every method, sorted by name. It is never changed.
var table = call.Table{
	call.Plain("align-outlines", "Brings one outline over another.", outline.Align),
	call.Plain("armature", "Works out the wire inside a piece: lengths, gauge and what to cut.", form.Armature),
	call.Plain("breakdown", "Proposes simple solids for an animal from its outlines.", form.Breakdown),
	call.Looking("find-rectangle", "Finds the corners of a card, or of another rectangle of known size, in a picture.", photo.FindRectangle),
	call.Plain("form", "Gives the volume, surface and drawing of a simple solid.", form.Measure),
	call.Plain("kit", "Works out what a class needs, for each maker and in all.", wool.Kit),
	call.Plain("lay", "Works out the flat lay of core wool that rolls up to a form.", form.Lay),
	call.Plain("learn", "Moves density and start size from the defaults to the maker's own.", wool.Learn),
	call.Looking("outline-photo", "Finds the outline of the piece in a picture, to scale where a card lies beside it.", outline.Photo),
	call.Looking("rectify", "Draws a plane in a picture as it looks from straight above.", photo.Rectify),
	call.Looking("sheet", "Makes a PDF with views at their finished size, over as many pages as they need.", sheet.Make),
	call.Plain("simplify-outline", "Takes points out of an outline, keeping its shape.", outline.Simplify),
	call.Looking("snap-path", "Finds the way along an edge between two points of a picture.", outline.Snap),
	call.Plain("solid-from-outlines", "Estimates the volume of an animal from its front and side outlines.", form.FromOutlines),
	call.Plain("wool", "Works out the wool that forms take, with its range, and what to buy.", wool.Need),
}
