package proportion

import (
	"fmt"

	"needlesight/pwa/engine/fault"
)

// The ways to fix the scale of a piece.
const (
	AtSize    = "size"       // a part is to have its finished size
	KeepPart  = "keep"       // a part of the piece stays as it is
	LeastWork = "least-work" // as little to add and to take in as can be
)

// Cost is how much dearer taking in is than adding when a request does not say:
// common practice, since adding wool is easy and taking size away is hard.
const Cost = 3

// MaxCost is the greatest Scale.Cost.
const MaxCost = 1000

// CompareRequest asks which part of a piece is out, and by how much.
type CompareRequest struct {
	// Subject is what was measured of the subject.
	Subject Side `json:"subject"`
	// Piece is what was measured of the piece.
	Piece Side `json:"piece"`
	// Scale says what fixes the scale of the piece.
	Scale Scale `json:"scale"`
	// Tolerance is the share of a part by which it may be out, between 0 and 1, neither
	// included; for a place the share of the part it lies along.
	Tolerance float64 `json:"tolerance"`
	// Fixed are the parts nailed down: with LeastWork they fix the scale. Each was read
	// on the subject or the piece, and stands here once.
	Fixed []string `json:"fixed"`
	// Nominal is taken to come out at its size when nothing on the piece is in mm, so that
	// amounts are in mm all the same; it is not used for AtSize.
	Nominal *Nominal `json:"nominal,omitempty"`
}

// Scale is one of the three ways.
type Scale struct {
	// Mode is AtSize, KeepPart or LeastWork.
	Mode string `json:"mode"`
	// Part is what has the finished size, or is kept; not for LeastWork.
	Part string `json:"part,omitempty"`
	// MM is the finished size of Part in mm, for AtSize alone.
	MM float64 `json:"mm,omitempty"`
	// Cost is how many times as dear taking in is as adding, 1 to MaxCost; left out it is Cost.
	Cost *float64 `json:"cost,omitempty"`
}

// Nominal is a part and the size it is to have.
type Nominal struct {
	// Part was read on the subject, or Nominal is of no use.
	Part string `json:"part"`
	// MM is its size in mm.
	MM float64 `json:"mm"`
}

// CompareResponse tells for each part and place whether it is out.
type CompareResponse struct {
	// Scale is what fixed the scale.
	Scale ScaleFound `json:"scale"`
	// Work is what is asked in all under this scale.
	Work Work `json:"work"`
	// MMNominal is true when mm rest on the request's Nominal, not on a ruler.
	MMNominal bool `json:"mm_nominal"`
	// Parts are all parts read on either, in the order of their first readings, the
	// subject's first.
	Parts []PartVerdict `json:"parts"`
	// Places are all places read on either, in the same order.
	Places []PlaceVerdict `json:"places"`
}

// What fixed the scale.
const (
	FromSize     = "size"     // the finished size
	FromPart     = "part"     // the part that is kept
	FromQuantile = "quantile" // the cost/(1+cost) quantile of the parts' differences
	FromNailed   = "nailed"   // the parts nailed down
)

// ScaleFound is the scale at which a piece is judged.
type ScaleFound struct {
	// Mode is that of the request.
	Mode string `json:"mode"`
	// Part is the one part that fixes the scale: that of the request, the part at the
	// quantile, or the only one nailed down. Empty when it is none or several.
	Part string `json:"part,omitempty"`
	// Factor is mm (or the piece's unit, without mm) for one of the subject's unit; null
	// when nothing could be compared.
	Factor *float64 `json:"factor"`
	// U is the standard uncertainty of Factor.
	U *float64 `json:"u"`
	// From is FromSize, FromPart, FromQuantile, FromNailed, or empty when nothing fixes it.
	From string `json:"from"`
}

// Work sums the amounts of the parts called out.
type Work struct {
	// AddMM is to be added in all, null without mm.
	AddMM *float64 `json:"add_mm"`
	// TakeMM is to be taken in in all, null without mm.
	TakeMM *float64 `json:"take_mm"`
	// Cost is AddMM and Scale.Cost times TakeMM, null without mm.
	Cost *float64 `json:"cost"`
}

// The verdicts.
const (
	Add      = "add"       // the part is too small
	TakeIn   = "take-in"   // the part is too big
	Move     = "move"      // the place is not where it should be
	Right    = "right"     // it is as it should be
	TooRough = "too-rough" // the readings cannot tell
	Unknown  = "unknown"   // there is nothing to compare
)

