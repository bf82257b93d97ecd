package sight

import (
	"math"

	"needlesight/pwa/engine/fault"
)

// ArmMM and ArmOffMM hold where a request says nothing: from the eye to a hand at
// full stretch, and by how much that may be off from one reading to the next, as the
// half-width of a rectangular distribution. Common practice.
const (
	ArmMM    = 600
	ArmOffMM = 20
)

// MarkStepPX is the step in CSS px to which each mark on the glass is set.
const MarkStepPX = 1

// The limits of what is held up and how far away.
const (
	MinArmMM = 100
	MaxArmMM = 2000
	MaxGapPX = 20000
)

// MarksRequest holds one length between two marks on a phone's glass.
type MarksRequest struct {
	// GapPX is the distance of the marks in CSS px, above 0, at most MaxGapPX.
	GapPX float64 `json:"gap_px"`
	// ArmMM is from the eye to the glass, MinArmMM to MaxArmMM; 0 or left out is ArmMM.
	ArmMM float64 `json:"arm_mm,omitempty"`
	// ArmOffMM is how far the arm may be off, 0 to half of ArmMM; left out it is ArmOffMM.
	ArmOffMM *float64 `json:"arm_off_mm,omitempty"`
}

// MarksResponse is a value and what it may be off by.
type MarksResponse struct {
	// Value is in CSS px.
	Value float64 `json:"value"`
	// U is the standard uncertainty of Value, in CSS px.
	U float64 `json:"u"`
}

// Marks gives the value and uncertainty of a length marked on the glass. It refuses
// with OutOfRange.
func Marks(req MarksRequest) (MarksResponse, error) {
	arm, off := req.ArmMM, float64(ArmOffMM)
	if arm == 0 {
		arm = ArmMM
	}
	if req.ArmOffMM != nil {
		off = *req.ArmOffMM
	}
	if !(req.GapPX > 0 && req.GapPX <= MaxGapPX) {
		return MarksResponse{}, fault.New(fault.OutOfRange, "gap_px", "gap_px is %v, and must be more than 0 and at most %d.", req.GapPX, MaxGapPX)
	}
	if err := fault.Between("arm_mm", arm, MinArmMM, MaxArmMM); err != nil {
		return MarksResponse{}, err
	}
	if err := fault.Between("arm_off_mm", off, 0, arm/2); err != nil {
		return MarksResponse{}, err
	}
	return MarksResponse{req.GapPX, MarksU(req.GapPX, arm, off)}, nil
}

// MarksU is the standard uncertainty in CSS px of a gap of so many CSS px: a step of
// MarkStepPX on each of two marks and an arm of armMM that may be armOffMM (the
// half-width) off, all rectangular (JCGM 100:2008, 4.3.7), in quadrature.
func MarksU(gapPX, armMM, armOffMM float64) float64 {
	arm := gapPX * armOffMM / armMM / math.Sqrt(3)
	return math.Sqrt(2*MarkStepPX*MarkStepPX/12. + float64(arm*arm))
}
