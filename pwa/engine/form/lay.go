package form

import (
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

const (
	// StartFactor is by how much longer each length of the rolled core is than the finished
	// one (common practice: 4/3).
	StartFactor = 4.0 / 3
	// LayerGM2 is the weight of one layer of carded core wool in g/m2 where hers is not
	// known (from memory: a thin batt).
	LayerGM2 = 100
	// MaxLayers is the most layers that are laid on each other and rolled up, MaxFolded the
	// most of a piece that is laid flat.
	MaxLayers, MaxFolded = 12, 100
	// DensestGCM3 is the density of the fibre itself in g/cm3 (textile fibre handbooks: 1.31 at
	// 65 % relative humidity): nothing of wool is denser.
	DensestGCM3 = 1.31
	// turns is how often a lay goes round at its thickest, where the layers are not given.
	turns = 5
)

// LayRequest asks how to lay the core wool for a form.
type LayRequest struct {
	// Shape is the form at its finished size.
	Shape Shape `json:"shape"`
	// MassG is how much core wool it takes.
	MassG float64 `json:"mass_g"`
	// Factor is how many times as long the rolled core is as the finished form, in each
	// direction: 1 to 3; left out it is StartFactor.
	Factor *float64 `json:"factor,omitempty"`
	// LayerGM2 is the weight of one layer of the core wool in g/m2, 5 to 2000; left out it
	// is the constant LayerGM2.
	LayerGM2 *float64 `json:"areal_g_m2,omitempty"`
	// Layers is how many layers are laid on each other, 1 to MaxLayers, or to MaxFolded of a
	// block or an ear; left out, as many as go round about five times, or as weigh right.
	Layers *int `json:"layers,omitempty"`
}

// LayResponse is how to lay the core wool.
type LayResponse struct {
	// Layers is how many layers lie on each other.
	Layers int `json:"layers"`
	// ThicknessMM is that of all layers as rolled.
	ThicknessMM float64 `json:"thickness_mm"`
	// DensityGCM3 is that of the rolled core before felting.
	DensityGCM3 float64 `json:"density_rolled_g_cm3"`
	// Start is the shape of the rolled core.
	Start Shape `json:"start"`
	// Pieces are the pieces to lay, each flat.
	Pieces []Piece `json:"pieces"`
	// Notes are what a person should know.
	Notes []Note `json:"notes"`
}

// Piece is one flat piece of core wool.
type Piece struct {
	// Name says what it looks like: strip, rectangle, curved triangle, own, half, flat.
	Name string `json:"name"`
	// Count is how many of it are laid.
	Count int `json:"count"`
	// MassG is the weight of one.
	MassG float64 `json:"mass_g"`
	// RingsMM is its outline: x along the axis of the form from the root, y along the way
	// it is rolled, from the middle of the roll at y = 0 outwards.
	RingsMM []outline.Ring `json:"rings_mm"`
	// LengthMM is how long it is the way it is rolled.
	LengthMM float64 `json:"length_mm"`
	// WidthMM is how wide it is along the axis of the form.
	WidthMM float64 `json:"width_mm"`
	// Roll is the direction in which it is rolled up, 0, 0 where it is not.
	Roll [2]float64 `json:"roll"`
	// Edges say what becomes of an edge.
	Edges []Edge `json:"edges"`
	// Straight is what straight edges would give instead; null where the edges are straight.
	Straight *Straight `json:"straight"`
}

// Edge is an edge of a lay, and what becomes of it: middle, outside, root, tip.
type Edge struct {
	// At is x and y of both its ends in mm.
	At [2][2]float64 `json:"at"`
	// Becomes is middle, outside, root or tip.
	Becomes string `json:"becomes"`
}

// Straight is a lay with straight edges, and the profile it rolls up to.
type Straight struct {
	// RingsMM is its outline as that of a Piece.
	RingsMM []outline.Ring `json:"rings_mm"`
	// ProfileMM is [x, r] of what it rolls up to.
	ProfileMM [][2]float64 `json:"gives_profile_mm"`
}

// Note is a sentence with its code.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// The codes of notes.
const (
	NoteDense   = "dense-core"   // the core would be rolled denser than wool is rolled
	NoteLoose   = "loose-core"   // the core would be looser than loose wool
	NoteFlatten = "flatten"      // it is rolled round and pressed flat
	NoteBend    = "bend"         // it is rolled straight and bent
	NoteCross   = "cross"        // the second half is rolled over the first crosswise
	NoteThin    = "thinner-than" // one layer is already thicker than asked
)

// Lay works out the flat arrangement of core wool that rolls up to a form: at x along the
// axis the strip is L(x) = A(x)/t long, with A the section of the rolled core and t the
// thickness of the layers as rolled, which follows from the mass. Errors: OutOfRange,
// NotOneOf, TooFew, TooMany, CrossesItself.
func Lay(req LayRequest) (LayResponse, error) {
	factor, layer, err := req.check()
	if err != nil {
		return LayResponse{}, err
	}
	start := req.Shape.scaled(factor)
	out := LayResponse{Start: start, Notes: []Note{}}
	out.DensityGCM3 = req.MassG / start.Volume() * 1000
	switch {
	case out.DensityGCM3 > DensestGCM3:
		return LayResponse{}, fault.New(fault.OutOfRange, "mass_g", "mass_g is %s: rolled to this size that is %.2f g/cm3, and wool fibre itself has only %.2f.", fault.Number(req.MassG), out.DensityGCM3, DensestGCM3)
	case out.DensityGCM3 > 0.25:
		out.tell(NoteDense, "The core would have to be rolled very tightly. Take less wool, or start bigger.")
	case out.DensityGCM3 < 0.025:
		out.tell(NoteLoose, "That is looser than loose wool. Take more wool, or start smaller.")
	}
	profile := start.profile()
	if profile == nil {
		out.fold(req, start, layer)
		return out, nil
	}
	out.roll(req, start, profile, layer)
	return out, nil
}

func (r LayRequest) check() (factor, layer float64, err error) {
	factor, layer = StartFactor, LayerGM2
	if err = r.Shape.check("shape"); err != nil {
		return
	}
	if err = fault.Between("mass_g", r.MassG, 0.001, 1e6); err != nil {
		return
	}
	if r.Factor != nil {
		factor = *r.Factor
		if err = fault.Between("factor", factor, 1, 3); err != nil {
			return
		}
	}
	if r.LayerGM2 != nil {
		layer = *r.LayerGM2
		if err = fault.Between("areal_g_m2", layer, 5, 2000); err != nil {
			return
		}
	}
	if r.Layers != nil {
		most := MaxLayers
		if r.Shape.Kind == Block || r.Shape.Kind == Ear {
			most = MaxFolded
		}
		err = fault.Between("layers", float64(*r.Layers), 1, float64(most))
	}
	return
}

func (r *LayResponse) tell(code, text string) { r.Notes = append(r.Notes, Note{code, text}) }

// roll lays a form that is rolled up round its axis.
func (r *LayResponse) roll(req LayRequest, start Shape, profile [][2]float64, layer float64) {
	thickest := 0.0
	for _, p := range profile {
		thickest = max(thickest, p[1])
	}
	one := layer / 1000 / r.DensityGCM3 // mm: g/m2 over g/cm3
	r.Layers = r.layers(req.Layers, thickest/turns, one)
	r.ThicknessMM = float64(r.Layers) * one
	name, count := rolled(start), 1
	if start.Kind == Ball {
		name, count = "half", 2
		r.tell(NoteCross, "Roll up the first half, then roll the second over it crosswise.")
	}
	if start.Kind == Egg && start.depth() != start.WidthMM {
		r.tell(NoteFlatten, "Roll it round, then press it flat to its depth while it is felted.")
	}
	share := r.ThicknessMM * float64(count)
	piece := Piece{Name: name, Count: count, MassG: req.MassG / float64(count), Roll: [2]float64{0, 1}}
	piece.RingsMM = []outline.Ring{unrolled(profile, share)}
	length := profile[len(profile)-1][0]
	piece.WidthMM, piece.LengthMM = length, math.Pi*thickest*thickest/share
	piece.Edges = edges(start.Kind, profile, share)
	if len(profile) > 2 || profile[0][1] != profile[1][1] {
		piece.Straight = straight(profile, share)
	}
	r.Pieces = []Piece{piece}
}

// edges are what becomes of the edges of a lay. A ball, a disc and a ring have no root and
// no tip; an edge of no length is a corner.
func edges(kind string, profile [][2]float64, thickness float64) []Edge {
	first, last := profile[0], profile[len(profile)-1]
	out := []Edge{{[2][2]float64{{0, 0}, {last[0], 0}}, "middle"}}
	if kind == Ball || kind == Disc || kind == Hoop {
		return out
	}
	return append(out,
		Edge{[2][2]float64{{0, 0}, {0, long(first, thickness)}}, "root"},
		Edge{[2][2]float64{{last[0], 0}, {last[0], long(last, thickness)}}, "tip"})
}

// layers is how many layers come nearest to a thickness.
func (r *LayResponse) layers(asked *int, wanted, one float64) int {
	if asked != nil {
		return *asked
	}
	n := math.Round(wanted / one)
	if n < 1 {
		r.tell(NoteThin, "One layer of this wool is thick for so small a form: pull it thinner.")
	}
	return int(min(MaxLayers, max(1, n)))
}

// rolled names the lay of a form that is rolled up.
func rolled(s Shape) string {
	switch s.Kind {
	case Cylinder, Disc:
		if s.length() > 3*s.WidthMM {
			return "strip"
		}
		return "rectangle"
	case Cone, Frustum:
		return "curved triangle"
	}
	return "own"
}

// unrolled is the outline of the lay: at x it is as long as the section of the roll over
// the thickness of the layers.
func unrolled(profile [][2]float64, thickness float64) outline.Ring {
	ring := outline.Ring{{0, 0}}
	if last := profile[len(profile)-1]; last[0] > 0 {
		ring = append(ring, [2]float64{last[0], 0})
	}
	dense := finer(profile)
	for i := len(dense) - 1; i >= 0; i-- {
		if p := dense[i]; p[1] > 0 {
			ring = append(ring, [2]float64{p[0], math.Pi * p[1] * p[1] / thickness})
		}
	}
	return ring
}

// finer puts points between those of a profile, since its square is no straight line.
func finer(profile [][2]float64) [][2]float64 {
	const between = 32
	if len(profile) > 64 {
		return profile
	}
	out := [][2]float64{profile[0]}
	for i := 1; i < len(profile); i++ {
		a, b := profile[i-1], profile[i]
		steps := between
		if a[1] == b[1] {
			steps = 1
		}
		for k := 1; k <= steps; k++ {
			t := float64(k) / float64(steps)
			out = append(out, [2]float64{a[0] + float64(t*(b[0]-a[0])), a[1] + float64(t*(b[1]-a[1]))})
		}
	}
	return out
}

// straight is the lay with a straight edge from the length at the root to that at the
// tip, along the thickest place, and what it rolls up to.
func straight(profile [][2]float64, thickness float64) *Straight {
	first, last := profile[0], profile[len(profile)-1]
	from := first // where the thickest place begins
	for _, p := range profile {
		if p[1] > from[1] {
			from = p
		}
	}
	to := from // and ends
	for _, p := range profile {
		if p[1] == from[1] {
			to = p
		}
	}
	var corners [][2]float64
	for _, p := range [][2]float64{first, from, to, last} {
		if c := [2]float64{p[0], long(p, thickness)}; len(corners) == 0 || c != corners[len(corners)-1] {
			corners = append(corners, c)
		}
	}
	ring := outline.Ring{{0, 0}, {last[0], 0}}
	for i := len(corners) - 1; i >= 0; i-- {
		if c := corners[i]; c[1] > 0 && c != ring[len(ring)-1] {
			ring = append(ring, c)
		}
	}
	s := &Straight{RingsMM: []outline.Ring{ring}}
	for _, p := range finer(profile) {
		s.ProfileMM = append(s.ProfileMM, [2]float64{p[0], math.Sqrt(lineAt(corners, p[0]) * thickness / math.Pi)})
	}
	return s
}

func long(p [2]float64, thickness float64) float64 { return math.Pi * p[1] * p[1] / thickness }

// lineAt is the height at x of the line through points with rising x.
func lineAt(points [][2]float64, x float64) float64 {
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; x <= b[0] && b[0] > a[0] {
			return a[1] + float64((x-a[0])/(b[0]-a[0])*(b[1]-a[1]))
		}
	}
	return points[len(points)-1][1]
}