// Why a verdict is what it is.
const (
	BeyondTolerance       = "beyond-tolerance"        // out by more than the tolerance and twice u
	WithinTolerance       = "within-tolerance"        // out by no more than the tolerance
	RougherThanDifference = "rougher-than-difference" // beyond the tolerance, but not twice u
	TooRoughForTolerance  = "too-rough-for-tolerance" // within the tolerance, but u is more than twice that
	NotReadOnSubject      = "not-read-on-subject"     // no reading of the subject
	NotReadOnPiece        = "not-read-on-piece"       // no reading of the piece
	NotJoined             = WhyNotJoined              // no chain of sittings reaches what fixes the scale
	NoMillimetres         = "no-millimetres"          // a finished size, and neither a ruler on the piece nor a photo of known scale
	Kept                  = "kept"                    // the part that is kept
	Nailed                = "nailed"                  // one of the parts that fix the scale of least work
)

// PartVerdict is one part of the piece against its target. What cannot be known is null.
type PartVerdict struct {
	// Part is its name.
	Part string `json:"part"`
	// Verdict is Add, TakeIn, Right, TooRough or Unknown.
	Verdict string `json:"verdict"`
	// AmountMM is how far the piece is from its target, 0 or more.
	AmountMM *float64 `json:"amount_mm"`
	// EachSideMM is half of AmountMM, for a width.
	EachSideMM *float64 `json:"each_side_mm"`
	// TargetMM is what the part should measure.
	TargetMM *float64 `json:"target_mm"`
	// RatioSubject is the part on the subject in units of what fixes the scale; with
	// several nailed parts their weighted geometric mean.
	RatioSubject *float64 `json:"ratio_subject"`
	// RatioPiece is the same on the piece; AtSize, in units of the finished size.
	RatioPiece *float64 `json:"ratio_piece"`
	// UMM is the standard uncertainty of AmountMM.
	UMM *float64 `json:"u_mm"`
	// UMMWidened is UMM with each side's share times its Birge factor; see Widened.
	UMMWidened *float64 `json:"u_mm_widened"`
	// Why is one of the constants.
	Why string `json:"why"`
	// AmountRatio is AmountMM as a fraction of the target; known without mm too.
	AmountRatio *float64 `json:"amount_ratio"`
	// D is ln(piece/target): below 0 when too small.
	D *float64 `json:"d"`
	// UD is the standard uncertainty of D.
	UD *float64 `json:"u_d"`
	// UDWidened is UD with each side's share times its Birge factor. Verdicts use it.
	UDWidened *float64 `json:"u_d_widened"`
	// PieceMM is what the piece measures.
	PieceMM *float64 `json:"piece_mm"`
	// SubjectSize is the part on the subject, in the unit of its group; see Size.
	SubjectSize *float64 `json:"subject_size"`
	// Nailed is true for a part of the request's Fixed.
	Nailed bool `json:"nailed"`
	// Repeat is the reading whose repeat would help most, for TooRough.
	Repeat *Repeat `json:"repeat,omitempty"`
}

// Repeat is a reading to be taken once more.
type Repeat struct {
	// Of is "subject" or "piece".
	Of string `json:"of"`
	// Reading is its ID.
	Reading string `json:"reading"`
	// Part is what it is a reading of.
	Part string `json:"part"`
}

// PlaceVerdict is one place of the piece against the subject's.
type PlaceVerdict struct {
	// Place is its name.
	Place string `json:"place"`
	// Part is the part along which it lies.
	Part string `json:"part"`
	// AtSubject is where it lies on the subject, as a fraction of Part from its start.
	AtSubject *float64 `json:"at_subject"`
	// AtPiece is where it lies on the piece.
	AtPiece *float64 `json:"at_piece"`
	// MoveMM is how far it is out along the piece's part as that is now, 0 or more; null without mm.
	MoveMM *float64 `json:"move_mm"`
	// Toward is "start" or "end" of the part; empty when nothing is known.
	Toward string `json:"toward"`
	// Verdict is Move, Right, TooRough or Unknown.
	Verdict string `json:"verdict"`
	// Why is one of the constants.
	Why string `json:"why"`
	// UMM is the standard uncertainty of the two fractions' difference, along the piece's part.
	UMM *float64 `json:"u_mm"`
}

