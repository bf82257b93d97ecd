package sight

import (
	"errors"
	"math"
	"testing"

	"needlesight/pwa/engine/fault"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, within)
	}
}

func p[T any](v T) *T { return &v }

// refused checks that err is a fault with this code and place.
func refused(t *testing.T, what any, err error, code, at string) {
	t.Helper()
	var e *fault.Error
	if !errors.As(err, &e) || e.Code != code || e.At != at {
		t.Errorf("%+v: %+v, want %s at %q", what, err, code, at)
	}
}

func TestCount(t *testing.T) {
	for _, c := range []struct {
		req   Request
		value float64
		u     float64 // from the terms as written beside it
	}{
		{Request{Whole: 3, Numerator: 1, Denominator: p(4)}, 3.25, 0.0877971},     // sqrt(0.25^2/12 + 4 x 0.025^2)
		{Request{Whole: 3, Numerator: 1}, 3.25, 0.0877971},                        // quarters when nothing is said
		{Request{Whole: 2, Numerator: 2, Denominator: p(3)}, 2 + 2./3, 0.1055190}, // sqrt(1/9/12 + 3 x 0.025^2)
		{Request{Numerator: 3, Denominator: p(8)}, 0.375, 0.0438986},              // sqrt(1/64/12 + 0.025^2)
		{Request{Whole: 3, Slide: p(0.27)}, 3.27, 0.0577350},                      // sqrt(0.1^2/12 + 4 x 0.025^2)
		{Request{Whole: 3, Denominator: p(0)}, 3, 0.0520416},                      // a free slide that was not slid
		{Request{Marked: true}, 1, 0.025},
	} {
		got, err := Count(c.req)
		if err != nil || got.Value != c.value || got.From != FromStep {
			t.Errorf("%+v: %+v %v, want %v", c.req, got, err, c.value)
		}
		near(t, "u", got.U, c.u, 1e-7)
	}
}

func TestCountRefuses(t *testing.T) {
	for _, c := range []struct {
		req      Request
		code, at string
	}{
		{Request{}, fault.OutOfRange, "whole"},
		{Request{Slide: p(0.)}, fault.OutOfRange, "whole"},
		{Request{Whole: -1, Numerator: 1}, fault.OutOfRange, "whole"},
		{Request{Whole: MaxCount + 1}, fault.OutOfRange, "whole"},
		{Request{Whole: 1, Numerator: 4}, fault.OutOfRange, "numerator"},
		{Request{Whole: 1, Numerator: -1}, fault.OutOfRange, "numerator"},
		{Request{Whole: 1, Slide: p(1.)}, fault.OutOfRange, "slide"},
		{Request{Whole: 1, Slide: p(math.NaN())}, fault.OutOfRange, "slide"},
		{Request{Whole: 1, Denominator: p(5)}, fault.NotOneOf, "denominator"},
		{Request{Whole: 1, Numerator: 1, Denominator: p(0)}, fault.MissingField, "slide"},
		{Request{Whole: 1, Numerator: 1, Slide: p(.5)}, fault.ConflictingFields, "slide"},
		{Request{Whole: 1, Denominator: p(4), Slide: p(.5)}, fault.ConflictingFields, "slide"},
		{Request{Whole: 1, Repeats: []float64{1}}, fault.ConflictingFields, "repeats"},
		{Request{Whole: 1, Marked: true}, fault.ConflictingFields, "marked"},
		{Request{Repeats: []float64{}}, fault.MissingField, "repeats"},
		{Request{Repeats: []float64{1, 0}}, fault.OutOfRange, "repeats[1]"},
		{Request{Repeats: []float64{1, 1e5}}, fault.OutOfRange, "repeats[1]"},
		{Request{Repeats: make([]float64, MaxRepeats+1)}, fault.TooMany, "repeats"},
	} {
		_, err := Count(c.req)
		refused(t, c.req, err, c.code, c.at)
	}
}

