// Package proportion turns readings into proportions, and proportions into what to
// change on a piece.
//
// There is one model for all readings: ln(reading) = ln(part) + ln(scale of its
// sitting) + error. A ruler's scale is known (mm); that of a photo with something of
// known size in it is known to within a share that all its readings have in common;
// every other sitting has a scale of its own. Weighted least squares on the logarithms gives each part's size against
// every other that the sittings connect, with its covariance, so that any ratio has a
// standard uncertainty (law of propagation, JCGM 100:2008, 5.2).
//
// A value's standard uncertainty u enters as u/value, the uncertainty of its logarithm
// to first order (JCGM 100:2008, 5.1.2).
package proportion

// The methods of a sitting.
const (
	Sight = "sight" // counts of a unit along a needle held up
	Marks = "marks" // lengths between two marks on a phone's glass, CSS px
	Ruler = "ruler" // lengths in mm
	Photo = "photo" // lengths in a photo, px; or mm where its scale is known
)

// RulerU is the standard uncertainty in mm of a ruler reading that comes without one:
// common practice for a soft thing between two marks of a ruler.
const RulerU = 0.7

// The limits of what is solved at once, for each side.
const (
	MaxReadings = 2000
	MaxSittings = 2000
	MaxParts    = 200
	MaxRatios   = 2000
	// MaxSpread is the most by which one part may be greater than another it is joined to.
	MaxSpread = 1e12
	// MinShare and MaxShare bound u/value of a reading of a part.
	MinShare = 1e-5
	MaxShare = 10
	// MinPlaceU is the least u of a reading of a place, in the scale of its sitting.
	MinPlaceU = 1e-6
)

// Sitting is a set of readings that share one scale: one hold of the needle, one
// photo, or a ruler.
type Sitting struct {
	// ID is what readings call it.
	ID string `json:"id"`
	// Method is Sight, Marks, Ruler or Photo.
	Method string `json:"method"`
	// ArmMM is from the eye to the glass, for Marks; left out it is sight.ArmMM.
	ArmMM *float64 `json:"arm_mm,omitempty"`
	// ArmOffMM is how far the arm may be off, for Marks; left out it is sight.ArmOffMM.
	ArmOffMM *float64 `json:"arm_off_mm,omitempty"`
	// ScaleU says that a Photo's values are in mm, and is the standard uncertainty of its
	// scale, as a share of it: what all its readings have in common. MinShare to 1.
	ScaleU *float64 `json:"scale_u,omitempty"`
}

// Reading is one measured value of a part, or of a place along a part.
type Reading struct {
	// ID is what answers call it.
	ID string `json:"id"`
	// Sitting is the ID of the sitting it belongs to.
	Sitting string `json:"sitting"`
	// Part is the part that was read, or along which Place was read from its start.
	Part string `json:"part"`
	// Place is the place that was read, or empty for the part itself.
	Place string `json:"place,omitempty"`
	// Value is in the sitting's own scale: units for Sight, CSS px for Marks, mm for
	// Ruler, px for Photo, or mm for one with ScaleU. More than 0 and at most fault.MaxValue; a place may be at 0.
	Value float64 `json:"value"`
	// U is the standard uncertainty of Value, in the same scale. Left out, it is that of
	// sight.U, sight.MarksU or RulerU; a reading of a Photo must have one,
	// without what ScaleU says.
	U *float64 `json:"u,omitempty"`
	// Denominator is the fraction a count was read to: 2, 3, 4 or 8, or 0 for a free
	// slide. For Sight alone; left out it is 4.
	Denominator *int `json:"denominator,omitempty"`
}

// Side is all that was measured of one thing: the subject, or a piece.
type Side struct {
	// Sittings are at most MaxSittings, each ID once.
	Sittings []Sitting `json:"sittings"`
	// Readings are 1 to MaxReadings, each ID once, of at most MaxParts parts.
	Readings []Reading `json:"readings"`
}

// Pair names a ratio: Of over To.
type Pair struct {
	// Of is the part above the line.
	Of string `json:"of"`
	// To is the part below the line.
	To string `json:"to"`
}

