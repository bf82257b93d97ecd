// Package workings writes the sum behind a verdict as lines, as a maker would do it on
// paper: "0.792 x 20/16 in = 15.8/16 in, so 1 in".
package workings

import (
	"fmt"
	"strings"

	"needlesight/pwa/engine/exact"
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/length"
	"needlesight/pwa/engine/proportion"
)

// The ways a part lies, which choose the words: too short, too narrow, or too small.
const (
	Length = "length"
	Width  = "width"
)

// Request asks for the sum behind the verdict on one part of a comparison.
type Request struct {
	proportion.CompareRequest
	// Part is the part in question, read on the subject or the piece.
	Part string `json:"part"`
	// Unit is mm, cm or in.
	Unit string `json:"unit"`
	// Denominator is the finest fraction of an inch, as in length.FormatRequest.
	Denominator int `json:"denominator,omitempty"`
	// Axis is Length, Width, or left out.
	Axis string `json:"axis,omitempty"`
}

// Response is the sum.
type Response struct {
	// Lines are in plain ASCII but for the names of parts. The first is the sum itself,
	// when there is one.
	Lines []string `json:"lines"`
}

// Lines writes the sum. It refuses what proportion.Compare refuses, NotOneOf for a unit,
// denominator or axis that is not known, and PartNotRead for a part that was not read.
func Lines(req Request) (Response, error) {
	denominator, err := length.CheckStep("denominator", req.Denominator)
	if err != nil {
		return Response{}, err
	}
	if err := length.CheckUnit("unit", req.Unit); err != nil {
		return Response{}, err
	}
	if req.Axis != "" && req.Axis != Length && req.Axis != Width {
		return Response{}, fault.New(fault.NotOneOf, "axis", "axis is %.40q, and must be length or width.", req.Axis)
	}
	compared, err := proportion.Compare(req.CompareRequest)
	if err != nil {
		return Response{}, err
	}
	s := sum{req: req, compared: compared, denominator: denominator}
	part := s.find(req.Part)
	if part == nil {
		return Response{}, fault.New(fault.PartNotRead, "part", "part is %.200q, which has no reading on the subject or the piece.", req.Part)
	}
	return Response{s.lines(*part)}, nil
}

// sum is a comparison with the way to write it down.
type sum struct {
	req         Request
	compared    proportion.CompareResponse
	denominator int
}

func (s sum) find(part string) *proportion.PartVerdict {
	for i, v := range s.compared.Parts {
		if v.Part == part {
			return &s.compared.Parts[i]
		}
	}
	return nil
}

func (s sum) lines(v proportion.PartVerdict) []string {
	var lines []string
	add := func(line string) {
		if line != "" {
			lines = append(lines, line)
		}
	}
	if v.TargetMM != nil {
		add(s.target(v))
	}
	switch {
	case v.D == nil:
		add(missing[v.Why])
	case v.AmountMM != nil:
		add(s.yours(v))
		add(s.reason(v))
	default:
		add(s.shares(v))
		add(s.reason(v))
	}
	if s.compared.MMNominal && v.TargetMM != nil {
		add(fmt.Sprintf("This holds if %s comes out at %s: no ruler has been on the piece.", s.req.Nominal.Part, s.text(s.req.Nominal.MM)))
	}
	return lines
}

// target is the sum that gives the target: a ratio times what fixes the scale.
func (s sum) target(v proportion.PartVerdict) string {
	scale := s.compared.Scale
	switch {
	case scale.Part == v.Part && scale.From == proportion.FromSize:
		return "The finished size is " + s.text(*v.TargetMM) + "."
	case scale.Part == v.Part:
		return fixed[scale.From] + s.text(*v.TargetMM) + "."
	case scale.From == proportion.FromSize:
		return s.times(*v.RatioSubject, s.req.Scale.MM, *v.TargetMM)
	case scale.Part != "":
		return s.times(*v.RatioSubject, *s.find(scale.Part).TargetMM, *v.TargetMM)
	}
	return s.times(*v.RatioSubject, *v.TargetMM / *v.RatioSubject, *v.TargetMM) + " (times the mean of the parts nailed down)"
}

// fixed begins the line of the part that fixes the scale.
var fixed = map[string]string{
	proportion.FromPart:     "This part is kept: ",
	proportion.FromQuantile: "With this part as it is, the others ask for the least work: ",
	proportion.FromNailed:   "This part is nailed down: ",
}

// missing says why there is no verdict.
var missing = map[string]string{
	proportion.NotReadOnSubject: "It has no reading on the subject yet.",
	proportion.NotReadOnPiece:   "It has no reading on the piece yet.",
	proportion.NotJoined:        "No chain of readings joins it to what fixes the scale.",
	proportion.NoMillimetres:    "The piece has no ruler reading to hold against the finished size.",
}