func TestFewRepeatsKeepTheLargerDoubt(t *testing.T) {
	for _, c := range []struct {
		repeats  []float64
		mean, u  float64
		from     string
		whatElse string
	}{
		{[]float64{3.25}, 3.25, 0.0877971, FromStep, "one count has no spread"},
		{[]float64{3.25, 3.25, 3.5}, 10. / 3, 0.0877971, FromStep, "spread 0.0833 is the smaller"},
		{[]float64{3, 3.25, 3.5}, 3.25, 0.1443376, FromRepeats, "0.25/sqrt(3) is the larger"},
		{[]float64{3.25, 3.5, 3.25, 3.25}, 3.3125, 0.0625, FromRepeats, "0.125/sqrt(4) replaces the step"},
		{[]float64{2.7, 2.7, 2.7, 2.7, 2.7, 2.7}, 2.7, 0.0721688, FromStep, "all alike: 0.25/sqrt(12) stays"},
	} {
		got, err := Count(Request{Repeats: c.repeats})
		if err != nil || got.From != c.from {
			t.Errorf("%v: %+v %v, want from %s: %s", c.repeats, got, err, c.from, c.whatElse)
		}
		near(t, "mean", got.Value, c.mean, 1e-12)
		near(t, "u of "+c.whatElse, got.U, c.u, 1e-7)
	}
}

// JCGM 100:2008, 4.4.3 and table 1: twenty temperatures have the mean 100.145 °C, the
// experimental standard deviation 1.489 °C, and so the standard uncertainty 0.333 °C.
func TestRepeatsAgainstGUMTable1(t *testing.T) {
	got, err := Count(Request{Repeats: []float64{
		96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
	}})
	if err != nil || got.From != FromRepeats {
		t.Fatal(got, err)
	}
	near(t, "mean", got.Value, 100.145, 0.0005)
	near(t, "s", got.U*math.Sqrt(20), 1.489, 0.0005)
	near(t, "u", got.U, 0.333, 0.0005)
}

// JCGM 100:2008, 4.4.5: a rectangular distribution of half-width 4 °C has u = 2.3 °C;
// a step q is one of half-width q/2.
func TestStepAgainstGUM445(t *testing.T) {
	near(t, "half-width 4", 4/math.Sqrt(3), 2.3, 0.05)
	alone := func(denominator int) float64 {
		u := U(1, denominator)
		return math.Sqrt(u*u - StepShare*StepShare)
	}
	for _, denominator := range []int{2, 3, 4, 8} {
		near(t, "step", alone(denominator), 0.5/float64(denominator)/math.Sqrt(3), 1e-12)
	}
	near(t, "slide", alone(0), 0.05/math.Sqrt(3), 1e-12)
}

func TestMarks(t *testing.T) {
	for _, c := range []struct {
		req MarksRequest
		u   float64
	}{
		{MarksRequest{GapPX: 312, ArmMM: 600, ArmOffMM: p(20.)}, 6.0183}, // sqrt(2/12 + (10.4/sqrt(3))^2)
		{MarksRequest{GapPX: 312}, 6.0183},
		{MarksRequest{GapPX: 312, ArmOffMM: p(0.)}, 0.4082}, // sqrt(2/12)
	} {
		got, err := Marks(c.req)
		if err != nil || got.Value != 312 {
			t.Errorf("%+v: %+v %v", c.req, got, err)
		}
		near(t, "u", got.U, c.u, 1e-4)
	}
	for _, c := range []struct {
		req MarksRequest
		at  string
	}{
		{MarksRequest{}, "gap_px"},
		{MarksRequest{GapPX: math.Inf(1)}, "gap_px"},
		{MarksRequest{GapPX: 1, ArmMM: 50}, "arm_mm"},
		{MarksRequest{GapPX: 1, ArmMM: 600, ArmOffMM: p(301.)}, "arm_off_mm"},
		{MarksRequest{GapPX: 1, ArmOffMM: p(-1.)}, "arm_off_mm"},
	} {
		_, err := Marks(c.req)
		refused(t, c.req, err, fault.OutOfRange, c.at)
	}
}

