package outline

import (
	"encoding/json"
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/photo"
	"needlesight/pwa/engine/raster"
)

// MaxTaps is the most taps of a kind in a request.
const MaxTaps = 50

// PhotoRequest asks for the outline of the piece on a photo.
type PhotoRequest struct {
	// Image names the photo.
	Image string `json:"image"`
	// Scale is "id-1" (or left out): an ID-1 card is looked for; "none"; or a plane that is known.
	Scale Scale `json:"scale,omitzero"`
	// Tap is a point on the piece, in px of the photo. Without one the piece is the largest and most central
	// thing that is neither cloth nor card.
	Tap *[2]float64 `json:"tap,omitempty"`
	// Also are more points on it.
	Also [][2]float64 `json:"also,omitempty"`
	// Not are points on what is not the piece.
	Not [][2]float64 `json:"not,omitempty"`
	// MaxPoints is the most points of all rings, 12 to MaxGiven; 0 or left out is MaxPoints.
	MaxPoints int `json:"max_points,omitempty"`
}

// Scale is a word, or the plane that gives a photo its scale.
type Scale struct {
	Word  string
	Plane *photo.Plane
}

// The words of a Scale.
const (
	ScaleCard = photo.ID1
	ScaleNone = "none"
)

// Either lists the kinds of JSON a Scale may be.
func (Scale) Either() []any { return []any{"", photo.Plane{}} }

// UnmarshalJSON reads either kind.
func (s *Scale) UnmarshalJSON(text []byte) error {
	*s = Scale{}
	if len(text) > 0 && text[0] == '"' {
		return json.Unmarshal(text, &s.Word)
	}
	s.Plane = &photo.Plane{}
	return json.Unmarshal(text, s.Plane)
}

// MarshalJSON writes either kind.
func (s Scale) MarshalJSON() ([]byte, error) {
	if s.Plane != nil {
		return json.Marshal(s.Plane)
	}
	return json.Marshal(s.Word)
}

// PhotoResponse is the outline of a piece.
type PhotoResponse struct {
	// RingsPX are outer rings and holes in px of the photo, by the even-odd rule; none where no piece was found.
	RingsPX []Ring `json:"rings_px"`
	// RingsMM are the same in the plane of the scale, as if all of the piece lay in it: of a card the first corner
	// is at 0,0, x runs along its first, longer edge, y along the next, so that y runs down as in the
	// photo. Null without a scale.
	RingsMM []Ring `json:"rings_mm"`
	// CornersPX are the corners of the card or rectangle, null without one.
	CornersPX [][2]float64 `json:"corners_px"`
	// Confidence is 0 to 1: how sure it is that this is the outline of one piece. Below DoubtBelow it wants a look.
	Confidence float64 `json:"confidence"`
	// Ask is the tap that would help most: "tap", "also", "not", or "" for none.
	Ask string `json:"ask"`
	// Notes say what is doubtful.
	Notes []Note `json:"notes"`
}

// Note is something that is to be said about an outline.
type Note struct {
	// Code is one of the constants below.
	Code string `json:"code"`
	// Text says it in an English sentence.
	Text string `json:"text"`
}

// The codes of notes.
const (
	NoPiece   = "no-piece"   // nothing stands out from the cloth
	NoCard    = "no-card"    // a card was looked for and not found
	Doubtful  = "doubtful"   // the edge is unsure in places
	CutOff    = "cut-off"    // the piece runs out of the photo
	MoreThere = "more-there" // something else as big lies in the photo
)

// DoubtBelow is the confidence below which an outline wants a look and a tap.
const DoubtBelow = 0.8

// Photo outlines the piece on a photo: the card, the soft shadow and stray fibres are left out, holes
// are kept. It refuses with OutOfRange, TooMany, NotOneOf, what a plane is refused with, and what the picture's source
// says. A photo in which nothing is found is no error: it has no rings and no confidence.
func Photo(req PhotoRequest, src raster.Source) (PhotoResponse, error) {
	if err := req.check(); err != nil {
		return PhotoResponse{}, err
	}
	p, err := src.Pixels(req.Image)
	if err != nil {
		return PhotoResponse{}, err
	}
	if err := req.checkTaps(p); err != nil {
		return PhotoResponse{}, err
	}
	plane, sure, err := req.plane(p)
	if err != nil {
		return PhotoResponse{}, err
	}
	small, factor := smaller(p)
	look := find(small, inPX(cardOf(plane), 1/factor), req.taps(1/factor))
	resp := PhotoResponse{RingsPX: []Ring{}, Confidence: math.Round(1000*look.confidence) / 1000, Ask: look.ask, Notes: append([]Note{}, look.notes...)}
	most := req.MaxPoints
	if most == 0 {
		most = MaxPoints
	}
	if len(look.rings) > 0 {
		resp.RingsPX, _ = simpler(scaled(look.rings, factor), edgeTolerance*max(1, factor), most)
		rounded(resp.RingsPX, 100)
	}
	resp.addScale(req, plane, sure)
	return resp, nil
}

// edgeTolerance is how far in px the edge that was found may be off for the sake of fewer points.
const edgeTolerance = 0.35

