package photo

import (
	"fmt"

	"needlesight/pwa/engine/fault"
)

// The kinds of a Plane.
const (
	Rectangle = "rectangle" // a rectangle of known size lies in the plane
	Length    = "length"    // one length in the picture is known
)

// The limits of a plane, and what holds where nothing is said.
const (
	MinSizeMM     = 1      // of a known rectangle or length
	MaxSizeMM     = 100000 // of a known rectangle or length
	MinDistanceMM = 20
	MaxDistanceMM = 1e6
	MaxPX         = 100000 // how far from 0 a point of a picture may lie
	PointPX       = 1.     // standard uncertainty of a point set by hand, in px
)

// ID1 is a card of ISO/IEC 7810, 85.60 by 53.98 mm with corners of 2.88 to 3.48 mm radius.
const ID1 = "id-1"

// The sizes of an ID-1 card in mm (ISO/IEC 7810).
const (
	ID1WidthMM  = 85.60
	ID1HeightMM = 53.98
	ID1RadiusMM = 3.18
)

// Plane is what gives a picture its scale.
type Plane struct {
	// Kind is Rectangle or Length.
	Kind string `json:"kind"`
	// Corners of a rectangle, in px, in order round; the first edge is WidthMM long.
	Corners []Point `json:"corners,omitempty"`
	// WidthMM is the side of the rectangle along its first edge, mm, MinSizeMM to MaxSizeMM.
	WidthMM float64 `json:"width_mm,omitempty"`
	// HeightMM is its other side, mm, MinSizeMM to MaxSizeMM.
	HeightMM float64 `json:"height_mm,omitempty"`
	// Name tells what the rectangle is: ID1, or anything else for another.
	Name string `json:"name,omitempty"`
	// CornerPx is the standard uncertainty of each corner's x and y, in px; left out it is PointPX.
	CornerPx *float64 `json:"corner_px,omitempty"`
	// Ends of a known length, two points in px.
	Ends []Point `json:"ends,omitempty"`
	// MM is the known length in mm, MinSizeMM to MaxSizeMM.
	MM float64 `json:"mm,omitempty"`
	// Typed is the length as it was typed. Nothing is read from it.
	Typed string `json:"typed,omitempty"`
	// EndPx is the standard uncertainty of each end's x and y, in px; left out it is PointPX.
	EndPx *float64 `json:"end_px,omitempty"`
	// DistanceMM is from the lens to the plane, square to it, in mm, where it was measured:
	// MinDistanceMM to MaxDistanceMM.
	DistanceMM *float64 `json:"distance_mm,omitempty"`
}

// Check refuses a plane that gives no scale: NotOneOf, MissingField, ConflictingFields,
// OutOfRange, PointsRepeated, PointsOnALine and PointsCrossed. At is its place in the request.
func (p *Plane) Check(at string) error {
	if d := p.DistanceMM; d != nil {
		if err := fault.Between(at+".distance_mm", *d, MinDistanceMM, MaxDistanceMM); err != nil {
			return err
		}
	}
	switch p.Kind {
	case Rectangle:
		return p.checkRectangle(at)
	case Length:
		return p.checkLength(at)
	}
	return fault.New(fault.NotOneOf, at+".kind", "%s.kind is %.40q, and must be rectangle or length.", at, p.Kind)
}

func (p *Plane) checkRectangle(at string) error {
	if p.Ends != nil || p.MM != 0 || p.EndPx != nil {
		return fault.New(fault.ConflictingFields, at, "%s is a rectangle, and ends, mm and end_px belong to a length.", at)
	}
	if err := checkPX(at+".corners", p.Corners, 4); err != nil {
		return err
	}
	if err := checkU(at+".corner_px", p.CornerPx); err != nil {
		return err
	}
	if err := fault.Between(at+".width_mm", p.WidthMM, MinSizeMM, MaxSizeMM); err != nil {
		return err
	}
	if err := fault.Between(at+".height_mm", p.HeightMM, MinSizeMM, MaxSizeMM); err != nil {
		return err
	}
	areas, err := turns(at+".corners", p.Corners)
	if err != nil {
		return err
	}
	for _, a := range areas {
		if (a > 0) != (areas[0] > 0) {
			return fault.New(fault.PointsCrossed, at+".corners", "The corners of %s are not in order round the rectangle.", at)
		}
	}
	return nil
}

func (p *Plane) checkLength(at string) error {
	if p.Corners != nil || p.WidthMM != 0 || p.HeightMM != 0 || p.CornerPx != nil {
		return fault.New(fault.ConflictingFields, at, "%s is a length, and corners, width_mm, height_mm and corner_px belong to a rectangle.", at)
	}
	if err := checkPX(at+".ends", p.Ends, 2); err != nil {
		return err
	}
	if err := checkU(at+".end_px", p.EndPx); err != nil {
		return err
	}
	if distance(p.Ends[0], p.Ends[1]) < 1 {
		return fault.New(fault.PointsRepeated, at+".ends", "The two ends of %s lie in one place.", at)
	}
	return fault.Between(at+".mm", p.MM, MinSizeMM, MaxSizeMM)
}

func checkPX(at string, points []Point, n int) error {
	if len(points) != n {
		if points == nil {
			return fault.New(fault.MissingField, at, "%s is missing, and %d points are needed there.", at, n)
		}
		return fault.New(fault.OutOfRange, at, "%s holds %d points, and must hold %d.", at, len(points), n)
	}
	for i, p := range points {
		for j, v := range p {
			if err := fault.Between(fmt.Sprintf("%s[%d][%d]", at, i, j), v, -MaxPX, MaxPX); err != nil {
				return err
			}
		}
	}
	return nil
}

func checkU(at string, u *float64) error {
	if u == nil {
		return nil
	}
	return fault.Between(at, *u, 0, 1000)
}

func orPoint(u *float64) float64 {
	if u == nil {
		return PointPX
	}
	return *u
}

// Matrix brings a point of the picture, px, to the plane, mm. The corners of a rectangle go
// to (0, 0), (WidthMM, 0), (WidthMM, HeightMM) and (0, HeightMM); a length only scales. Its
// errors are those of Check.
func (p *Plane) Matrix() (Matrix, error) {
	if err := p.Check("plane"); err != nil {
		return Matrix{}, err
	}
	if p.Kind == Length {
		f := p.MM / distance(p.Ends[0], p.Ends[1])
		return Matrix{f, 0, 0, 0, f, 0, 0, 0, 1}, nil
	}
	return fit(p.Corners, p.places())
}

// places are where the corners of a rectangle lie in its plane, mm.
func (p *Plane) places() []Point {
	return []Point{{0, 0}, {p.WidthMM, 0}, {p.WidthMM, p.HeightMM}, {0, p.HeightMM}}
}