// The figures are common practice of sighting, worked out: an arm 2 cm off in 60 cm,
// 3.3 %; a rule tilted 10, 20, 30 degrees, 1.5, 6.0, 13.4 % short; a part 5 cm nearer,
// 9.1 % too big from 60 cm and 2.6 % from 2 m.
func TestAdvice(t *testing.T) {
	got, err := Advice(AdviceRequest{ArmMM: p(600.), ArmOffMM: p(20.)})
	if err != nil || got.Tilt != nil || got.Depth != nil {
		t.Fatal(got, err)
	}
	near(t, "arm", *got.Arm, 0.033, 0.0005)
	for degrees, short := range map[float64]float64{10: 0.015, 20: 0.060, 30: 0.134} {
		got, err := Advice(AdviceRequest{TiltRad: p(degrees * math.Pi / 180)})
		if err != nil || got.Arm != nil {
			t.Fatal(got, err)
		}
		near(t, "tilt", *got.Tilt, -short, 0.0005)
	}
	for distance, big := range map[float64]float64{600: 0.091, 2000: 0.026} {
		got, err := Advice(AdviceRequest{NearerMM: p(50.), DistanceMM: p(distance)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "depth", *got.Depth, big, 0.0005)
		arms, err := Advice(AdviceRequest{ArmMM: p(500.), NearerArms: p(0.1), DistanceArms: p(distance / 500)})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "depth in arms", *arms.Depth, *got.Depth, 1e-12)
	}
}

// A pinhole looked through by lines instead of formulas: where the lines from the eye
// to the ends of a part cross the rule.
func TestAdviceAgainstLinesOfSight(t *testing.T) {
	// on a rule at arm: how much of it a part of this size at this distance covers
	onRule := func(size, distance, arm float64) float64 { return arm * (size / distance) }
	full := onRule(300, 2000, 600)
	got, err := Advice(AdviceRequest{ArmMM: p(600.), ArmOffMM: p(35.), NearerMM: p(120.), DistanceMM: p(2000.)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "arm 35 mm longer", *got.Arm, onRule(300, 2000, 635)/full-1, 1e-12)
	near(t, "120 mm nearer", *got.Depth, onRule(300, 1880, 600)/full-1, 1e-12)

	// a short rule, leaning: the angle it fills at the eye against the angle it fills upright
	fills := func(half, lean float64) float64 {
		y, z := half*math.Cos(lean), half*math.Sin(lean)
		return math.Atan2(y, 600+z) + math.Atan2(y, 600-z)
	}
	lean, err := Advice(AdviceRequest{TiltRad: p(0.4)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "leaning 0.4 rad", *lean.Tilt, fills(1, 0.4)/fills(1, 0)-1, 1e-5)
}

func TestAdviceRefuses(t *testing.T) {
	for _, c := range []struct {
		req      AdviceRequest
		code, at string
	}{
		{AdviceRequest{}, fault.MissingField, ""},
		{AdviceRequest{ArmMM: p(600.)}, fault.MissingField, ""},
		{AdviceRequest{ArmMM: p(6.)}, fault.OutOfRange, "arm_mm"},
		{AdviceRequest{ArmOffMM: p(6.)}, fault.MissingField, "arm_mm"},
		{AdviceRequest{ArmMM: p(600.), ArmOffMM: p(400.)}, fault.OutOfRange, "arm_off_mm"},
		{AdviceRequest{TiltRad: p(2.)}, fault.OutOfRange, "tilt_rad"},
		{AdviceRequest{NearerMM: p(5.)}, fault.MissingField, "distance_mm"},
		{AdviceRequest{DistanceMM: p(5.)}, fault.MissingField, "nearer_mm"},
		{AdviceRequest{NearerMM: p(5.), DistanceArms: p(3.)}, fault.MissingField, "arm_mm"},
		{AdviceRequest{NearerMM: p(5.), NearerArms: p(3.)}, fault.ConflictingFields, "nearer_arms"},
		{AdviceRequest{NearerMM: p(5.), DistanceMM: p(5.)}, fault.OutOfRange, "nearer_mm"},
		{AdviceRequest{NearerMM: p(5.), DistanceMM: p(0.)}, fault.OutOfRange, "distance_mm"},
	} {
		_, err := Advice(c.req)
		refused(t, c.req, err, c.code, c.at)
	}
}

func TestCosLess1AgainstPackageMath(t *testing.T) {
	for x := -MaxTiltRad; x <= MaxTiltRad; x += 0.01 {
		near(t, "cos - 1", cosLess1(x), math.Cos(x)-1, 4e-16)
	}
	if cosLess1(0) != 0 {
		t.Error("a rule that is square to the line of sight covers less")
	}
}
