package workings

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"needlesight/pwa/engine/fault"
)

const (
	counted = `"subject":{"sittings":[{"id":"s","method":"photo"}],"readings":[
		{"id":"1","sitting":"s","part":"body width","value":1000,"u":10},{"id":"2","sitting":"s","part":"head width","value":792,"u":8},{"id":"3","sitting":"s","part":"tail","value":2000,"u":20}]}`
	// 20/16 in, 11/16 in and 40/16 in
	ruled = `"piece":{"sittings":[{"id":"p","method":"ruler"}],"readings":[
		{"id":"1","sitting":"p","part":"body width","value":31.75,"u":0.3175},{"id":"2","sitting":"p","part":"head width","value":17.4625,"u":0.2},{"id":"3","sitting":"p","part":"tail","value":63.5,"u":0.635}]}`
	unruled = `"piece":{"sittings":[{"id":"p","method":"photo"}],"readings":[
		{"id":"1","sitting":"p","part":"body width","value":1000,"u":10},{"id":"2","sitting":"p","part":"head width","value":550,"u":6},{"id":"3","sitting":"p","part":"tail","value":2000,"u":20}]}`
	keep = `,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04`
	size = `,"scale":{"mode":"size","part":"body width","mm":30},"tolerance":0.04`
	work = `,"scale":{"mode":"least-work"},"tolerance":0.04`
)

func asked(t *testing.T, text string) Request {
	t.Helper()
	var req Request
	if err := json.Unmarshal([]byte(`{`+text+`}`), &req); err != nil {
		t.Fatal(err)
	}
	return req
}

