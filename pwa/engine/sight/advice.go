package sight

import "needlesight/pwa/engine/fault"

// MaxTiltRad is the greatest tilt advice is given for.
const MaxTiltRad = 1.5

// AdviceRequest says what may be amiss with a hold. Each error needs its own fields:
// the arm ArmMM and ArmOffMM, the tilt TiltRad, the depth Nearer and Distance.
type AdviceRequest struct {
	// ArmMM is from the eye to the needle, MinArmMM to MaxArmMM.
	ArmMM *float64 `json:"arm_mm,omitempty"`
	// ArmOffMM is how much nearer to the eye the needle was than ArmMM, below 0 when
	// farther; at most half of ArmMM.
	ArmOffMM *float64 `json:"arm_off_mm,omitempty"`
	// TiltRad is how far the needle leans from square to the line of sight, within MaxTiltRad of 0.
	TiltRad *float64 `json:"tilt_rad,omitempty"`
	// NearerMM is how much nearer to the eye a part is than the rest, below 0 when farther.
	NearerMM *float64 `json:"nearer_mm,omitempty"`
	// NearerArms is the same in arm's lengths.
	NearerArms *float64 `json:"nearer_arms,omitempty"`
	// DistanceMM is from the eye to the rest of the subject, more than what is nearer.
	DistanceMM *float64 `json:"distance_mm,omitempty"`
	// DistanceArms is the same in arm's lengths.
	DistanceArms *float64 `json:"distance_arms,omitempty"`
}

// AdviceResponse holds relative errors: 0.033 is 3.3 % too much, -0.015 is 1.5 % too
// little. One is left out when its fields were.
type AdviceResponse struct {
	// Arm is by how much a reading differs from those at full stretch.
	Arm *float64 `json:"arm,omitempty"`
	// Tilt is by how much less of the subject a tilted needle covers, 0 or below.
	Tilt *float64 `json:"tilt,omitempty"`
	// Depth is by how much too big a nearer part looks.
	Depth *float64 `json:"depth,omitempty"`
}

// Advice works out what a bent arm, a tilted needle and a near part do to a reading.
// All three are similar triangles with the eye as their common corner (Euclid,
// Elements VI.4). It refuses with MissingField, ConflictingFields and OutOfRange.
func Advice(req AdviceRequest) (AdviceResponse, error) {
	var answer AdviceResponse
	var err error
	if answer.Arm, err = armError(req); err != nil {
		return AdviceResponse{}, err
	}
	if req.TiltRad != nil {
		if err := fault.Between("tilt_rad", *req.TiltRad, -MaxTiltRad, MaxTiltRad); err != nil {
			return AdviceResponse{}, err
		}
		tilt := cosLess1(*req.TiltRad)
		answer.Tilt = &tilt
	}
	if answer.Depth, err = depthError(req); err != nil {
		return AdviceResponse{}, err
	}
	if answer == (AdviceResponse{}) {
		return AdviceResponse{}, fault.New(fault.MissingField, "", "Nothing is said of the arm, the tilt or the depth.")
	}
	return answer, nil
}

// cosLess1 is cos(x) - 1 for |x| up to MaxTiltRad, by its series. That of package math
// is made of fused multiply-adds on some machines and differs there in the last digit.
func cosLess1(x float64) float64 {
	square, term, sum := float64(x*x), 1.0, 0.0
	for n := 2; n <= 26; n += 2 { // 1.5^28/28! is beyond the last digit
		term = -float64(term*square) / float64(n*(n-1))
		sum += term
	}
	return sum
}

// armError is how far the arm is off over its length.
func armError(req AdviceRequest) (*float64, error) {
	if req.ArmMM != nil {
		if err := fault.Between("arm_mm", *req.ArmMM, MinArmMM, MaxArmMM); err != nil {
			return nil, err
		}
	}
	if req.ArmOffMM == nil {
		return nil, nil
	}
	if req.ArmMM == nil {
		return nil, fault.New(fault.MissingField, "arm_mm", "arm_off_mm needs arm_mm, the length of the arm.")
	}
	if err := fault.Between("arm_off_mm", *req.ArmOffMM, -*req.ArmMM/2, *req.ArmMM/2); err != nil {
		return nil, err
	}
	share := *req.ArmOffMM / *req.ArmMM
	return &share, nil
}

// depthError is what is nearer over what is left of the distance.
func depthError(req AdviceRequest) (*float64, error) {
	nearer, nearerAt, err := inMM(req.NearerMM, req.NearerArms, req.ArmMM, "nearer")
	if err != nil {
		return nil, err
	}
	distance, distanceAt, err := inMM(req.DistanceMM, req.DistanceArms, req.ArmMM, "distance")
	switch {
	case err != nil:
		return nil, err
	case nearerAt == "" && distanceAt == "":
		return nil, nil
	case nearerAt == "":
		return nil, fault.New(fault.MissingField, "nearer_mm", "%s needs nearer_mm or nearer_arms.", distanceAt)
	case distanceAt == "":
		return nil, fault.New(fault.MissingField, "distance_mm", "%s needs distance_mm or distance_arms.", nearerAt)
	}
	if err := fault.Positive(distanceAt, distance); err != nil {
		return nil, err
	}
	if !(nearer < distance && nearer >= -fault.MaxValue) {
		return nil, fault.New(fault.OutOfRange, nearerAt, "%s is %v mm, and must be less than the distance, %v mm.", nearerAt, nearer, distance)
	}
	share := nearer / (distance - nearer)
	return &share, nil
}

// inMM gives a length in mm from a field in mm or one in arm's lengths, and the name
// of the field that held it, or none.
func inMM(mm, arms, armMM *float64, name string) (float64, string, error) {
	switch {
	case mm != nil && arms != nil:
		return 0, "", fault.New(fault.ConflictingFields, name+"_arms", "%s_mm and %s_arms cannot be given together.", name, name)
	case mm != nil:
		return *mm, name + "_mm", nil
	case arms == nil:
		return 0, "", nil
	case armMM == nil:
		return 0, "", fault.New(fault.MissingField, "arm_mm", "%s_arms needs arm_mm, the length of the arm.", name)
	}
	return *arms * *armMM, name + "_arms", nil
}
