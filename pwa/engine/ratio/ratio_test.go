package ratio

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/length"
)

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func TestOneIsWorkedOut(t *testing.T) {
	for _, c := range []struct {
		req         Request
		missing     string
		value, mm   float64 // mm 0 for a count
		text, exact string
		lines       []string
	}{
		// common practice: a body of 20/16 in is 2 1/2 heads
		{Request{"2 1/2", "1", "20/16 in", "", "in", 16}, PieceB, 0.5, 12.7, "1/2 in", "8/16 in",
			[]string{"2 1/2 : 1 = 2.5", "20/16 in / 2.5 = 8/16 in, so 1/2 in"}},
		// common practice: a head of 0.792 body widths on a body 20/16 in wide is 1 in wide
		{Request{"0.792", "1", "", "20/16 in", "in", 0}, PieceA, 0.99, 25.146, "1 in", "15.8/16 in",
			[]string{"0.792 : 1 = 0.792", "0.792 x 20/16 in = 15.8/16 in, so 1 in"}},
		{Request{"0.792", "1", "", "31,75", "mm", 0}, PieceA, 25.146, 0, "25.15", "25.15",
			[]string{"0.792 : 1 = 0.792", "0.792 x 31,75 = 25.15"}},
		{Request{"0.792", "1", "", "31,75 mm", "mm", 0}, PieceA, 25.146, 25.146, "25.1 mm", "25.146 mm",
			[]string{"0.792 : 1 = 0.792", "0.792 x 31,75 mm = 25.146 mm, so 25.1 mm"}},
		// the subject's is missing, its side without units, so a count
		{Request{"", "1 1/4", "3 cm", "2 cm", "in", 8}, SubjectA, 1.875, 0, "1 7/8", "1.875",
			[]string{"3 cm : 2 cm = 1.5", "1.5 x 1 1/4 = 1.875, so 1 7/8"}},
		{Request{"60 cm", "", "3", "2", "cm", 8}, SubjectB, 40, 400, "40 cm", "40 cm",
			[]string{"3 : 2 = 1.5", "60 cm / 1.5 = 40 cm"}},
		// two units on one side
		{Request{"1 in", "1 cm", "", "10", "mm", 8}, PieceA, 25.4, 0, "25.4", "25.4",
			[]string{"1 in : 1 cm = 25.4 mm : 10 mm = 2.54", "2.54 x 10 = 25.4"}},
		// a unit is taken over from the other of its side, not from the answers' unit
		{Request{"3 cm", "15", "1", "", "mm", 8}, PieceB, 5, 0, "5", "5",
			[]string{"3 cm : 15 cm = 0.2", "1 / 0.2 = 5"}},
	} {
		got, err := Calculate(c.req)
		if err != nil {
			t.Errorf("%+v: %v", c.req, err)
			continue
		}
		near(t, "value", got.Value, c.value)
		switch {
		case c.mm == 0 && got.MM != nil, c.mm != 0 && got.MM == nil:
			t.Errorf("%+v: mm is %v, want %v", c.req, got.MM, c.mm)
		case c.mm != 0:
			near(t, "mm", *got.MM, c.mm)
		}
		near(t, "both ratios", got.RatioSubject, got.RatioPiece)
		if got.Missing != c.missing || got.Text != c.text || got.Exact != c.exact || got.Bigger != Equal || len(got.Become) != 0 {
			t.Errorf("%+v: %+v, want %s %q %q", c.req, got, c.missing, c.text, c.exact)
		}
		if !slices.Equal(got.Lines, c.lines) {
			t.Errorf("%+v: lines %q, want %q", c.req, got.Lines, c.lines)
		}
	}
}

// Common practice: a piece measured head/body 0.55 where the subject has 0.792 has a
// head of 11/16 in that wants to be 1 in.
func TestTwoRatiosAreCompared(t *testing.T) {
	got, err := Calculate(Request{"0.792", "1", "11/16 in", "20/16", "in", 16})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "piece", got.RatioPiece, 0.55)
	near(t, "by", got.By, 0.44)
	want := []string{"0.792 : 1 = 0.792", "11/16 in : 20/16 in = 0.55", "0.792 / 0.55 = 1.44, so the animal's is 44 % bigger"}
	if got.Bigger != Subject || got.Missing != "" || got.MM != nil || got.Text != "" || !slices.Equal(got.Lines, want) {
		t.Errorf("%+v", got)
	}
	for i, w := range []struct{ field, text, exact, line string }{
		{SubjectA, "9/16", "0.55", "0.55 x 1 = 0.55, so 9/16"},
		{SubjectB, "1 7/16", "1.44", "0.792 / 0.55 = 1.44, so 1 7/16"},
		{PieceA, "1 in", "15.8/16 in", "0.792 x 20/16 in = 15.8/16 in, so 1 in"},
		{PieceB, "7/8 in", "13.9/16 in", "11/16 in / 0.792 = 13.9/16 in, so 7/8 in"},
	} {
		b := got.Become[i]
		if b.Field != w.field || b.Text != w.text || b.Exact != w.exact || b.Line != w.line {
			t.Errorf("%d: %+v, want %+v", i, b, w)
		}
	}
}

