package form

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

// The kinds of simple solids.
const (
	Ball     = "ball"     // width
	Egg      = "egg"      // length, width, and depth where it is not as deep as wide
	Cylinder = "cylinder" // length, width
	Rounded  = "rounded"  // a cylinder with round ends: length over all, width
	Cone     = "cone"     // length, width at the root
	Frustum  = "frustum"  // a cone cut off: length, width at the root, end
	Teardrop = "teardrop" // a ball with its tangent cone: length over all, width
	Block    = "block"    // length, width, depth
	Disc     = "disc"     // width, thickness
	Hoop     = "ring"     // width over all, thickness
	Ear      = "ear"      // a flat piece: an outline, or length and width at the root; thickness
	Turned   = "turned"   // a profile
)

// Kinds lists the kinds of solids in the order in which a maker would learn them.
func Kinds() []string {
	return []string{Ball, Egg, Cylinder, Rounded, Cone, Frustum, Teardrop, Disc, Block, Hoop, Ear, Turned}
}

const (
	// MaxSizeMM is the greatest length of a form, MinSizeMM the least.
	MaxSizeMM, MinSizeMM = 5000, 0.5
	// MaxProfile is the most points of a profile.
	MaxProfile = 2000
)

// Shape is a simple solid. Which sizes it needs depends on its kind; others must be left
// out or 0.
type Shape struct {
	// Kind is one of the constants of this package.
	Kind string `json:"kind"`
	// LengthMM is along the axis, from the root to the tip.
	LengthMM float64 `json:"length_mm,omitempty"`
	// WidthMM is across the axis, at the root where it differs.
	WidthMM float64 `json:"width_mm,omitempty"`
	// DepthMM is across the axis and the width.
	DepthMM float64 `json:"depth_mm,omitempty"`
	// EndMM is the width at the tip of a cone that is cut off.
	EndMM float64 `json:"end_mm,omitempty"`
	// ThicknessMM is that of a disc, an ear, or of the roll that a ring is bent from.
	ThicknessMM float64 `json:"thickness_mm,omitempty"`
	// RingsMM is the outline of an ear: even-odd, x from the root to the tip.
	RingsMM []outline.Ring `json:"rings_mm,omitempty"`
	// ProfileMM is [x, r] of a turned form, x rising from the root.
	ProfileMM [][2]float64 `json:"profile_mm,omitempty"`
}

// needs names the sizes that each kind must have.
var needs = map[string][]string{
	Ball: {"width_mm"}, Egg: {"length_mm", "width_mm"}, Cylinder: {"length_mm", "width_mm"}, Rounded: {"length_mm", "width_mm"},
	Cone: {"length_mm", "width_mm"}, Frustum: {"length_mm", "width_mm", "end_mm"}, Teardrop: {"length_mm", "width_mm"},
	Block: {"length_mm", "width_mm", "depth_mm"}, Disc: {"width_mm", "thickness_mm"}, Hoop: {"width_mm", "thickness_mm"},
	Ear: {"thickness_mm"}, Turned: {},
}

// size is the size of that name.
func (s Shape) size(name string) float64 {
	switch name {
	case "length_mm":
		return s.LengthMM
	case "width_mm":
		return s.WidthMM
	case "depth_mm":
		return s.DepthMM
	case "end_mm":
		return s.EndMM
	}
	return s.ThicknessMM
}

// check refuses a shape that cannot be. At is the path of the shape in the request.
func (s Shape) check(at string) error {
	wanted, known := needs[s.Kind]
	if !known {
		return fault.New(fault.NotOneOf, at+".kind", "%s.kind is %.40q, and must be one of %v.", at, s.Kind, Kinds())
	}
	if s.Kind == Ear && len(s.RingsMM) == 0 {
		wanted = []string{"length_mm", "width_mm", "thickness_mm"}
	}
	for _, name := range wanted {
		if err := fault.Between(at+"."+name, s.size(name), MinSizeMM, MaxSizeMM); err != nil {
			return err
		}
	}
	for _, name := range []string{"length_mm", "width_mm", "depth_mm", "end_mm", "thickness_mm"} {
		if value := s.size(name); value != 0 {
			if err := fault.Between(at+"."+name, value, MinSizeMM, MaxSizeMM); err != nil {
				return err
			}
		}
	}
	return s.checkTogether(at)
}

