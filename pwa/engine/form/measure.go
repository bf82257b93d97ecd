package form

import (
	"math"

	"needlesight/pwa/engine/outline"
)

// Request is one form.
type Request struct {
	// Shape is what it is, at the size it is to have.
	Shape Shape `json:"shape"`
}

// Response is what is worked out of a form.
type Response struct {
	// VolumeMM3 is its volume.
	VolumeMM3 float64 `json:"volume_mm3"`
	// AreaMM2 is its whole surface, ends too.
	AreaMM2 float64 `json:"area_mm2"`
	// LengthMM is how long it is along its axis.
	LengthMM float64 `json:"length_mm"`
	// WidthMM is how wide it is at most.
	WidthMM float64 `json:"width_mm"`
	// DepthMM is how deep it is at most.
	DepthMM float64 `json:"depth_mm"`
	// SideMM is its outline from the side: the root at x = 0, the axis at y = 0, y up.
	SideMM []outline.Ring `json:"side_mm"`
	// FrontMM is its outline seen along the axis, its middle at 0, 0: x is its depth.
	FrontMM []outline.Ring `json:"front_mm"`
	// ProfileMM is [x, r] from the root to the tip, r that of the round section of the
	// same area; null for what is not rolled.
	ProfileMM [][2]float64 `json:"profile_mm"`
}

// Measure gives a form's volume, surface and drawing. Errors: OutOfRange, NotOneOf,
// TooFew, TooMany, CrossesItself.
func Measure(req Request) (Response, error) {
	s := req.Shape
	if err := s.check("shape"); err != nil {
		return Response{}, err
	}
	return Response{
		VolumeMM3: s.Volume(), AreaMM2: s.Area(), LengthMM: s.length(), WidthMM: s.width(), DepthMM: s.depth(),
		SideMM: s.side(), FrontMM: s.front(), ProfileMM: s.profile(),
	}, nil
}

// Volume is in mm3, by the formulas of the CRC Standard Mathematical Tables. The shape
// must be one that Measure takes.
func (s Shape) Volume() float64 {
	w, l, r := s.WidthMM, s.LengthMM, float64(s.WidthMM/2)
	switch s.Kind {
	case Ball:
		return math.Pi / 6 * w * w * w
	case Egg:
		return math.Pi / 6 * l * w * s.depth()
	case Cylinder:
		return math.Pi * r * r * l
	case Disc:
		return math.Pi * r * r * s.ThicknessMM
	case Rounded:
		return float64(math.Pi*r*r*(l-w)) + float64(math.Pi/6*w*w*w)
	case Cone:
		return math.Pi * r * r * l / 3
	case Frustum:
		return frustum(r, float64(s.EndMM/2), l)
	case Teardrop:
		d := s.drop()
		cap := r - d.touch
		return float64(math.Pi/6*w*w*w) - float64(math.Pi*cap*cap*(float64(3*r)-cap)/3) + float64(math.Pi*d.radius*d.radius*d.cone/3)
	case Block:
		return l * w * s.DepthMM
	case Hoop:
		return 2 * math.Pi * math.Pi * (w - s.ThicknessMM) / 2 * s.ThicknessMM * s.ThicknessMM / 4
	case Ear:
		return outline.Area(s.flat()) * s.ThicknessMM
	}
	volume := 0.0
	for i := 1; i < len(s.ProfileMM); i++ {
		a, b := s.ProfileMM[i-1], s.ProfileMM[i]
		volume += frustum(a[1], b[1], b[0]-a[0])
	}
	return volume
}

func frustum(a, b, h float64) float64 {
	return float64(math.Pi / 3 * h * (float64(a*a) + float64(a*b) + float64(b*b)))
}

// Area is the whole surface in mm2, by the formulas of the CRC Standard Mathematical
// Tables, that of an egg by DLMF 19.33.1. The shape must be one that Measure takes.
func (s Shape) Area() float64 {
	w, l, r := s.WidthMM, s.LengthMM, float64(s.WidthMM/2)
	switch s.Kind {
	case Ball:
		return math.Pi * w * w
	case Egg:
		return ellipsoid(l/2, w/2, s.depth()/2)
	case Cylinder:
		return 2 * math.Pi * r * (l + r)
	case Disc:
		return 2 * math.Pi * r * (s.ThicknessMM + r)
	case Rounded:
		return math.Pi * w * l
	case Cone:
		return math.Pi * r * (r + math.Hypot(r, l))
	case Frustum:
		return math.Pi * (slant(r, float64(s.EndMM/2), l) + float64(r*r) + float64(s.EndMM*s.EndMM/4))
	case Teardrop:
		d := s.drop()
		return float64(math.Pi*w*w) - float64(2*math.Pi*r*(r-d.touch)) + float64(math.Pi*d.radius*math.Hypot(d.radius, d.cone))
	case Block:
		return 2 * (float64(l*w) + float64(w*s.DepthMM) + float64(l*s.DepthMM))
	case Hoop:
		return 4 * math.Pi * math.Pi * (w - s.ThicknessMM) / 2 * s.ThicknessMM / 2
	case Ear:
		flat := s.flat()
		return float64(2*outline.Area(flat)) + float64(s.ThicknessMM*around(flat))
	}
	first, last := s.ProfileMM[0][1], s.ProfileMM[len(s.ProfileMM)-1][1]
	area := float64(first*first) + float64(last*last)
	for i := 1; i < len(s.ProfileMM); i++ {
		a, b := s.ProfileMM[i-1], s.ProfileMM[i]
		area += slant(a[1], b[1], b[0]-a[0])
	}
	return math.Pi * area
}