// fold lays a form that is not rolled round an axis of its own: a block and an ear are
// folded flat, a ring is a roll that is bent.
func (r *LayResponse) fold(req LayRequest, start Shape, layer float64) {
	if start.Kind == Hoop {
		r.bend(req, start, layer)
		return
	}
	flat := start.side()
	one := layer / 1000 / r.DensityGCM3
	r.Layers = int(min(MaxFolded, max(1, math.Round(start.depth()/one))))
	if req.Layers != nil {
		r.Layers = *req.Layers
	}
	r.ThicknessMM = start.depth() / float64(r.Layers)
	low, high, _ := outline.Bounds(flat)
	r.Pieces = []Piece{{
		Name: "flat", Count: r.Layers, MassG: req.MassG / float64(r.Layers), RingsMM: flat,
		WidthMM: high[0] - low[0], LengthMM: high[1] - low[1], Edges: []Edge{{[2][2]float64{{low[0], low[1]}, {low[0], high[1]}}, "root"}},
	}}
}

// bend lays the straight roll that a ring is bent from: as long as its middle line.
func (r *LayResponse) bend(req LayRequest, start Shape, layer float64) {
	straightRoll := Shape{Kind: Cylinder, LengthMM: math.Pi * (start.WidthMM - start.ThicknessMM), WidthMM: start.ThicknessMM}
	r.roll(req, straightRoll, straightRoll.profile(), layer)
	r.Pieces[0].Edges = edges(Hoop, straightRoll.profile(), r.ThicknessMM)
	r.tell(NoteBend, "Roll it straight, bend it round and join the ends.")
}