// The sums are common practice, and each can be done by hand: a head of 0.792 body
// widths on a body 20/16 in wide is 15.84/16 in; it measures 11/16 in, 4.84/16 in too
// little, 2.42/16 in on each side. Then the same in mm and cm, at a given size, and
// without a ruler.
func TestLines(t *testing.T) {
	const both = ` 0.961 to 1.041 counts as right, and readings like these cannot tell `
	for what, c := range map[string]struct {
		text  string
		lines []string
	}{
		"the example": {counted + `,` + ruled + keep + `,"part":"head width","unit":"in","denominator":16,"axis":"width"`, []string{
			"0.792 x 20/16 in = 15.8/16 in, so 1 in",
			"Yours is 11/16 in: 5/16 in too narrow, 2.4/16 in on each side.",
			"Yours is 0.694 of the target;" + both + "0.959 to 1.043 from right: it is beyond both."}},
		"in 1/32": {counted + `,` + ruled + keep + `,"part":"head width","unit":"in","denominator":32,"axis":"width"`, []string{
			"0.792 x 40/32 in = 31.7/32 in, so 1 in", "Yours is 11/16 in: 5/16 in too narrow, 4.8/32 in on each side."}},
		"in mm": {counted + `,` + ruled + keep + `,"part":"head width","unit":"mm","axis":"width"`, []string{
			"0.792 x 31.8 mm = 25.1 mm", "Yours is 17.5 mm: 7.7 mm too narrow, 3.8 mm on each side."}},
		"in cm, a length": {counted + `,` + ruled + keep + `,"part":"head width","unit":"cm","axis":"length"`, []string{
			"0.792 x 3.18 cm = 2.51 cm", "Yours is 1.75 cm: 0.77 cm too short."}},
		"axis not told": {counted + `,` + ruled + keep + `,"part":"head width","unit":"mm"`, []string{
			"0.792 x 31.8 mm = 25.1 mm", "Yours is 17.5 mm: 7.7 mm too small (3.8 mm on each side, if it is a width)."}},
		"right": {counted + `,` + ruled + keep + `,"part":"tail","unit":"in","denominator":16,"axis":"length"`, []string{
			"2 x 20/16 in = 40/16 in, so 2 1/2 in", "Yours is 2 1/2 in, as it should be.",
			"Yours is 1 of the target;" + both + "0.961 to 1.041 from right: it is near enough."}},
		"kept": {counted + `,` + ruled + keep + `,"part":"body width","unit":"in"`, []string{
			"This part is kept: 1 1/4 in.", "Yours is 1 1/4 in, as it should be."}},
		"at size": {counted + `,` + ruled + size + `,"part":"head width","unit":"mm","axis":"width"`, []string{
			"0.792 x 30 mm = 23.8 mm", "Yours is 17.5 mm: 6.3 mm too narrow, 3.1 mm on each side."}},
		"the sized part": {counted + `,` + ruled + size + `,"part":"body width","unit":"mm","axis":"width"`, []string{
			"The finished size is 30 mm.", "Yours is 31.8 mm: 1.8 mm too wide, 0.9 mm on each side."}},
		"least work": {counted + `,` + ruled + work + `,"part":"head width","unit":"in","axis":"width"`, []string{
			"0.792 x 20/16 in = 15.8/16 in, so 1 in", "Yours is 11/16 in: 5/16 in too narrow, 2.4/16 in on each side."}},
		"what the least work keeps": {counted + `,` + ruled + work + `,"part":"body width","unit":"in"`, []string{
			"With this part as it is, the others ask for the least work: 1 1/4 in.", "Yours is 1 1/4 in, as it should be."}},
		"nailed": {counted + `,` + ruled + work + `,"fixed":["body width"],"part":"body width","unit":"in"`, []string{
			"This part is nailed down: 1 1/4 in.", "Yours is 1 1/4 in, as it should be."}},
		"several nailed": {counted + `,` + ruled + work + `,"fixed":["body width","tail"],"part":"head width","unit":"in","axis":"width"`, []string{
			// body and tail are both to 1 %: their mean is sqrt(20 x 40) = 28.3
			"0.56 x 28.3/16 in = 15.8/16 in, so 1 in (times the mean of the parts nailed down)",
			"Yours is 11/16 in: 5/16 in too narrow, 2.4/16 in on each side."}},
		"no ruler": {counted + `,` + unruled + keep + `,"part":"head width","unit":"mm","axis":"width"`, []string{
			"In body width: 0.792 on the subject, 0.55 on the piece. 0.55 / 0.792 = 0.694, so 30.6 % too narrow, 15.3 % on each side."}},
		"no ruler, kept": {counted + `,` + unruled + keep + `,"part":"body width","unit":"mm"`, []string{
			"This part fixes the scale; the others are held against it."}},
		"no ruler, right": {counted + `,` + unruled + keep + `,"part":"tail","unit":"mm"`, []string{
			"In body width: 2 on the subject, 2 on the piece. 2 / 2 = 1, as it should be."}},
		"no ruler, several nailed": {counted + `,` + unruled + work + `,"fixed":["body width","tail"],"part":"head width","unit":"mm"`, []string{
			"In the mean of the parts nailed down: 0.56 on the subject, 0.389 on the piece. 0.389 / 0.56 = 0.694, so 30.6 % too small (15.3 % on each side, if it is a width)."}},
		"no ruler, least work": {counted + `,` + unruled + work + `,"part":"head width","unit":"mm","axis":"length"`, []string{
			"In body width: 0.792 on the subject, 0.55 on the piece. 0.55 / 0.792 = 0.694, so 30.6 % too short."}},
		"no ruler, at size": {counted + `,` + unruled + size + `,"part":"head width","unit":"mm"`, []string{
			"0.792 x 30 mm = 23.8 mm", "The piece has no ruler reading to hold against the finished size."}},
	} {
		answer, err := Lines(asked(t, c.text))
		if err != nil || len(answer.Lines) < len(c.lines) || !slices.Equal(answer.Lines[:len(c.lines)], c.lines) {
			t.Errorf("%s: %v\n%s\nwant\n%s", what, err, strings.Join(answer.Lines, "\n"), strings.Join(c.lines, "\n"))
		}
	}
}

