package photo

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// FindRequest asks for a rectangle of known size in a picture.
type FindRequest struct {
	// Image is the picture's name.
	Image string `json:"image"`
	// WidthMM is one side of the rectangle in mm, MinSizeMM to MaxSizeMM; with HeightMM left
	// out too it is an ID-1 card's.
	WidthMM float64 `json:"width_mm,omitempty"`
	// HeightMM is the other side in mm, MinSizeMM to MaxSizeMM.
	HeightMM float64 `json:"height_mm,omitempty"`
}

// FindResponse holds the corners that were found.
type FindResponse struct {
	// CornersPx are in order round as the picture shows them, clockwise; the first edge is along the longer side.
	CornersPx []Point `json:"corners_px"`
	// Confidence is 0 to 1: how sure it is that this is the rectangle.
	Confidence float64 `json:"confidence"`
}

// LeastConfidence is below which nothing is told to be found.
const LeastConfidence = 0.65

// FindRectangle finds a rectangle of known size, seen at up to 45 degrees, by itself. It
// refuses with OutOfRange, MissingField, NoCardFound, and what the source refuses.
func FindRectangle(req FindRequest, from raster.Source) (FindResponse, error) {
	if req.WidthMM == 0 && req.HeightMM == 0 {
		req.WidthMM, req.HeightMM = ID1WidthMM, ID1HeightMM
	}
	if err := fault.Between("width_mm", req.WidthMM, MinSizeMM, MaxSizeMM); err != nil {
		return FindResponse{}, err
	}
	if err := fault.Between("height_mm", req.HeightMM, MinSizeMM, MaxSizeMM); err != nil {
		return FindResponse{}, err
	}
	pic, err := from.Pixels(req.Image)
	if err != nil {
		return FindResponse{}, err
	}
	corners, confidence, err := Find(pic, req.WidthMM, req.HeightMM)
	if err != nil {
		return FindResponse{}, err
	}
	return FindResponse{corners[:], confidence}, nil
}

// Find is FindRectangle for pixels that are at hand: the corners in px of the picture and
// a confidence of LeastConfidence to 1, or NoCardFound.
func Find(pic *raster.Picture, widthMM, heightMM float64) (corners [4]Point, confidence float64, err error) {
	want := target{long: max(widthMM, heightMM), short: min(widthMM, heightMM)}
	if math.Abs(want.long-ID1WidthMM) < 0.3 && math.Abs(want.short-ID1HeightMM) < 0.3 {
		want.radius = ID1RadiusMM
	}
	found := candidates(pic, want)
	if len(found) == 0 || found[0].score < LeastConfidence {
		return corners, 0, fault.New(fault.NoCardFound, "image", "No rectangle of %.4g by %.4g mm is seen in the picture.", want.long, want.short)
	}
	copy(corners[:], upright(found[0].corners))
	return corners, min(found[0].score, 1), nil
}

// candidates are the rectangles found, at full resolution, the surest first.
func candidates(pic *raster.Picture, want target) []quad {
	s := newSmall(pic)
	if len(s.edges) == 0 {
		return nil
	}
	var rough []quad
	for _, q := range s.quads(s.segments(), want) {
		_, _, outside := s.support(q.corners)
		for i, c := range q.corners {
			q.corners[i] = Point{float64((c[0] + 0.5) * float64(s.factor)), float64((c[1] + 0.5) * float64(s.factor))}
		}
		if r, ok := sharpen(pic, q.corners, want, quick, float64(3*s.factor)+1); ok {
			r.outside = outside
			r.score *= 1 - float64(0.7*max(0, outside-0.15))
			rough = append(rough, r)
		}
	}
	sortByScore(rough)
	var found []quad
	for _, q := range rough[:min(len(rough), sharpened)] {
		if r, ok := sharpen(pic, q.corners, want, careful, 3); ok {
			r.score *= 1 - float64(0.7*max(0, q.outside-0.15))
			found = append(found, r)
		}
	}
	sortByScore(found)
	return found
}

// upright begins the round with that end of a long side from which the rest lies right and
// down, so that the same card is told in the same way.
func upright(c []Point) []Point {
	if c[0][0]+c[0][1] > c[2][0]+c[2][1] {
		return []Point{c[2], c[3], c[0], c[1]}
	}
	return c
}
