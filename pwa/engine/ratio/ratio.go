// Package ratio is the quick calculator: two lengths of the subject, the same two of
// the piece. Three give the fourth; four say which side's ratio is bigger.
package ratio

import (
	"slices"
	"strconv"
	"strings"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/length"
)

// The fields of a request, as Missing and Become name them.
const (
	SubjectA = "subject_a"
	SubjectB = "subject_b"
	PieceA   = "piece_a"
	PieceB   = "piece_b"
)

// The values of Bigger.
const (
	Subject = "subject"
	Piece   = "piece"
	Equal   = "equal"
)

// same is the relative difference below which two ratios are equal: far above what
// rounding in the machine does, far below what anybody measures.
const same = 1e-9

// Request holds four texts as typed (see length.Read); at most one may be empty, and
// that one is worked out. The two of a side are counts when neither has a unit; else
// one without takes the unit of the other.
type Request struct {
	// SubjectA is a length or a count on the subject.
	SubjectA string `json:"subject_a"`
	// SubjectB is the one it is compared with.
	SubjectB string `json:"subject_b"`
	// PieceA is the same length or count as SubjectA, on the piece.
	PieceA string `json:"piece_a"`
	// PieceB is the same as SubjectB, on the piece.
	PieceB string `json:"piece_b"`
	// Unit is mm, cm or in, and the one lengths are answered in.
	Unit string `json:"unit"`
	// Denominator is the finest fraction of an inch shown: 1, 2, 4, 8, 16, 32 or 64;
	// 0 or left out is 16.
	Denominator int `json:"denominator,omitempty"`
}

// Answer is what one of the four is, or would have to become.
type Answer struct {
	// Value is in the request's unit, or for a count in units of whatever was counted.
	Value float64 `json:"value"`
	// MM is the same in mm, and null for a count.
	MM *float64 `json:"mm"`
	// Text is Value as a maker uses it, rounded: "1/2 in", "25.1 mm", "2.5".
	Text string `json:"text"`
	// Exact is Value less rounded: "15.8/16 in", "25.146 mm".
	Exact string `json:"exact"`
}

// Become is what one of the four would have to become, the other three staying, for
// both ratios to be equal.
type Become struct {
	// Field is the field it would replace.
	Field string `json:"field"`
	Answer
	// Line is the sum behind it.
	Line string `json:"line"`
}

// Response is the calculator's answer.
type Response struct {
	// Missing is the field that was worked out, or empty; the answer stands beside it.
	Missing string `json:"missing"`
	// Answer is what is missing: 0, null and empty texts when nothing was.
	Answer
	// RatioSubject is the subject's first over its second.
	RatioSubject float64 `json:"ratio_subject"`
	// RatioPiece is the piece's first over its second.
	RatioPiece float64 `json:"ratio_piece"`
	// Bigger tells which ratio is bigger: subject, piece or equal.
	Bigger string `json:"bigger"`
	// By is by how much, as a share of the smaller one: 0.18 is 18 % bigger.
	By float64 `json:"by"`
	// Become holds the four in the order of the request when the ratios differ.
	Become []Become `json:"become"`
	// Lines is the sum as it is written on paper.
	Lines []string `json:"lines"`
}

// Calculate works out the one that is missing, or compares the two ratios. It refuses
// what length.Read refuses, a 0 and a result beyond fault.MaxValue with OutOfRange, a
// unit or fraction that is not known with NotOneOf, and two or more empty texts with
// TooFew.
func Calculate(req Request) (Response, error) {
	s, err := read(req)
	if err != nil {
		return Response{}, err
	}
	if i := s.missing(); i >= 0 {
		return s.workOut(i)
	}
	return s.compare()
}

// one is one of the four.
type one struct {
	field, text string  // text is as it is shown in a sum: with a unit if it is a length
	unit        string  // as typed or taken over; empty for a count
	value       float64 // in mm, or units of a count; 0 while missing
}

// sum is the four as they were read: subject a and b, piece a and b.
type sum struct {
	four        [4]one
	unit        string
	denominator int
}

func read(req Request) (*sum, error) {
	denominator, err := length.CheckStep("denominator", req.Denominator)
	if err != nil {
		return nil, err
	}
	if err := length.CheckUnit("unit", req.Unit); err != nil {
		return nil, err
	}
	s := &sum{unit: req.Unit, denominator: denominator}
	if s.four[0], s.four[1], err = side(SubjectA, req.SubjectA, SubjectB, req.SubjectB); err != nil {
		return nil, err
	}
	if s.four[2], s.four[3], err = side(PieceA, req.PieceA, PieceB, req.PieceB); err != nil {
		return nil, err
	}
	var empty []string
	for _, o := range s.four {
		if o.value == 0 {
			empty = append(empty, o.field)
		}
	}
	if len(empty) > 1 {
		return nil, fault.New(fault.TooFew, empty[1], "%s are empty, and only one of the four can be worked out from the others.", strings.Join(empty, ", "))
	}
	return s, nil
}