func TestNominalIsSaid(t *testing.T) {
	answer, err := Lines(asked(t, counted+`,`+unruled+keep+`,"nominal":{"part":"tail","mm":60},"part":"head width","unit":"mm","axis":"width"`))
	want := []string{"0.792 x 30 mm = 23.8 mm", "Yours is 16.5 mm: 7.3 mm too narrow, 3.6 mm on each side."}
	if err != nil || len(answer.Lines) != 4 || !slices.Equal(answer.Lines[:2], want) || answer.Lines[3] != "This holds if tail comes out at 60 mm: no ruler has been on the piece." {
		t.Errorf("%v\n%s", err, strings.Join(answer.Lines, "\n"))
	}
}

func TestPartsWithoutVerdict(t *testing.T) {
	const more = `"subject":{"sittings":[{"id":"s","method":"photo"},{"id":"t","method":"photo"}],"readings":[
		{"id":"1","sitting":"s","part":"body width","value":1000,"u":10},{"id":"2","sitting":"s","part":"ear","value":500,"u":8},{"id":"3","sitting":"t","part":"tail","value":2000,"u":20}]},`
	for part, want := range map[string][]string{
		"ear":        {"0.5 x 31.8 mm = 15.9 mm", "It has no reading on the piece yet."},
		"head width": {"It has no reading on the subject yet."},
		"tail":       {"No chain of readings joins it to what fixes the scale."},
	} {
		answer, err := Lines(asked(t, more+ruled+keep+`,"part":"`+part+`","unit":"mm"`))
		if err != nil || !slices.Equal(answer.Lines, want) {
			t.Errorf("%s: %v %q, want %q", part, err, answer.Lines, want)
		}
	}
}

// An amount too small for the tape is told in tenths of its finest fraction, and the
// rougher the readings the wider what they cannot tell.
func TestSmallAndRough(t *testing.T) {
	near := strings.Replace(ruled, `17.4625,"u":0.2`, `25.5,"u":0.2`, 1)
	answer, err := Lines(asked(t, counted+`,`+near+keep+`,"part":"head width","unit":"in","axis":"width"`))
	if err != nil || answer.Lines[1] != "Yours is 1 in: 0.2/16 in too wide, 0.1/16 in on each side." {
		t.Errorf("%v\n%s", err, strings.Join(answer.Lines, "\n"))
	}
	rough := strings.Replace(ruled, `17.4625,"u":0.2`, `23,"u":3`, 1)
	answer, err = Lines(asked(t, counted+`,`+rough+keep+`,"part":"head width","unit":"mm","axis":"width"`))
	if err != nil || !strings.HasSuffix(answer.Lines[2], ": the readings are too rough to tell.") {
		t.Errorf("%v\n%s", err, strings.Join(answer.Lines, "\n"))
	}
}

func TestLinesRefuses(t *testing.T) {
	for what, c := range map[string]struct {
		change   func(*Request)
		code, at string
	}{
		"unit":        {func(r *Request) { r.Unit = "ell" }, fault.NotOneOf, "unit"},
		"no unit":     {func(r *Request) { r.Unit = "" }, fault.NotOneOf, "unit"},
		"denominator": {func(r *Request) { r.Denominator = 10 }, fault.NotOneOf, "denominator"},
		"axis":        {func(r *Request) { r.Axis = "depth" }, fault.NotOneOf, "axis"},
		"part":        {func(r *Request) { r.Part = "paw" }, fault.PartNotRead, "part"},
		"no part":     {func(r *Request) { r.Part = "" }, fault.PartNotRead, "part"},
		"tolerance":   {func(r *Request) { r.Tolerance = 1 }, fault.OutOfRange, "tolerance"},
		"reading":     {func(r *Request) { r.Piece.Readings[0].Value = 0 }, fault.OutOfRange, "piece.readings[0].value"},
	} {
		req := asked(t, counted+`,`+ruled+keep+`,"part":"head width","unit":"in"`)
		c.change(&req)
		_, err := Lines(req)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %+v, want %s at %q", what, err, c.code, c.at)
		}
	}
}
