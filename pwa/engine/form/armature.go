package form

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

const (
	// FoldMM is how much of each end of a wire is folded back (from memory: 5 to 10 mm).
	FoldMM = 8
	// TwistShare is how much more a wire takes that is twisted (from memory: 10 to 20 %).
	TwistShare = 0.15
	// ShortMM is how far from the tip of a limb a wire stops, and ShortShare at least of its
	// length (common practice: it must not come near the surface).
	ShortMM, ShortShare = 6, 0.06
	// MaxLimbs is the most parts of an armature.
	MaxLimbs = 60
)

// ArmatureRequest asks for the wire inside a piece.
type ArmatureRequest struct {
	// HeightMM is the greatest dimension of the finished piece: it chooses the gauge.
	HeightMM float64 `json:"height_mm"`
	// Limbs are what the wire runs through.
	Limbs []WireLimb `json:"limbs"`
	// GaugeAWG is an AWG gauge, 8 to 30; left out, by the size.
	GaugeAWG *int `json:"gauge_awg,omitempty"`
}

// WireLimb is one thing that a wire runs through.
type WireLimb struct {
	Name string `json:"name"`
	// MM is its length from where it joins to its tip.
	MM float64 `json:"mm"`
	// Count is how many there are, 1 to 8. Two or four are made in pairs from one wire that
	// goes through the body.
	Count int `json:"count"`
	// ThroughMM is how much of the body lies between the two of a pair.
	ThroughMM float64 `json:"through_mm,omitempty"`
}

// ArmatureResponse is the wire to cut.
type ArmatureResponse struct {
	Wires []WireCut `json:"wires"`
	// TotalMM is all of it.
	TotalMM float64 `json:"total_mm"`
	// GaugeAWG is the American wire gauge (ASTM B258).
	GaugeAWG int `json:"gauge_awg"`
	// GaugeMM is its diameter in mm.
	GaugeMM float64 `json:"gauge_mm"`
	Notes   []Note  `json:"notes"`
}

// WireCut is wire of one length.
type WireCut struct {
	Name string `json:"name"`
	// Count is how many wires of it are cut.
	Count int `json:"count"`
	// CutMM is how long each is cut, in whole mm.
	CutMM float64 `json:"cut_mm"`
	// InsideMM is how long it lies in each limb, ends folded.
	InsideMM float64 `json:"inside_mm"`
}

// The codes of the notes of an armature.
const (
	NoteOtherScale = "other-scale" // the gauge is AWG; SWG is another scale
	NoteTooShort   = "too-short"   // a limb too short for a wire
)

// AWG is the diameter of a wire in mm by its American wire gauge: 0.127 x 92^((36-n)/39)
// (ASTM B258).
func AWG(n int) float64 { return 0.127 * math.Pow(92, float64(36-n)/39) }

// gauge is the wire for a size (common practice: under 15 cm 20 to 22 AWG, medium 16 to
// 18, large 12 to 14).
func gauge(mm float64) int {
	switch {
	case mm < 80:
		return 22
	case mm < 150:
		return 20
	case mm < 220:
		return 18
	case mm < 300:
		return 16
	case mm < 450:
		return 14
	}
	return 12
}

// Armature works out the wires: each limb less what the wire stops short of its tip, two
// of a pair in one wire with the body between, more for the twist, and the ends that are
// folded back. Errors: OutOfRange, TooMany, TooFew, BadName.
func Armature(req ArmatureRequest) (ArmatureResponse, error) {
	if err := req.check(); err != nil {
		return ArmatureResponse{}, err
	}
	out := ArmatureResponse{Wires: []WireCut{}, GaugeAWG: gauge(req.HeightMM), Notes: []Note{{NoteOtherScale, "The gauge is AWG. SWG is another scale: ask which one a shop means, or measure the wire."}}}
	if req.GaugeAWG != nil {
		out.GaugeAWG = *req.GaugeAWG
	}
	out.GaugeMM = AWG(out.GaugeAWG)
	for _, l := range req.Limbs {
		inside := l.MM - max(ShortMM, ShortShare*l.MM)
		if inside < 2*FoldMM {
			out.Notes = append(out.Notes, Note{NoteTooShort, fmt.Sprintf("%s is too short for a wire: leave it of wool alone.", l.Name)})
			continue
		}
		wire := WireCut{l.Name, l.Count, inside, inside}
		if l.Count%2 == 0 {
			wire.Count, wire.CutMM = l.Count/2, float64(2*inside)+l.ThroughMM
		}
		wire.CutMM = math.Ceil(float64(wire.CutMM*(1+TwistShare)) + 2*FoldMM)
		out.Wires, out.TotalMM = append(out.Wires, wire), out.TotalMM+float64(wire.CutMM*float64(wire.Count))
	}
	return out, nil
}

func (r ArmatureRequest) check() error {
	if err := fault.Between("height_mm", r.HeightMM, 10, MaxSizeMM); err != nil {
		return err
	}
	if len(r.Limbs) > MaxLimbs {
		return fault.New(fault.TooMany, "limbs", "limbs has %d entries; at most %d are taken.", len(r.Limbs), MaxLimbs)
	}
	if r.GaugeAWG != nil {
		if err := fault.Between("gauge_awg", float64(*r.GaugeAWG), 8, 30); err != nil {
			return err
		}
	}
	for i, l := range r.Limbs {
		at := fmt.Sprintf("limbs[%d]", i)
		if err := fault.Name(at+".name", l.Name); err != nil {
			return err
		}
		if err := fault.Between(at+".mm", l.MM, 1, MaxSizeMM); err != nil {
			return err
		}
		if err := fault.Between(at+".count", float64(l.Count), 1, 8); err != nil {
			return err
		}
		if err := fault.Between(at+".through_mm", l.ThroughMM, 0, MaxSizeMM); err != nil {
			return err
		}
	}
	return nil
}