// Vitruvius, De architectura III.1: the head is 1/8 and the face 1/10 of the height.
func TestVitruviusHeadAndFace(t *testing.T) {
	got, err := Calculate(Request{"1/8", "1/10", "1¼ in", "1 in", "in", 16})
	if err != nil || got.Bigger != Equal || got.By != 0 || len(got.Become) != 0 {
		t.Fatal(got, err)
	}
	near(t, "head/face", got.RatioSubject, 1.25)
}

// Whatever one of the four would have to become makes both ratios equal.
func TestWhatIsAdvisedMakesThemEqual(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	number := func() string { return strconv.FormatFloat(math.Exp(random.Float64()*8-2), 'f', 12, 64) }
	units := []string{"", " mm", " cm", " in"}
	for range 500 {
		subject, piece := units[random.IntN(4)], units[random.IntN(4)]
		unit := []string{length.MM, length.CM, length.IN}[random.IntN(3)]
		req := Request{number() + subject, number() + subject, number() + piece, number() + piece, unit, 16}
		got, err := Calculate(req)
		if err != nil {
			t.Fatal(req, err)
		}
		if got.Bigger == Equal || len(got.Become) != 4 {
			t.Fatal(req, got)
		}
		for _, b := range got.Become {
			changed, text := req, strconv.FormatFloat(b.Value, 'f', 15, 64)
			if b.MM != nil {
				text += " " + unit
			}
			*map[string]*string{SubjectA: &changed.SubjectA, SubjectB: &changed.SubjectB, PieceA: &changed.PieceA, PieceB: &changed.PieceB}[b.Field] = text
			again, err := Calculate(changed)
			if err != nil {
				t.Fatal(changed, err)
			}
			near(t, b.Field+" changed", again.RatioSubject, again.RatioPiece)
		}
	}
}

func TestCalculateRefuses(t *testing.T) {
	for _, c := range []struct {
		req      Request
		code, at string
	}{
		{Request{"", "1", "", "2", "in", 16}, fault.TooFew, PieceA},
		{Request{"", "", " ", "", "in", 16}, fault.TooFew, SubjectB},
		{Request{"1", "1", "1", "2", "ft", 16}, fault.NotOneOf, "unit"},
		{Request{"1", "1", "1", "2", "in", 12}, fault.NotOneOf, "denominator"},
		{Request{"0", "1", "1", "2", "in", 16}, fault.OutOfRange, SubjectA},
		{Request{"1", "1", "1", "0 in", "in", 16}, fault.OutOfRange, PieceB},
		{Request{"1", "1 x", "1", "2", "in", 16}, fault.UnknownUnit, SubjectB + ":2"},
		{Request{"1", "1", "1 3/", "2", "in", 16}, fault.NotALength, PieceA + ":4"},
		{Request{"1000001 in", "1 in", "1", "2", "in", 16}, fault.OutOfRange, SubjectA},
		{Request{"10000", "0.001", "10000", "", "in", 16}, "", ""},
		{Request{"10000", "0.001", "", "10000", "in", 16}, fault.OutOfRange, PieceA},
		{Request{"0.0000000000001", "10000", "1", "100", "in", 16}, fault.OutOfRange, PieceB},
	} {
		got, err := Calculate(c.req)
		var e *fault.Error
		switch {
		case c.code == "" && err != nil:
			t.Errorf("%+v: %v", c.req, err)
		case c.code != "" && (!errors.As(err, &e) || e.Code != c.code || e.At != c.at):
			t.Errorf("%+v: %+v %+v, want %s at %s", c.req, got, err, c.code, c.at)
		}
	}
}

func BenchmarkCalculate(b *testing.B) {
	for b.Loop() {
		if _, err := Calculate(Request{"0.792", "1", "11/16 in", "20/16", "in", 16}); err != nil {
			b.Fatal(err)
		}
	}
}
