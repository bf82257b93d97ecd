// Package sight turns what is counted along a needle held up at arm's length, or
// marked on the glass of a phone held up so, into values with a standard
// uncertainty, and works out what a bent arm, a tilted needle and a near part do.
package sight

import (
	"fmt"
	"math"
	"slices"

	"needlesight/pwa/engine/fault"
)

// StepShare is the standard uncertainty in units that each placing of the needle
// adds: common practice of sighting, where 2 to 3 % of a length is about what an eye
// tells apart (from memory).
const StepShare = 0.025

// Slide is the step in units to which a freely slid fraction is read: common practice.
const Slide = 0.1

// MaxCount is the most units one count may have.
const MaxCount = 10000

// MaxRepeats is the most repeats of one count.
const MaxRepeats = 2000

// EnoughRepeats is how many repeats give a spread that is trusted alone: common practice.
const EnoughRepeats = 4

// Request holds one count in one of four forms: Whole with Numerator and
// Denominator, Whole with Slide, Repeats with Denominator, or Marked.
type Request struct {
	// Whole is the number of whole units, 0 to MaxCount.
	Whole int `json:"whole,omitempty"`
	// Numerator is the number of Denominator's parts of a unit beyond the whole ones,
	// less than Denominator.
	Numerator int `json:"numerator,omitempty"`
	// Denominator is the fraction the count is read to: 2, 3, 4 or 8, or 0 for a free
	// slide. Left out or null it is 4, or 0 with Slide.
	Denominator *int `json:"denominator,omitempty"`
	// Slide is the share of a unit beyond the whole ones, 0 or more and less than 1.
	Slide *float64 `json:"slide,omitempty"`
	// Repeats are several counts of one part, in units.
	Repeats []float64 `json:"repeats,omitempty"`
	// Marked is true for the unit itself, which the thumb marks and nobody counts.
	Marked bool `json:"marked,omitempty"`
}

// Response is a value and what it may be off by.
type Response struct {
	// Value is in units, for repeats their mean.
	Value float64 `json:"value"`
	// U is the standard uncertainty of Value, in units.
	U float64 `json:"u"`
	// From tells where U comes from: FromStep or FromRepeats.
	From string `json:"from"`
}

// Where an uncertainty comes from.
const (
	FromStep    = "step"    // the fraction's step and the placings of the needle
	FromRepeats = "repeats" // the spread of the repeats
)

// Count gives the value and uncertainty of one count. It refuses with
// ConflictingFields, MissingField, NotOneOf, TooMany and OutOfRange; a count of zero
// is out of range.
func Count(req Request) (Response, error) {
	if err := oneForm(req); err != nil {
		return Response{}, err
	}
	step, err := checkDenominator(req)
	switch {
	case err != nil:
		return Response{}, err
	case req.Marked:
		return Response{1, StepShare, FromStep}, nil
	case req.Repeats != nil:
		return repeats(req.Repeats, step)
	}
	value := float64(req.Whole)
	if req.Slide != nil {
		if !(*req.Slide >= 0 && *req.Slide < 1) {
			return Response{}, fault.New(fault.OutOfRange, "slide", "slide is %v, and must be 0 or more and less than 1.", *req.Slide)
		}
		value += *req.Slide
	} else if step > 0 {
		if req.Numerator < 0 || req.Numerator >= step {
			return Response{}, fault.New(fault.OutOfRange, "numerator", "numerator is %d, and must be 0 or more and less than %d.", req.Numerator, step)
		}
		value += float64(req.Numerator) / float64(step)
	}
	if req.Whole < 0 || req.Whole > MaxCount || value == 0 {
		return Response{}, fault.New(fault.OutOfRange, "whole", "The count is %v, and must be more than 0 and at most %d.", value, MaxCount)
	}
	return Response{value, U(value, step), FromStep}, nil
}