func (req PhotoRequest) check() error {
	if w := req.Scale.Word; req.Scale.Plane == nil && w != "" && w != ScaleCard && w != ScaleNone {
		return fault.New(fault.NotOneOf, "scale", "scale is %.40q, and must be id-1, none or a plane.", w)
	}
	if req.Scale.Plane != nil {
		if err := req.Scale.Plane.Check("scale"); err != nil {
			return err
		}
	}
	if req.MaxPoints != 0 {
		if err := fault.Between("max_points", float64(req.MaxPoints), 12, MaxGiven); err != nil {
			return err
		}
	}
	if len(req.Also) > MaxTaps || len(req.Not) > MaxTaps {
		return fault.New(fault.TooMany, "also", "There are %d and %d taps, and at most %d of a kind are taken.", len(req.Also), len(req.Not), MaxTaps)
	}
	return nil
}

// checkTaps refuses taps that lie beside the photo.
func (req PhotoRequest) checkTaps(p *raster.Picture) error {
	in := func(at string, t [2]float64) error {
		if !(t[0] >= 0 && t[1] >= 0 && t[0] <= float64(p.Width) && t[1] <= float64(p.Height)) {
			return fault.New(fault.OutOfRange, at, "%s lies outside the picture.", at)
		}
		return nil
	}
	if req.Tap != nil {
		if err := in("tap", *req.Tap); err != nil {
			return err
		}
	}
	for i, t := range req.Also {
		if err := in(fmt.Sprintf("also[%d]", i), t); err != nil {
			return err
		}
	}
	for i, t := range req.Not {
		if err := in(fmt.Sprintf("not[%d]", i), t); err != nil {
			return err
		}
	}
	return nil
}

// plane is the one that was given or that a card gives, and how sure it is; nil for none. A card is looked
// for without a scale too, since it is to be left out. What was tapped on is no card.
func (req PhotoRequest) plane(p *raster.Picture) (*photo.Plane, float64, error) {
	if req.Scale.Plane != nil && req.Scale.Plane.Kind == photo.Rectangle {
		return req.Scale.Plane, 1, nil
	}
	corners, sure, err := photo.Find(p, photo.ID1WidthMM, photo.ID1HeightMM)
	if err != nil {
		return nil, 0, nil // a photo without a card is a photo too
	}
	card := &photo.Plane{Kind: photo.Rectangle, Corners: corners[:], WidthMM: photo.ID1WidthMM, HeightMM: photo.ID1HeightMM, Name: photo.ID1}
	if card.Check("scale") != nil {
		return nil, 0, nil
	}
	for _, t := range req.on() {
		if Inside([]Ring{card.Corners}, t) {
			return nil, 0, nil
		}
	}
	return card, sure, nil
}

// on are the taps on the piece.
func (req PhotoRequest) on() [][2]float64 {
	on := append([][2]float64(nil), req.Also...)
	if req.Tap != nil {
		on = append(on, *req.Tap)
	}
	return on
}

func (req PhotoRequest) taps(factor float64) tapped {
	return tapped{on: inPX(req.on(), factor), off: inPX(req.Not, factor)}
}

func cardOf(plane *photo.Plane) Ring {
	if plane == nil || plane.Kind != photo.Rectangle {
		return nil
	}
	return plane.Corners
}

func inPX(points [][2]float64, factor float64) [][2]float64 {
	out := make([][2]float64, len(points))
	for i, p := range points {
		out[i] = [2]float64{p[0] * factor, p[1] * factor}
	}
	return out
}

func scaled(rings []Ring, factor float64) []Ring {
	out := make([]Ring, len(rings))
	for i, ring := range rings {
		out[i] = inPX(ring, factor)
	}
	return out
}

// rounded rounds to parts that no eye sees, which makes an answer a third as long.
func rounded(rings []Ring, parts float64) {
	for _, ring := range rings {
		for k := range ring {
			ring[k] = [2]float64{math.Round(ring[k][0]*parts) / parts, math.Round(ring[k][1]*parts) / parts}
		}
	}
}

// addScale adds what the plane tells, and says where one was wanted and none was found.
func (resp *PhotoResponse) addScale(req PhotoRequest, plane *photo.Plane, sure float64) {
	if req.Scale.Word == ScaleNone {
		return
	}
	if req.Scale.Plane != nil {
		plane = req.Scale.Plane
	}
	if plane == nil {
		resp.Notes = append(resp.Notes, Note{NoCard, "No card was found on the photo, so its size is not known."})
		return
	}
	if plane.Kind == photo.Rectangle {
		resp.CornersPX = plane.Corners
	}
	m, err := plane.Matrix()
	if err != nil {
		return
	}
	resp.RingsMM = make([]Ring, len(resp.RingsPX))
	for i, ring := range resp.RingsPX {
		resp.RingsMM[i] = make(Ring, len(ring))
		for k, p := range ring {
			resp.RingsMM[i][k] = m.Apply(p)
		}
	}
	rounded(resp.RingsMM, 1000)
	resp.Confidence = math.Round(1000*min(resp.Confidence, 0.5+sure)) / 1000
}