// times writes a product, in inches with the answer that a tape shows.
func (s sum) times(ratio, mm, target float64) string {
	line := fmt.Sprintf("%s x %s = %s", plain(ratio), s.paper(mm), s.paper(target))
	if s.req.Unit == length.IN {
		line += ", so " + s.text(target)
	}
	return line
}

// yours says what the piece measures and what is amiss.
func (s sum) yours(v proportion.PartVerdict) string {
	line := "Yours is " + s.text(*v.PieceMM)
	amount := s.near(*v.AmountMM)
	if strings.HasPrefix(amount, "0 ") || strings.HasPrefix(amount, "0/") {
		return line + ", as it should be."
	}
	line += fmt.Sprintf(": %s %s", amount, s.amiss(v))
	switch s.req.Axis {
	case Width:
		line += fmt.Sprintf(", %s on each side", s.paper(*v.EachSideMM))
	case "":
		line += fmt.Sprintf(" (%s on each side, if it is a width)", s.paper(*v.EachSideMM))
	}
	return line + "."
}

// shares is the sum without mm: the two ratios, one over the other.
func (s sum) shares(v proportion.PartVerdict) string {
	in := s.compared.Scale.Part
	switch {
	case in == v.Part:
		return "This part fixes the scale; the others are held against it."
	case in == "":
		in = "the mean of the parts nailed down"
	}
	line := fmt.Sprintf("In %s: %s on the subject, %s on the piece. %s / %s = %s", in, plain(*v.RatioSubject), plain(*v.RatioPiece), plain(*v.RatioPiece), plain(*v.RatioSubject), plain(1+s.signed(v)))
	if *v.D == 0 {
		return line + ", as it should be."
	}
	line += fmt.Sprintf(", so %s %s", percent(*v.AmountRatio), s.amiss(v))
	switch s.req.Axis {
	case Width:
		line += fmt.Sprintf(", %s on each side", percent(*v.AmountRatio/2))
	case "":
		line += fmt.Sprintf(" (%s on each side, if it is a width)", percent(*v.AmountRatio/2))
	}
	return line + "."
}

// signed is (piece - target) / target.
func (s sum) signed(v proportion.PartVerdict) float64 {
	if *v.D < 0 {
		return -*v.AmountRatio
	}
	return *v.AmountRatio
}

// reason says why the verdict is what it is: piece / target against what is let pass,
// and against what the readings may be off by, twice their uncertainty. Both bounds are
// as far below 1 as above it in logarithms.
func (s sum) reason(v proportion.PartVerdict) string {
	if s.compared.Scale.Part == v.Part && s.compared.Scale.From != proportion.FromSize {
		return ""
	}
	return fmt.Sprintf("Yours is %s of the target; %s counts as right, and readings like these cannot tell %s from right%s.",
		plain(1+s.signed(v)), between(s.req.Tolerance), between(2**v.UDWidened), so[v.Why])
}

// so ends the reason.
var so = map[string]string{
	proportion.BeyondTolerance:       ": it is beyond both",
	proportion.WithinTolerance:       ": it is near enough",
	proportion.Nailed:                ": it is near enough",
	proportion.RougherThanDifference: ": the readings are too rough to tell",
	proportion.TooRoughForTolerance:  ": the readings are too rough to tell",
}

// between writes the range from e^-x to e^x.
func between(x float64) string { return plain(exact.Exp(-x)) + " to " + plain(exact.Exp(x)) }

// amiss is the word for the direction.
func (s sum) amiss(v proportion.PartVerdict) string {
	words := map[string][2]string{Length: {"too short", "too long"}, Width: {"too narrow", "too wide"}, "": {"too small", "too big"}}[s.req.Axis]
	if *v.D < 0 {
		return words[0]
	}
	return words[1]
}

// text is a length as a tape shows it.
func (s sum) text(mm float64) string { return length.Text(mm, s.req.Unit, s.denominator) }

// near is text, but for an amount that a tape does not show.
func (s sum) near(mm float64) string {
	if s.req.Unit == length.IN && mm < length.MMPerInch/float64(2*s.denominator) {
		return s.paper(mm)
	}
	return s.text(mm)
}

// paper is a length as one reckons with it: inches as so many sixteenths (or whatever the
// denominator is) to a tenth.
func (s sum) paper(mm float64) string {
	if s.req.Unit != length.IN {
		return s.text(mm)
	}
	n := length.Decimal(mm/length.MMPerInch*float64(s.denominator), 1)
	if s.denominator == 1 {
		return n + " in"
	}
	return fmt.Sprintf("%s/%d in", n, s.denominator)
}

// plain is a ratio to three decimals.
func plain(ratio float64) string { return length.Decimal(ratio, 3) }

func percent(share float64) string { return length.Decimal(share*100, 1) + " %" }
