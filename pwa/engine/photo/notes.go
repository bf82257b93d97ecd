package photo

import (
	"fmt"
	"math"
)

// FarShare is the standard uncertainty that the scale alone makes of an item, as a share,
// beyond which a note says so. Common practice: a part is called out at 4 %.
const FarShare = 0.02

// notes says what is to be known about an answer.
func (g *gauge) notes(req MeasureRequest, effects []effect) []Note {
	notes := []Note{}
	add := func(code string, items []string, format string, args ...any) {
		notes = append(notes, Note{code, fmt.Sprintf(format, args...), items})
	}
	if ids := which(effects, func(e effect) bool { return e.together }); ids != nil {
		add("pins-together", ids, "Both pins lie in one place, so there is nothing to measure.")
	}
	if req.Plane == nil {
		add("no-scale", nil, "The picture has no scale yet, so lengths are in px and only their ratios mean something.")
		return notes
	}
	if req.Plane.Kind == Rectangle {
		g.lensNotes(add)
	} else {
		add("one-length", nil, "One length gives the scale: it is right only along the same plane, seen square on.")
	}
	if ids := which(effects, func(e effect) bool { return e.horizon }); ids != nil {
		add("beyond-horizon", ids, "A pin lies where the plane runs to its horizon, so no length in mm can be given.")
	}
	if ids := which(effects, func(e effect) bool { return e.uncorrected }); ids != nil && g.distance == nil {
		add("not-corrected", ids, "What stands off the plane is not corrected: for that the distance of the lens must be given.")
	} else if ids != nil {
		add("not-corrected", ids, "What stands off the plane is not corrected: it would nearly reach the lens.")
	}
	if ids := which(effects, func(e effect) bool { return g.farShare(e) > FarShare }); ids != nil {
		add("far-from-scale", ids, "The scale alone makes this uncertain by more than %.0f %%: a rectangle that is larger in the picture or nearer to it would help.", 100*FarShare)
	}
	return notes
}

func (g *gauge) lensNotes(add func(code string, items []string, format string, args ...any)) {
	s := g.seen
	if s.corner > 4*max(g.pointPX, 0.5) {
		add("corners-doubtful", nil, "The corners look about %.1f px off for a rectangle of that size, or it lies the other way round.", s.corner)
	}
	switch {
	case g.plane.DistanceMM != nil:
	case s.known:
		add("distance-from-tilt", nil, "From the tilt the lens is about %.0f mm from the plane, give or take %.0f %%.", s.distance, 100*s.uShare)
	default:
		add("distance-not-known", nil, "The picture does not tell how far the lens was: it is tilted too little, or the corners are not exact enough. Give the distance to correct what stands off the plane.")
	}
}

// farShare is the uncertainty of an item by the corners alone, as a share.
func (g *gauge) farShare(e effect) float64 {
	sum := 0.0
	for _, by := range e.by {
		sum += sq(by * g.pointPX)
	}
	return math.Sqrt(sum)
}

func which(effects []effect, is func(effect) bool) (ids []string) {
	for _, e := range effects {
		if is(e) {
			ids = append(ids, e.ID)
		}
	}
	return ids
}