// Compare tells which parts of a piece are out. With d = ln(piece) - ln(target), a part
// is called out when |d| is beyond the tolerance and beyond twice its uncertainty (the
// coverage factor of 2 of JCGM 100:2008, 6.3.3).
//
// AtSize, the target is the finished size times the subject's ratio. KeepPart, it is the
// kept part of the piece times that ratio, so the readings of the kept part count in the
// uncertainty of all others. LeastWork, the kept part is the one at the cost/(1+cost)
// quantile of ln(piece) - ln(subject), weighted by the subject's sizes: the scale s that
// makes the sum of size x (what is to be added + cost x what is to be taken in) least,
// amounts taken in logarithms (R. Koenker, G. Bassett, Econometrica 46 (1978) 33); parts
// nailed down fix it instead, by the mean of their differences, weighted by the inverse
// variance of each part's own readings.
//
// It refuses what Solve refuses, with the place below subject or piece; OutOfRange for a
// tolerance, size or cost beyond its limits; NotOneOf for the mode; MissingField and
// ConflictingFields for a scale's fields; PartNotRead for a scale's or a fixed part that
// has no reading where it needs one; DuplicateID for a part fixed twice; BadName.
func Compare(req CompareRequest) (CompareResponse, error) {
	c, err := compared(req)
	if err != nil {
		return CompareResponse{}, err
	}
	answer := CompareResponse{
		Scale: c.found(), MMNominal: c.basis == nominally,
		Parts: []PartVerdict{}, Places: c.places(),
	}
	var add, take float64
	for _, name := range c.names() {
		v := c.judge(name)
		switch {
		case v.AmountMM == nil:
		case v.Verdict == Add:
			add += *v.AmountMM
		case v.Verdict == TakeIn:
			take += *v.AmountMM
		}
		answer.Parts = append(answer.Parts, v)
	}
	if c.basis != "" && c.from != "" {
		answer.Work = Work{tidied(add), tidied(take), tidied(add + float64(costOf(req.Scale)*take))}
	}
	return answer, nil
}

// names are all parts, the subject's first.
func (c *comparison) names() []string {
	names := append([]string(nil), c.subject.parts...)
	for _, name := range c.piece.parts {
		if c.subject.partOf(name) < 0 {
			names = append(names, name)
		}
	}
	return names
}

// compared checks a request and fixes the scale.
func compared(req CompareRequest) (*comparison, error) {
	subject, err := connect(req.Subject, "subject.")
	if err != nil {
		return nil, err
	}
	piece, err := connect(req.Piece, "piece.")
	if err != nil {
		return nil, err
	}
	if !(req.Tolerance > 0 && req.Tolerance < 1) {
		return nil, fault.New(fault.OutOfRange, "tolerance", "tolerance is %v, and must be more than 0 and less than 1.", req.Tolerance)
	}
	if err := checkScale(req.Scale, subject, piece); err != nil {
		return nil, err
	}
	c := &comparison{req: req, nailed: map[string]bool{}}
	if err := c.nail(subject, piece); err != nil {
		return nil, err
	}
	if req.Nominal != nil {
		if err := fault.Name("nominal.part", req.Nominal.Part); err != nil {
			return nil, err
		}
		if err := fault.Positive("nominal.mm", req.Nominal.MM); err != nil {
			return nil, err
		}
	}
	if c.subject, err = solved(subject); err != nil {
		return nil, err
	}
	if c.piece, err = solved(piece); err != nil {
		return nil, err
	}
	c.fix()
	return c, nil
}

// checkScale refuses a scale that says too little, too much, or the impossible.
func checkScale(s Scale, subject, piece *network) error {
	if err := fault.Between("scale.cost", costOf(s), 1, MaxCost); err != nil {
		return err
	}
	switch s.Mode {
	case AtSize:
		if err := fault.Positive("scale.mm", s.MM); err != nil {
			return err
		}
		return wasRead("scale.part", s.Part, subject, "the subject")
	case KeepPart:
		if s.MM != 0 {
			return fault.New(fault.ConflictingFields, "scale.mm", "scale.mm is the finished size of a part, and cannot be given for one that is kept.")
		}
		if err := wasRead("scale.part", s.Part, subject, "the subject"); err != nil {
			return err
		}
		return wasRead("scale.part", s.Part, piece, "the piece")
	case LeastWork:
		if s.MM != 0 || s.Part != "" {
			return fault.New(fault.ConflictingFields, "scale.part", "The least work fixes the scale itself, so scale can have no part and no mm.")
		}
		return nil
	}
	return fault.New(fault.NotOneOf, "scale.mode", "scale.mode is %.40q, and must be size, keep or least-work.", s.Mode)
}

func wasRead(at, part string, n *network, whose string) error {
	if part == "" {
		return fault.New(fault.MissingField, at, "%s is missing: the part that fixes the scale.", at)
	}
	if n.partOf(part) < 0 {
		return fault.New(fault.PartNotRead, at, "%s is %.200q, which has no reading on %s.", at, part, whose)
	}
	return nil
}

// nail notes the parts that are nailed down.
func (c *comparison) nail(subject, piece *network) error {
	for i, part := range c.req.Fixed {
		at := fmt.Sprintf("fixed[%d]", i)
		switch {
		case c.nailed[part]:
			return fault.New(fault.DuplicateID, at, "%s is %q, which is fixed already.", at, part)
		case subject.partOf(part) < 0 && piece.partOf(part) < 0:
			return fault.New(fault.PartNotRead, at, "%s is %.200q, which has no reading on the subject or the piece.", at, part)
		}
		c.nailed[part] = true
	}
	return nil
}

func costOf(s Scale) float64 {
	if s.Cost == nil {
		return Cost
	}
	return *s.Cost
}