// side reads the two texts of one side.
func side(fieldA, textA, fieldB, textB string) (a, b one, err error) {
	typedA, err := readOne(fieldA, textA)
	if err != nil {
		return a, b, err
	}
	typedB, err := readOne(fieldB, textB)
	if err != nil {
		return a, b, err
	}
	if a, err = inside(fieldA, textA, typedA, typedB.Unit); err == nil {
		b, err = inside(fieldB, textB, typedB, typedA.Unit)
	}
	return a, b, err
}

func readOne(field, text string) (length.Typed, error) {
	if strings.TrimSpace(text) == "" {
		return length.Typed{}, nil
	}
	typed, err := length.Read(field, text)
	if err == nil {
		err = fault.Positive(field, typed.Value)
	}
	return typed, err
}

// inside turns a typed one into mm, or leaves it a count; other is the unit of the
// other one of its side.
func inside(field, text string, typed length.Typed, other string) (one, error) {
	text = strings.TrimSpace(text)
	if typed.Unit == "" && other != "" {
		typed.Unit, text = other, text+" "+other
	}
	o := one{field: field, text: text, unit: typed.Unit, value: length.ToMM(typed.Value, typed.Unit)}
	if o.value == 0 {
		return o, nil
	}
	return o, fault.Positive(field, o.value)
}

// missing is the index of the one that was left empty, or -1.
func (s *sum) missing() int {
	return slices.IndexFunc(s.four[:], func(o one) bool { return o.value == 0 })
}

// ratio is the first of a side over its second: the subject's at 0, the piece's at 2.
func (s *sum) ratio(side int) float64 { return s.four[side].value / s.four[side+1].value }

// other is the side that i does not lie on.
func other(i int) int { return 2 - i/2*2 }

// workOut answers what is missing at i.
func (s *sum) workOut(i int) (Response, error) {
	answer, line, err := s.from(i)
	if err != nil {
		return Response{}, err
	}
	ratio := s.ratio(other(i))
	return Response{
		Missing: s.four[i].field, Answer: answer, RatioSubject: ratio, RatioPiece: ratio,
		Bigger: Equal, Become: []Become{}, Lines: []string{s.ratioLine(other(i)), line},
	}, nil
}

// compare tells which ratio is bigger, and what each of the four would have to become.
func (s *sum) compare() (Response, error) {
	subject, piece := s.ratio(0), s.ratio(2)
	r := Response{
		RatioSubject: subject, RatioPiece: piece, Bigger: Subject, By: subject/piece - 1,
		Become: []Become{}, Lines: []string{s.ratioLine(0), s.ratioLine(2)},
	}
	if piece > subject {
		r.Bigger, r.By = Piece, piece/subject-1
	}
	if r.By < same {
		r.Bigger, r.By = Equal, 0
		return r, nil
	}
	for i := range s.four {
		answer, line, err := s.from(i)
		if err != nil {
			return Response{}, err
		}
		r.Become = append(r.Become, Become{s.four[i].field, answer, line})
	}
	high, low := max(subject, piece), min(subject, piece)
	r.Lines = append(r.Lines, figures(high)+" / "+figures(low)+" = "+figures(high/low)+
		", so the "+whose(r.Bigger)+"'s is "+length.Decimal(r.By*100, 1)+" % bigger")
	return r, nil
}

// whose is a side as a maker calls it.
func whose(side string) string {
	if side == Piece {
		return "wool"
	}
	return "animal"
}

// from works out what is at i from the other three: a first is the other side's ratio
// times its second, a second is its first over that ratio.
func (s *sum) from(i int) (Answer, string, error) {
	ratio, partner, field := s.ratio(other(i)), s.four[i^1], s.four[i].field
	value, line := ratio*partner.value, figures(ratio)+" x "+partner.text
	if i%2 == 1 {
		value, line = partner.value/ratio, partner.text+" / "+figures(ratio)
	}
	if err := fault.Positive(field, value); err != nil {
		return Answer{}, "", err
	}
	answer := s.answer(value, s.four[i].unit == "")
	line += " = " + answer.Exact
	if answer.Text != answer.Exact {
		line += ", so " + answer.Text
	}
	return answer, line, nil
}

func (s *sum) answer(value float64, counted bool) Answer {
	switch {
	case counted && s.unit == length.IN:
		return Answer{value, nil, length.Fraction(value, s.denominator), figures(value)}
	case counted:
		return Answer{value, nil, length.Decimal(value, 2), figures(value)}
	}
	return Answer{
		length.FromMM(value, s.unit), &value,
		length.Text(value, s.unit, s.denominator), length.Exact(value, s.unit, s.denominator),
	}
}

// ratioLine is a side's ratio as a sum; two units are first made one.
func (s *sum) ratioLine(side int) string {
	a, b := s.four[side], s.four[side+1]
	line := a.text + " : " + b.text
	if a.unit != b.unit {
		line += " = " + length.Exact(a.value, s.unit, s.denominator) + " : " + length.Exact(b.value, s.unit, s.denominator)
	}
	return line + " = " + figures(s.ratio(side))
}

// figures writes a number to four figures that count, and whole ones in full.
func figures(value float64) string {
	if value >= 1000 {
		return length.Decimal(value, 0)
	}
	return strconv.FormatFloat(rounded(value), 'f', -1, 64)
}

// rounded is a number to four figures that count.
func rounded(value float64) float64 {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(value, 'e', 3, 64), 64) // its own output
	return rounded
}