// oneForm refuses a request that mixes the forms of a count, or has none.
func oneForm(req Request) error {
	both := func(a, b string) error {
		return fault.New(fault.ConflictingFields, b, "%s and %s cannot be given together.", a, b)
	}
	counted := req.Whole != 0 || req.Numerator != 0 || req.Slide != nil
	switch {
	case req.Marked && (counted || req.Repeats != nil || req.Denominator != nil):
		return both("a count", "marked")
	case req.Repeats != nil && counted:
		return both("a single count", "repeats")
	case req.Slide != nil && req.Numerator != 0:
		return both("numerator", "slide")
	case req.Slide != nil && req.Denominator != nil && *req.Denominator != 0:
		return both("denominator", "slide")
	case req.Denominator != nil && *req.Denominator == 0 && req.Numerator != 0:
		return fault.New(fault.MissingField, "slide", "numerator needs a denominator, and a free slide is given in slide.")
	}
	return nil
}

func checkDenominator(req Request) (int, error) {
	switch {
	case req.Slide != nil:
		return 0, nil
	case req.Denominator == nil:
		return 4, nil
	}
	return *req.Denominator, CheckDenominator("denominator", *req.Denominator)
}

// CheckDenominator refuses what is not 2, 3, 4, 8 or, for a free slide, 0 with NotOneOf.
func CheckDenominator(at string, denominator int) error {
	switch denominator {
	case 0, 2, 3, 4, 8:
		return nil
	}
	return fault.New(fault.NotOneOf, at, "%s is %d, and must be 2, 3, 4 or 8, or 0 for a free slide.", at, denominator)
}

// U is the standard uncertainty in units of a count of value units, more than 0, read
// to 1/denominator (2, 3, 4 or 8; 0 for a free slide): the step q as a rectangular
// distribution, q/sqrt(12) (JCGM 100:2008, 4.3.7), and StepShare in quadrature for
// each placing of the needle, the last and partial one too.
func U(value float64, denominator int) float64 {
	q := step(denominator)
	return math.Sqrt(q*q/12 + float64(math.Ceil(value)*(StepShare*StepShare)))
}

func step(denominator int) float64 {
	if denominator == 0 {
		return Slide
	}
	return 1 / float64(denominator)
}

// repeats gives the mean and the experimental standard deviation of the mean
// (JCGM 100:2008, 4.2.3) once there are EnoughRepeats, and else the larger of that and
// the uncertainty of a single count. Repeats that all came out the same do not tell
// where within a step the length lies, so the step's own uncertainty stays
// (JCGM 100:2008, F.2.2.1).
func repeats(counts []float64, denominator int) (Response, error) {
	n := float64(len(counts))
	switch {
	case len(counts) == 0:
		return Response{}, fault.New(fault.MissingField, "repeats", "repeats is empty, and at least one count is needed.")
	case len(counts) > MaxRepeats:
		return Response{}, fault.New(fault.TooMany, "repeats", "repeats holds %d counts, and at most %d are read.", len(counts), MaxRepeats)
	}
	sum := 0.0
	for i, count := range counts {
		if !(count > 0 && count <= MaxCount) {
			at := fmt.Sprintf("repeats[%d]", i)
			return Response{}, fault.New(fault.OutOfRange, at, "%s is %v, and must be more than 0 and at most %d.", at, count, MaxCount)
		}
		sum += count
	}
	mean, squares := sum/n, 0.0
	for _, count := range counts {
		squares += float64((count - mean) * (count - mean))
	}
	own := 0.0
	if len(counts) > 1 {
		own = math.Sqrt(squares / (n - 1) / n)
	}
	single := U(mean, denominator)
	switch {
	case slices.Min(counts) == slices.Max(counts) && len(counts) >= EnoughRepeats:
		return Response{counts[0], step(denominator) / math.Sqrt(12), FromStep}, nil
	case own >= single || len(counts) >= EnoughRepeats:
		return Response{mean, own, FromRepeats}, nil
	}
	return Response{mean, single, FromStep}, nil
}