// slant is the side of a cut-off cone over pi.
func slant(a, b, h float64) float64 { return float64((a + b) * math.Hypot(a-b, h)) }

// around is the length of all rings.
func around(rings []outline.Ring) float64 {
	length := 0.0
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			length += math.Hypot(b[0]-a[0], b[1]-a[1])
		}
	}
	return length
}

// ellipsoid is the area of an ellipsoid of semi-axes a, b, c: 4 pi R_G(a2b2, a2c2, b2c2),
// with Carlson's symmetric integral R_G (DLMF 19.33.1).
func ellipsoid(a, b, c float64) float64 {
	a, b, c = a*a, b*b, c*c
	return 4 * math.Pi * carlsonG(a*b, a*c, b*c)
}

// carlsonG is R_G(x, y, z) for x, y, z > 0, by DLMF 19.21.10 from R_F and R_D.
func carlsonG(x, y, z float64) float64 {
	// The formula asks for z between the other two, or cancels.
	low, high := min(x, y, z), max(x, y, z)
	x, y, z = low, high, x+y+z-low-high
	return (float64(z*carlsonF(x, y, z)) - float64((x-z)*(y-z)/3*carlsonD(x, y, z)) + math.Sqrt(x*y/z)) / 2
}

// carlsonF is R_F(x, y, z) by duplication (Carlson 1995, Numerical Computation of Real or
// Complex Elliptic Integrals; DLMF 19.36.1).
func carlsonF(x, y, z float64) float64 {
	for range 40 {
		l := math.Sqrt(x*y) + math.Sqrt(x*z) + math.Sqrt(y*z)
		x, y, z = (x+l)/4, (y+l)/4, (z+l)/4
	}
	return 1 / math.Sqrt((x+y+z)/3)
}

// carlsonD is R_D(x, y, z) by duplication (DLMF 19.36.2).
func carlsonD(x, y, z float64) float64 {
	sum, power := 0.0, 1.0
	for range 40 {
		l := math.Sqrt(x*y) + math.Sqrt(x*z) + math.Sqrt(y*z)
		sum += power / (math.Sqrt(z) * (z + l))
		power /= 4
		x, y, z = (x+l)/4, (y+l)/4, (z+l)/4
	}
	mean := (x + y + float64(3*z)) / 5
	return float64(3*sum) + power/(mean*math.Sqrt(mean))
}

// flat is the outline of an ear: its own, or half an ellipse that stands on its root.
func (s Shape) flat() []outline.Ring {
	if len(s.RingsMM) > 0 {
		return s.RingsMM
	}
	var ring outline.Ring
	for i := range samples + 1 {
		sin, cos := math.Sincos(math.Pi * (float64(float64(i)/samples) - 0.5))
		ring = append(ring, [2]float64{s.LengthMM * cos, s.WidthMM / 2 * sin})
	}
	return []outline.Ring{ring}
}

// side is the outline across the axis.
func (s Shape) side() []outline.Ring {
	switch s.Kind {
	case Block:
		return []outline.Ring{rectangle(s.LengthMM, s.WidthMM)}
	case Ear:
		return s.flat()
	case Hoop:
		outer, inner := circle(s.WidthMM/2), circle(float64(s.WidthMM/2)-s.ThicknessMM)
		return []outline.Ring{moved(outer, float64(s.WidthMM/2)), moved(inner, float64(s.WidthMM/2))}
	}
	flatter := 1.0
	if s.Kind == Egg {
		flatter = math.Sqrt(s.WidthMM / s.depth())
	}
	profile := s.profile()
	var ring outline.Ring
	for _, p := range profile {
		ring = append(ring, [2]float64{p[0], p[1] * flatter})
	}
	for i := len(profile) - 1; i >= 0; i-- {
		if p := profile[i]; p[1] > 0 {
			ring = append(ring, [2]float64{p[0], -p[1] * flatter})
		}
	}
	return []outline.Ring{ring}
}

// front is the outline along the axis.
func (s Shape) front() []outline.Ring {
	switch s.Kind {
	case Block, Ear, Hoop:
		return []outline.Ring{moved(rectangle(s.depth(), s.width()), float64(-s.depth()/2))}
	}
	ring := circle(0.5)
	for i, p := range ring {
		ring[i] = [2]float64{p[0] * s.depth(), p[1] * s.width()}
	}
	return []outline.Ring{ring}
}

// rectangle stands on x = 0, halfway above and below y = 0.
func rectangle(long, wide float64) outline.Ring {
	return outline.Ring{{0, -wide / 2}, {long, -wide / 2}, {long, wide / 2}, {0, wide / 2}}
}

func circle(r float64) outline.Ring {
	var ring outline.Ring
	for i := range samples {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / samples)
		ring = append(ring, [2]float64{r * cos, r * sin})
	}
	return ring
}

func moved(ring outline.Ring, x float64) outline.Ring {
	for i := range ring {
		ring[i][0] += x
	}
	return ring
}
