package length

import (
	"errors"
	"math"
	"testing"

	"needlesight/pwa/engine/fault"
)

func TestRead(t *testing.T) {
	for _, c := range []struct {
		text  string
		value float64
		unit  string
	}{
		{"1 3/16 in", 1.1875, IN},
		{"1 3/16", 1.1875, ""},
		{"1-3/16\"", 1.1875, IN},
		{"20/16", 1.25, ""},
		{"20/16 in", 1.25, IN},
		{"3,5 cm", 3.5, CM},
		{"2.5cm", 2.5, CM},
		{".5 mm", .5, MM},
		{"  7 ", 7, ""},
		{"0", 0, ""},
		{"1¼", 1.25, ""},
		{"1 ½ in", 1.5, IN},
		{"¾″", .75, IN},
		{"2⅓", 2 + 1./3, ""},
		{"⅛ inch", .125, IN},
		{"3⁄8 in", .375, IN},
		{"2 2/3", 2 + 2./3, ""},
		{"11/16”", .6875, IN},
		{"1/3 in", 1. / 3, IN},
		{"18 Centimetres", 18, CM},
		{"5''", 5, IN},
		{"180\u00a0mm", 180, MM},
		{"10000000", 1e7, ""},
	} {
		got, err := Read("text", c.text)
		if err != nil || got.Value != c.value || got.Unit != c.unit {
			t.Errorf("%q: %v %v, want %v %v", c.text, got, err, c.value, c.unit)
		}
	}
}

func TestReadRefusesAndSaysWhere(t *testing.T) {
	for _, c := range []struct{ text, code, at string }{
		{"", fault.EmptyText, "text"},
		{" \t", fault.EmptyText, "text"},
		{"wool", fault.NotALength, "text:0"},
		{"-3 cm", fault.NotALength, "text:0"},
		{"+3", fault.NotALength, "text:0"},
		{"  −3", fault.NotALength, "text:2"},
		{"cm", fault.NotALength, "text:0"},
		{"5.", fault.NotALength, "text:2"},
		{".", fault.NotALength, "text:1"},
		{"1.2.3", fault.NotALength, "text:3"},
		{"1,234.5", fault.NotALength, "text:5"},
		{"1/", fault.NotALength, "text:2"},
		{"1/0 in", fault.NotALength, "text:2"},
		{"1/2000", fault.NotALength, "text:2"},
		{"/2", fault.NotALength, "text:0"},
		{"1 3/", fault.NotALength, "text:4"},
		{"1 20/16", fault.NotALength, "text:2"},
		{"1 3", fault.NotALength, "text:2"},
		{"1-", fault.NotALength, "text:2"},
		{"1/2/3", fault.NotALength, "text:3"},
		{"¼½", fault.NotALength, "text:1"},
		{"1½¼", fault.NotALength, "text:2"},
		{"2 x 3", fault.UnknownUnit, "text:2"},
		{"3 furlongs", fault.UnknownUnit, "text:2"},
		{"3 m", fault.UnknownUnit, "text:2"},
		{"3 mm mm", fault.UnknownUnit, "text:2"},
		{"1e3", fault.UnknownUnit, "text:1"},
		{"NaN", fault.NotALength, "text:0"},
		{"Inf", fault.NotALength, "text:0"},
		{"10000001", fault.OutOfRange, "text"},
		{"1\xff", fault.NotALength, "text:1"},
		{"0000000000000000000000000000000000000000000000000000000000000000 1", fault.NotALength, "text:64"},
	} {
		got, err := Read("text", c.text)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%q: %v, %+v, want %s at %s", c.text, got, err, c.code, c.at)
		}
	}
}