// checkTogether refuses sizes that do not go together.
func (s Shape) checkTogether(at string) error {
	switch {
	case (s.Kind == Rounded || s.Kind == Teardrop) && s.LengthMM < s.WidthMM:
		return fault.New(fault.OutOfRange, at+".length_mm", "%s.length_mm is %s, and its round end alone is %s long.", at, fault.Number(s.LengthMM), fault.Number(s.WidthMM))
	case s.Kind == Hoop && s.WidthMM <= 2*s.ThicknessMM:
		return fault.New(fault.OutOfRange, at+".thickness_mm", "%s.thickness_mm is %s: a ring %s wide has no hole left.", at, fault.Number(s.ThicknessMM), fault.Number(s.WidthMM))
	case s.Kind == Ear && len(s.RingsMM) > 0:
		return check(at+".rings_mm", s.RingsMM)
	case s.Kind == Turned:
		return checkProfile(at+".profile_mm", s.ProfileMM)
	}
	return nil
}

// checkProfile refuses a profile that runs back, is thinner than nothing, or encloses nothing.
func checkProfile(at string, profile [][2]float64) error {
	if len(profile) < 2 {
		return fault.New(fault.TooFew, at, "%s has %d points, and at least 2 are needed.", at, len(profile))
	}
	if len(profile) > MaxProfile {
		return fault.New(fault.TooMany, at, "%s has %d points; at most %d are taken.", at, len(profile), MaxProfile)
	}
	thickest := 0.0
	for i, p := range profile {
		if !(p[0] >= -MaxSizeMM && p[0] <= MaxSizeMM && p[1] >= 0 && p[1] <= MaxSizeMM) {
			return fault.New(fault.OutOfRange, at, "%s has the point %v, %v; x is at most %d mm from 0, and r between 0 and %d mm.", at, p[0], p[1], MaxSizeMM, MaxSizeMM)
		}
		if i > 0 && p[0] < profile[i-1][0] {
			return fault.New(fault.OutOfRange, at, "%s runs back at point %d: x must rise from the root to the tip.", at, i+1)
		}
		thickest = max(thickest, p[1])
	}
	if profile[len(profile)-1][0]-profile[0][0] < MinSizeMM || thickest < MinSizeMM/2 {
		return fault.New(fault.OutOfRange, at, "%s encloses nothing: it is %s mm long and %s mm thick.", at, fault.Number(profile[len(profile)-1][0]-profile[0][0]), fault.Number(2*thickest))
	}
	return nil
}

// depth is how deep it is across axis and width.
func (s Shape) depth() float64 {
	switch s.Kind {
	case Disc, Hoop, Ear:
		return s.ThicknessMM
	case Block:
		return s.DepthMM
	case Egg:
		if s.DepthMM > 0 {
			return s.DepthMM
		}
	case Turned:
		return s.width()
	}
	return s.WidthMM
}

// width is how wide it is at most.
func (s Shape) width() float64 {
	switch {
	case s.Kind == Turned:
		thickest := 0.0
		for _, p := range s.ProfileMM {
			thickest = max(thickest, p[1])
		}
		return 2 * thickest
	case s.Kind == Ear && len(s.RingsMM) > 0:
		low, high, _ := outline.Bounds(s.RingsMM)
		return high[1] - low[1]
	case s.Kind == Frustum:
		return max(s.WidthMM, s.EndMM)
	}
	return s.WidthMM
}