// Request asks for the proportions of what was measured.
type Request struct {
	Side
	// Ratios are those wanted, at most MaxRatios; none at all is well.
	Ratios []Pair `json:"ratios"`
}

// Response is what the readings tell together.
type Response struct {
	// Ratios answer the request's, in its order.
	Ratios []Ratio `json:"ratios"`
	// Groups are the parts that sittings connect, sorted by name; a ratio is known
	// within a group only.
	Groups [][]string `json:"groups"`
	// Joins would make one group of all, each by one reading; empty when there is one.
	Joins []Join `json:"joins"`
	// Disagree are the readings that the others contradict.
	Disagree []Disagreement `json:"disagree"`
	// Parts are all parts that were read, group by group, sorted by name.
	Parts []Size `json:"parts"`
	// Places are in the order of their first readings.
	Places []PlaceAt `json:"places"`
	// Widen are the groups whose readings scatter more than their uncertainties allow.
	Widen []Widened `json:"widen"`
}

// Ratio is one part over another.
type Ratio struct {
	// Of is the part above the line.
	Of string `json:"of"`
	// To is the part below the line.
	To string `json:"to"`
	// Ratio is null when it cannot be known; Why then says so.
	Ratio *float64 `json:"ratio"`
	// U is the standard uncertainty of Ratio, as the readings' own uncertainties give it.
	U *float64 `json:"u"`
	// UWidened is U times the group's factor; see Widened.
	UWidened *float64 `json:"u_widened"`
	// Why is WhyNotRead or WhyNotJoined when Ratio is null.
	Why string `json:"why,omitempty"`
}

// Why a ratio or a place is not known.
const (
	WhyNotRead   = "not-read"   // a part has no reading
	WhyNotJoined = "not-joined" // no chain of sittings connects the two
)

// Join is the one reading that would join two groups: Part, in a sitting in which In
// is read as well.
type Join struct {
	// Part is the best read part of its group.
	Part string `json:"part"`
	// In is the best read part of the largest group.
	In string `json:"in"`
}

// Disagreement is a reading that the rest of its group contradicts; see disagreeing.
type Disagreement struct {
	// Reading is its ID.
	Reading string `json:"reading"`
	// Part is what it is a reading of.
	Part string `json:"part"`
	// Sitting is where it was read.
	Sitting string `json:"sitting"`
	// TimesU is how many standard uncertainties lie between it and what the others say.
	TimesU float64 `json:"times_u"`
}

// Size is one part within its group.
type Size struct {
	// Part is its name.
	Part string `json:"part"`
	// Group is its place in Response.Groups, from 0.
	Group int `json:"group"`
	// Size is in mm when a ruler, or a photo of known scale, was in the group, else in units of the group's first part.
	Size float64 `json:"size"`
	// MM is Size when it is in mm, else null.
	MM *float64 `json:"mm"`
	// U is the standard uncertainty of Size; 0 for the part that is the unit.
	U float64 `json:"u"`
	// UWidened is U times the group's factor.
	UWidened float64 `json:"u_widened"`
	// Readings is how often it was read.
	Readings int `json:"readings"`
}

// PlaceAt is where a place lies along a part.
type PlaceAt struct {
	// Place is its name.
	Place string `json:"place"`
	// Part is the part along which it was read.
	Part string `json:"part"`
	// At is the fraction of Part from its start; null when it cannot be known.
	At *float64 `json:"at"`
	// U is the standard uncertainty of At.
	U *float64 `json:"u"`
	// UWidened is U times the greater of the group's factor and that of the place's own readings.
	UWidened *float64 `json:"u_widened"`
	// Why is WhyNotRead (the part itself) or WhyNotJoined when At is null.
	Why string `json:"why,omitempty"`
}

// Widened is a group whose readings scatter more than they should: Factor is the
// Birge ratio sqrt(chi^2/degrees of freedom), more than 1 (R. T. Birge, Physical
// Review 40 (1932) 207). It multiplies the u_widened of the group, and never u.
type Widened struct {
	// Group is its place in Response.Groups, from 0.
	Group int `json:"group"`
	// Factor is more than 1.
	Factor float64 `json:"factor"`
}