// The inch is 25.4 mm exactly: NIST SP 811, appendix B.8.
func TestParseInMM(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		mm         float64
		got        string
	}{
		{"1", IN, 25.4, IN},
		{"1/16", IN, 1.5875, IN},
		{"1 3/16", IN, 30.1625, IN},
		{"1 3/16 in", MM, 30.1625, IN},
		{"20/16", IN, 31.75, IN},
		{"1/32\"", CM, 0.79375, IN},
		{"3,5 cm", IN, 35, CM},
		{"2.5", CM, 25, CM},
		{"180", MM, 180, MM},
	} {
		got, err := Parse(ParseRequest{Text: c.text, Unit: c.unit})
		if err != nil || got.MM != c.mm || got.Unit != c.got || got.Typed != c.text {
			t.Errorf("%q in %s: %+v %v, want %v mm", c.text, c.unit, got, err, c.mm)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		req  ParseRequest
		code string
	}{
		{ParseRequest{Text: "3", Unit: "ft"}, fault.NotOneOf},
		{ParseRequest{Text: "3"}, fault.NotOneOf},
		{ParseRequest{Text: "0", Unit: MM}, fault.OutOfRange},
		{ParseRequest{Text: "1000001 cm", Unit: MM}, fault.OutOfRange},
		{ParseRequest{Text: "3 ells", Unit: MM}, fault.UnknownUnit},
	} {
		got, err := Parse(c.req)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || got != (ParseResponse{}) {
			t.Errorf("%+v: %+v %v, want %s", c.req, got, err, c.code)
		}
	}
	if got, err := Parse(ParseRequest{Text: "0", Unit: MM, Zero: true}); err != nil || got.MM != 0 {
		t.Errorf("0 where it is let pass: %+v %v", got, err)
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct {
		mm          float64
		unit        string
		denominator int
		want        string
	}{
		{30.16, IN, 16, "1 3/16 in"},
		{-7.7, IN, 16, "-5/16 in"},
		{25.4, IN, 16, "1 in"},
		{25.4 * 1.999, IN, 16, "2 in"},
		{12.7, IN, 32, "1/2 in"},
		{0.79375, IN, 32, "1/32 in"},
		{-0.3, IN, 16, "0 in"},
		{7.7, MM, 16, "7.7 mm"},
		{25, MM, 16, "25 mm"},
		{99.94, MM, 16, "99.9 mm"},
		{99.96, MM, 16, "100 mm"},
		{180.4, MM, 16, "180 mm"},
		{-0.04, MM, 16, "0 mm"},
		{-3.85, MM, 16, "-3.9 mm"},
		{35.24, CM, 16, "3.52 cm"},
		{180.4, CM, 16, "18 cm"},
		{184.4, CM, 16, "18.4 cm"},
		{1e7, MM, 16, "10000000 mm"},
	} {
		if got := Text(c.mm, c.unit, c.denominator); got != c.want {
			t.Errorf("%v mm in %s, 1/%d: %q, want %q", c.mm, c.unit, c.denominator, got, c.want)
		}
	}
}

func TestFormatRefuses(t *testing.T) {
	for _, c := range []struct {
		req      FormatRequest
		code, at string
	}{
		{FormatRequest{MM: []float64{1}, Unit: "yd"}, fault.NotOneOf, "unit"},
		{FormatRequest{MM: []float64{1}, Unit: IN, Denominator: 10}, fault.NotOneOf, "denominator"},
		{FormatRequest{MM: []float64{1, 1e8}, Unit: IN}, fault.OutOfRange, "mm[1]"},
		{FormatRequest{MM: []float64{math.NaN()}, Unit: IN}, fault.OutOfRange, "mm[0]"},
		{FormatRequest{MM: make([]float64, MaxList+1), Unit: IN}, fault.TooMany, "mm"},
	} {
		_, err := Format(c.req)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %+v, want %s at %s", c.req.Unit, err, c.code, c.at)
		}
	}
}

// Every 1/32 in up to 20 in is written and read back without any drift.
func TestThirtySecondsComeBack(t *testing.T) {
	for n := 1; n <= 640; n++ {
		mm := ToMM(float64(n)/32, IN)
		got, err := Parse(ParseRequest{Text: Text(mm, IN, 32), Unit: MM})
		if err != nil || got.MM != mm {
			t.Fatalf("%d/32 in: %v %v, want %v", n, got.MM, err, mm)
		}
	}
}

// What is written reads back within half a step of what was meant, and writes the same again.
func FuzzTextReadsBack(f *testing.F) {
	f.Add(30.16, uint8(2), uint8(4))
	f.Add(99.95, uint8(0), uint8(0))
	f.Add(999.6, uint8(1), uint8(5))
	f.Add(1e7, uint8(2), uint8(6))
	f.Add(0.79, uint8(2), uint8(0))
	f.Fuzz(func(t *testing.T, mm float64, u, step uint8) {
		if !(mm > 0 && mm < 9e6) {
			return
		}
		unit := []string{MM, CM, IN}[u%3]
		denominator := 1 << (step % 7)
		text := Text(mm, unit, denominator)
		got, err := Parse(ParseRequest{Text: text, Unit: MM, Zero: true})
		if err != nil {
			t.Fatalf("%v mm was written as %q: %v", mm, text, err)
		}
		half := 0.05
		if unit == IN {
			half = MMPerInch / float64(denominator) / 2
		} else if mm > 99 {
			half = 0.5
		}
		if math.Abs(got.MM-mm) > half+1e-9*mm {
			t.Fatalf("%v mm was written as %q, which is %v mm", mm, text, got.MM)
		}
		if again := Text(got.MM, unit, denominator); again != text {
			t.Fatalf("%q was written again as %q", text, again)
		}
	})
}

// Whatever is typed is understood within the limits or refused at a place inside it.
func FuzzRead(f *testing.F) {
	for _, text := range []string{"1 3/16 in", "20/16", "3,5 cm", "2.5cm", "1¾", "⅛\"", "1-3/16", "1/0", "5.", "-3", "3 ells", "\xff"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Read("text", text)
		if err == nil {
			if !(got.Value >= 0 && got.Value <= fault.MaxValue) {
				t.Fatalf("%q was read as %v", text, got.Value)
			}
			return
		}
		var e *fault.Error
		if !errors.As(err, &e) || e.Text == "" || e.At == "" {
			t.Fatalf("%q was refused with %#v", text, err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse(ParseRequest{Text: "1 3/16 in", Unit: MM}); err != nil {
			b.Fatal(err)
		}
	}
}