// length is how long it is along its axis.
func (s Shape) length() float64 {
	switch {
	case s.Kind == Ball || s.Kind == Hoop:
		return s.WidthMM
	case s.Kind == Disc:
		return s.ThicknessMM
	case s.Kind == Turned:
		return s.ProfileMM[len(s.ProfileMM)-1][0] - s.ProfileMM[0][0]
	case s.Kind == Ear && len(s.RingsMM) > 0:
		low, high, _ := outline.Bounds(s.RingsMM)
		return high[0] - low[0]
	}
	return s.LengthMM
}

// scaled is the shape with every length times a factor.
func (s Shape) scaled(factor float64) Shape {
	out := Shape{s.Kind, s.LengthMM * factor, s.WidthMM * factor, s.DepthMM * factor, s.EndMM * factor, s.ThicknessMM * factor, nil, nil}
	for _, ring := range s.RingsMM {
		out.RingsMM = append(out.RingsMM, scaledBy(ring, factor))
	}
	out.ProfileMM = scaledBy(s.ProfileMM, factor)
	return out
}

func scaledBy(points [][2]float64, factor float64) [][2]float64 {
	var out [][2]float64
	for _, p := range points {
		out = append(out, [2]float64{p[0] * factor, p[1] * factor})
	}
	return out
}

// samples is at how many places a round profile is written down.
const samples = 96

// profile is [x, r] from the root to the tip: r is the radius of the round section of the
// same area. It is nil for what is not rolled: a block, a ring, an ear.
func (s Shape) profile() [][2]float64 {
	r := float64(s.WidthMM / 2)
	switch s.Kind {
	case Ball:
		return sampled(s.WidthMM, func(x float64) float64 { return round(r, x-r) })
	case Egg:
		half, across := s.LengthMM/2, math.Sqrt(s.WidthMM*s.depth())/2
		return sampled(s.LengthMM, func(x float64) float64 { return across * round(1, (x-half)/half) })
	case Cylinder:
		return [][2]float64{{0, r}, {s.LengthMM, r}}
	case Disc:
		return [][2]float64{{0, r}, {s.ThicknessMM, r}}
	case Rounded:
		return sampled(s.LengthMM, func(x float64) float64 { return round(r, min(0, x-r)+max(0, x-(s.LengthMM-r))) })
	case Cone:
		return [][2]float64{{0, r}, {s.LengthMM, 0}}
	case Frustum:
		return [][2]float64{{0, r}, {s.LengthMM, s.EndMM / 2}}
	case Teardrop:
		d := s.drop()
		return sampled(s.LengthMM, func(x float64) float64 {
			if x < r+d.touch {
				return round(r, x-r)
			}
			return d.radius * max(0, s.LengthMM-x) / d.cone
		})
	case Turned:
		out := make([][2]float64, len(s.ProfileMM))
		for i, p := range s.ProfileMM {
			out[i] = [2]float64{p[0] - s.ProfileMM[0][0], p[1]}
		}
		return out
	}
	return nil
}

// round is the height of a circle of radius r at x from its middle.
func round(r, x float64) float64 { return math.Sqrt(max(0, float64(r*r)-float64(x*x))) }

// sampled writes r(x) down, closer together near both ends, where a round form is steep.
func sampled(length float64, r func(x float64) float64) [][2]float64 {
	out := make([][2]float64, samples+1)
	for i := range out {
		x := length * (1 - math.Cos(math.Pi*float64(i)/samples)) / 2
		out[i] = [2]float64{x, r(x)}
	}
	return out
}

// drop is where the cone of a teardrop touches its ball.
type drop struct {
	touch  float64 // from the middle of the ball towards the tip
	radius float64 // of the circle in which they touch
	cone   float64 // from that circle to the tip
}

func (s Shape) drop() drop {
	r := float64(s.WidthMM / 2)
	tip := s.LengthMM - r // from the middle of the ball
	touch := float64(r * r / tip)
	return drop{touch, round(r, touch), tip - touch}
}
