// Package length reads and writes lengths as makers do: mm, cm, and inches with
// binary fractions. Inside a length is mm; what was typed is kept beside it as typed.
package length

import (
	"fmt"
	"math"
	"strconv"

	"needlesight/pwa/engine/fault"
)

// The units a length is typed and shown in.
const (
	MM = "mm" // millimetre
	CM = "cm" // centimetre
	IN = "in" // inch
)

// MMPerInch is exact (NIST SP 811, appendix B.8: the inch is 2.54E-02 m).
const MMPerInch = 25.4

// MMPerCM is exact.
const MMPerCM = 10

// MaxList is the most lengths that are formatted in one request.
const MaxList = 2000

// ParseRequest asks for a typed length in mm.
type ParseRequest struct {
	// Text is what was typed; see Read for what is understood.
	Text string `json:"text"`
	// Unit is mm, cm or in, and holds when the text has none.
	Unit string `json:"unit"`
	// Zero lets 0 be a length: where a place lies along a part. Else it is refused.
	Zero bool `json:"zero,omitempty"`
}

// ParseResponse is a typed length, understood.
type ParseResponse struct {
	// MM is the length in mm, 0 to fault.MaxValue.
	MM float64 `json:"mm"`
	// Unit is the unit that was typed, or else that of the request.
	Unit string `json:"unit"`
	// Typed is the text as it was typed.
	Typed string `json:"typed"`
}

// Parse reads a typed length. It is refused as Read refuses it, with NotOneOf for a
// unit that is not known, and with OutOfRange for 0 unless that is let pass, and for
// more than fault.MaxValue mm.
func Parse(req ParseRequest) (ParseResponse, error) {
	if err := CheckUnit("unit", req.Unit); err != nil {
		return ParseResponse{}, err
	}
	typed, err := Read("text", req.Text)
	if err != nil {
		return ParseResponse{}, err
	}
	if typed.Unit == "" {
		typed.Unit = req.Unit
	}
	mm := ToMM(typed.Value, typed.Unit)
	if mm == 0 && req.Zero {
		return ParseResponse{0, typed.Unit, req.Text}, nil
	}
	if err := fault.Positive("text", mm); err != nil {
		return ParseResponse{}, err
	}
	return ParseResponse{mm, typed.Unit, req.Text}, nil
}

// FormatRequest asks for lengths as a person reads them.
type FormatRequest struct {
	// MM are at most MaxList lengths in mm, each within fault.MaxValue of 0.
	MM []float64 `json:"mm"`
	// Unit is mm, cm or in.
	Unit string `json:"unit"`
	// Denominator is the finest fraction of an inch shown: 1, 2, 4, 8, 16, 32 or 64;
	// 0 or left out is 16. It must be one of these in any unit, and matters only in inches.
	Denominator int `json:"denominator,omitempty"`
}

// FormatResponse holds the texts, in the order of the request.
type FormatResponse struct {
	// Texts are as Text writes them.
	Texts []string `json:"texts"`
}

// Format writes lengths. It refuses with NotOneOf, TooMany and OutOfRange.
func Format(req FormatRequest) (FormatResponse, error) {
	denominator, err := CheckStep("denominator", req.Denominator)
	if err != nil {
		return FormatResponse{}, err
	}
	if err := CheckUnit("unit", req.Unit); err != nil {
		return FormatResponse{}, err
	}
	if len(req.MM) > MaxList {
		return FormatResponse{}, fault.New(fault.TooMany, "mm", "mm holds %d lengths, and at most %d are written at once.", len(req.MM), MaxList)
	}
	texts := make([]string, len(req.MM))
	for i, mm := range req.MM {
		if err := fault.Between(fmt.Sprintf("mm[%d]", i), mm, -fault.MaxValue, fault.MaxValue); err != nil {
			return FormatResponse{}, err
		}
		texts[i] = Text(mm, req.Unit, denominator)
	}
	return FormatResponse{texts}, nil
}

// CheckUnit refuses what is not mm, cm or in with NotOneOf.
func CheckUnit(at, unit string) error {
	if unit == MM || unit == CM || unit == IN {
		return nil
	}
	return fault.New(fault.NotOneOf, at, "%s is %.40q, and must be mm, cm or in.", at, unit)
}

// CheckStep gives the denominator to use, 16 for 0, and refuses with NotOneOf what
// is not 1, 2, 4, 8, 16, 32 or 64.
func CheckStep(at string, denominator int) (int, error) {
	switch denominator {
	case 0:
		return 16, nil
	case 1, 2, 4, 8, 16, 32, 64:
		return denominator, nil
	}
	return 0, fault.New(fault.NotOneOf, at, "%s is %d, and must be 1, 2, 4, 8, 16, 32 or 64.", at, denominator)
}

// ToMM turns a value in mm, cm or in into mm. Inches go by tenths of mm, so that a binary
// fraction comes out at the mm nearest to it: 1 3/16 in is 30.1625.
func ToMM(value float64, unit string) float64 {
	switch unit {
	case CM:
		return value * MMPerCM
	case IN:
		return value * (10 * MMPerInch) / 10
	}
	return value
}

// FromMM turns mm into a value in mm, cm or in.
func FromMM(mm float64, unit string) float64 {
	switch unit {
	case CM:
		return mm / MMPerCM
	case IN:
		return mm * 10 / (10 * MMPerInch)
	}
	return mm
}

// Text writes a length with its unit as a person reads it, in plain ASCII: mm to 0.1
// below 100 and to 1 above, cm to the same, inches to the nearest fraction with this
// denominator, reduced ("1 3/16 in"). A length that rounds to nothing has no sign.
func Text(mm float64, unit string, denominator int) string {
	fine := math.Abs(mm) < 99.95
	switch {
	case unit == IN:
		return Fraction(FromMM(mm, IN), denominator) + " in"
	case unit == CM && fine:
		return Decimal(FromMM(mm, CM), 2) + " cm"
	case unit == CM:
		return Decimal(FromMM(mm, CM), 1) + " cm"
	case fine:
		return Decimal(mm, 1) + " mm"
	}
	return Decimal(mm, 0) + " mm"
}

// Exact writes a length as it stands in a sum, before it is rounded to Text: inches in
// their smallest fraction with one decimal ("15.8/16 in"), mm and cm to 0.001.
func Exact(mm float64, unit string, denominator int) string {
	if unit == IN && denominator > 1 {
		over := FromMM(mm, IN) * float64(denominator)
		return Decimal(over, 1) + "/" + strconv.Itoa(denominator) + " in"
	}
	return Decimal(FromMM(mm, unit), 3) + " " + unit
}

// Fraction writes a number to the nearest 1/denominator, reduced: "1 3/16", "-5/16", "2", "0".
func Fraction(value float64, denominator int) string {
	n := math.Round(math.Abs(value) * float64(denominator))
	whole, over := math.Floor(n/float64(denominator)), int(math.Mod(n, float64(denominator)))
	sign := ""
	if value < 0 && n > 0 {
		sign = "-"
	}
	below := denominator
	for over > 0 && over%2 == 0 && below%2 == 0 {
		over, below = over/2, below/2
	}
	switch {
	case over == 0:
		return sign + Decimal(whole, 0)
	case whole == 0:
		return fmt.Sprintf("%s%d/%d", sign, over, below)
	}
	return fmt.Sprintf("%s%s %d/%d", sign, Decimal(whole, 0), over, below)
}

// Decimal writes a number rounded half away from 0 to so many decimals, with no zeros
// at its end and no sign on a zero.
func Decimal(value float64, decimals int) string {
	scale := math.Pow10(decimals)
	rounded := math.Round(value*scale) / scale
	if rounded == 0 {
		return "0"
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
