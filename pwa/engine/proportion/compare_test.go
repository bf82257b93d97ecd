package proportion

import (
	"math"
	"math/rand/v2"
	"testing"
)

func compare(t *testing.T, text string) CompareResponse {
	t.Helper()
	answer, err := Compare(asked[CompareRequest](t, text))
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

func (answer CompareResponse) part(t *testing.T, name string) PartVerdict {
	t.Helper()
	for _, v := range answer.Parts {
		if v.Part == name {
			return v
		}
	}
	t.Fatalf("no verdict on %s", name)
	return PartVerdict{}
}

const (
	counted = `"subject":{"sittings":[{"id":"s","method":"sight"}],"readings":[
		{"id":"s1","sitting":"s","part":"body width","value":1,"u":0.01},{"id":"s2","sitting":"s","part":"head width","value":0.792,"u":0.008}]}`
	ruledPiece = `"piece":{"sittings":[{"id":"p","method":"ruler"}],"readings":[
		{"id":"p1","sitting":"p","part":"body width","value":31.75},{"id":"p2","sitting":"p","part":"head width","value":17.4625}]}`
	countedPiece = `"piece":{"sittings":[{"id":"p","method":"sight"}],"readings":[
		{"id":"p1","sitting":"p","part":"body width","value":1,"u":0.02},{"id":"p2","sitting":"p","part":"head width","value":0.55,"u":0.01}]}`
)

// Common practice, worked out: a head of 0.792 body widths on a body 20/16 in wide is
// to be 15.84/16 in; measured 11/16 in (0.55 of the body), it wants about 5/16 in, 2.4/16
// in on each side.
func TestKeepAPart(t *testing.T) {
	answer := compare(t, `{`+counted+`,`+ruledPiece+`,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04,"fixed":[]}`)
	head := answer.part(t, "head width")
	if head.Verdict != Add || head.Why != BeyondTolerance || head.Repeat != nil {
		t.Errorf("%+v", head)
	}
	sixteenth := 25.4 / 16
	near(t, "subject", *head.RatioSubject, 0.792, 1e-12)
	near(t, "piece", *head.RatioPiece, 0.55, 1e-12)
	near(t, "target", *head.TargetMM/sixteenth, 15.84, 1e-9)
	near(t, "amount", *head.AmountMM/sixteenth, 4.84, 1e-9)
	near(t, "each side", *head.EachSideMM/sixteenth, 2.42, 1e-9)
	near(t, "amount as a share", *head.AmountRatio, 4.84/15.84, 1e-12)
	near(t, "d", *head.D, math.Log(0.55/0.792), 1e-12)
	// The amount is 0.792 b - h: its uncertainty by hand (JCGM 100:2008, 5.1.2), the
	// subject's ratio having sqrt(0.01^2 + 0.0101^2) of itself.
	ratio := 0.792 * math.Hypot(0.01, 0.008/0.792)
	near(t, "u", *head.UMM, math.Sqrt(math.Pow(0.7*0.792, 2)+0.7*0.7+math.Pow(31.75*ratio, 2)), 1e-9)
	near(t, "u of d", *head.UD, math.Sqrt(math.Pow(0.7/31.75, 2)+math.Pow(0.7/17.4625, 2)+1e-4+math.Pow(0.008/0.792, 2)), 1e-9)

	body := answer.part(t, "body width")
	if body.Verdict != Right || body.Why != Kept || *body.AmountMM != 0 || *body.UD != 0 || *body.UMM != 0 {
		t.Errorf("%+v", body)
	}
	near(t, "factor", *answer.Scale.Factor, 31.75, 1e-9)
	near(t, "its u", *answer.Scale.U, 0.7, 1e-9) // the body is the subject's unit, and exactly 1
	near(t, "to add", *answer.Work.AddMM, 4.84*sixteenth, 1e-9)
	near(t, "to take in", *answer.Work.TakeMM, 0, 0)
	near(t, "cost", *answer.Work.Cost, 4.84*sixteenth, 1e-9)
}

func TestAtSize(t *testing.T) {
	answer := compare(t, `{`+counted+`,`+ruledPiece+`,"scale":{"mode":"size","part":"body width","mm":30},"tolerance":0.04}`)
	body, head := answer.part(t, "body width"), answer.part(t, "head width")
	near(t, "body", *body.D, math.Log(31.75/30), 1e-12)
	near(t, "u of body", *body.UD, 0.7/31.75, 1e-12) // its own reading, and nothing of the subject
	near(t, "ratio of body", *body.RatioPiece, 31.75/30, 1e-11)
	if body.Verdict != TakeIn {
		t.Errorf("%+v", body)
	}
	near(t, "head", *head.TargetMM, 0.792*30, 1e-9)
	near(t, "head's amount", *head.AmountMM, 0.792*30-17.4625, 1e-9)
	near(t, "head's u", *head.UMM, math.Hypot(0.7, 30*0.792*math.Hypot(0.01, 0.008/0.792)), 1e-9)
	near(t, "work", *answer.Work.Cost, 0.792*30-17.4625+3*1.75, 1e-9)
	near(t, "factor", *answer.Scale.Factor, 30, 1e-9)
}

// A piece that was only counted has no mm at a given size, and shares of the target else.
func TestWithoutMillimetres(t *testing.T) {
	answer := compare(t, `{`+counted+`,`+countedPiece+`,"scale":{"mode":"size","part":"body width","mm":30},"tolerance":0.04,"nominal":{"part":"body width","mm":30}}`)
	head := answer.part(t, "head width")
	if head.Verdict != Unknown || head.Why != NoMillimetres || head.AmountMM != nil || answer.Work.Cost != nil || answer.MMNominal {
		t.Errorf("%+v %+v", head, answer.Work)
	}
	near(t, "target", *head.TargetMM, 0.792*30, 1e-9)

	answer = compare(t, `{`+counted+`,`+countedPiece+`,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04}`)
	head = answer.part(t, "head width")
	if head.Verdict != Add || head.AmountMM != nil || head.TargetMM != nil || head.UMM != nil || answer.Work.AddMM != nil {
		t.Errorf("%+v", head)
	}
	near(t, "share", *head.AmountRatio, 1-0.55/0.792, 1e-12)
}

// The finished size stands in for a ruler: the body comes out at 30 mm.
func TestNominal(t *testing.T) {
	answer := compare(t, `{`+counted+`,`+countedPiece+`,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04,"nominal":{"part":"body width","mm":30}}`)
	head := answer.part(t, "head width")
	if !answer.MMNominal || head.Verdict != Add {
		t.Errorf("%+v", head)
	}
	near(t, "target", *head.TargetMM, 0.792*30, 1e-9)
	near(t, "piece", *head.PieceMM, 0.55*30, 1e-9)
	near(t, "amount", *head.AmountMM, 0.242*30, 1e-9)
	// 30 (s - p), s and p the two ratios
	near(t, "u", *head.UMM, 30*math.Hypot(0.792*math.Hypot(0.01, 0.008/0.792), 0.55*math.Hypot(0.02, 0.01/0.55)), 1e-9)

	withRuler := compare(t, `{`+counted+`,`+ruledPiece+`,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04,"nominal":{"part":"body width","mm":30}}`)
	if withRuler.MMNominal || *withRuler.part(t, "body width").PieceMM != 31.75 {
		t.Error("a ruler was on the piece, and the nominal size was used")
	}
	useless := compare(t, `{`+counted+`,`+countedPiece+`,"scale":{"mode":"least-work"},"tolerance":0.04,"nominal":{"part":"tail","mm":30}}`)
	if useless.MMNominal || useless.part(t, "head width").AmountMM != nil {
		t.Error("a size of a part that was not read was used")
	}
}

func TestUnknownParts(t *testing.T) {
	answer := compare(t, `{"subject":{"sittings":[{"id":"a","method":"sight"},{"id":"b","method":"sight"}],"readings":[
		{"id":"1","sitting":"a","part":"head","value":1},{"id":"2","sitting":"a","part":"body","value":3},{"id":"3","sitting":"a","part":"tail","value":2},
		{"id":"4","sitting":"b","part":"ear","value":1},{"id":"5","sitting":"b","part":"paw","value":1}]},
		"piece":{"sittings":[{"id":"p","method":"ruler"},{"id":"q","method":"sight"}],"readings":[
		{"id":"1","sitting":"p","part":"head","value":20},{"id":"2","sitting":"p","part":"body","value":60},{"id":"3","sitting":"p","part":"ear","value":9},
		{"id":"4","sitting":"p","part":"nose","value":4},{"id":"5","sitting":"q","part":"paw","value":1}]},
		"scale":{"mode":"keep","part":"head"},"tolerance":0.04,"fixed":["nose"]}`)
	for part, why := range map[string]string{"tail": NotReadOnPiece, "nose": NotReadOnSubject, "ear": NotJoined, "paw": NotJoined} {
		if v := answer.part(t, part); v.Verdict != Unknown || v.Why != why || v.D != nil {
			t.Errorf("%s: %+v", part, v)
		}
	}
	near(t, "target of the tail", *answer.part(t, "tail").TargetMM, 40, 1e-9)
	near(t, "measure of the ear", *answer.part(t, "ear").PieceMM, 9, 1e-9)
	if body := answer.part(t, "body"); body.Verdict != TooRough && body.Verdict != Right || !answer.part(t, "nose").Nailed {
		t.Errorf("%+v", body)
	}
	// at size, a part of the piece that no ruler reaches has no mm
	request := asked[CompareRequest](t, `{"subject":{"sittings":[{"id":"a","method":"sight"}],"readings":[{"id":"1","sitting":"a","part":"head","value":1},{"id":"2","sitting":"a","part":"paw","value":1}]},
		"piece":{"sittings":[{"id":"p","method":"ruler"},{"id":"q","method":"sight"}],"readings":[{"id":"1","sitting":"p","part":"head","value":20},{"id":"2","sitting":"q","part":"paw","value":1}]},
		"scale":{"mode":"size","part":"head","mm":20},"tolerance":0.04}`)
	atSize, err := Compare(request)
	if err != nil || atSize.part(t, "paw").Why != NoMillimetres || atSize.part(t, "head").Verdict != Right {
		t.Errorf("%+v %v", atSize, err)
	}
	// nothing in common: nothing fixes the least work
	request.Scale, request.Piece.Readings = Scale{Mode: LeastWork}, []Reading{{ID: "1", Sitting: "p", Part: "nose", Value: 3}}
	nothing, err := Compare(request)
	if err != nil || nothing.Scale.Factor != nil || nothing.Scale.From != "" || nothing.Work.Cost != nil || nothing.part(t, "head").Why != NotReadOnPiece {
		t.Errorf("%+v %v", nothing, err)
	}
}

// Verdicts on both sides of each limit.
func TestCalled(t *testing.T) {
	for _, c := range []struct {
		d, u         float64
		verdict, why string
	}{
		{0, 0, Right, WithinTolerance},
		{0.04, 0.079, Right, WithinTolerance},
		{-0.04, 0.08, Right, WithinTolerance},
		{0.04, 0.081, TooRough, TooRoughForTolerance},
		{0.041, 0.0205, TooRough, RougherThanDifference},
		{0.041, 0.0204, TakeIn, BeyondTolerance},
		{-0.041, 0.0204, Add, BeyondTolerance},
		{-1, 0.6, TooRough, RougherThanDifference},
	} {
		if verdict, why := called(c.d, c.u, 0.04); verdict != c.verdict || why != c.why {
			t.Errorf("%v +/- %v: %s, %s, want %s, %s", c.d, c.u, verdict, why, c.verdict, c.why)
		}
	}
}

// Nailed parts fix the least work: one alone as if it were kept, several by their mean.
func TestNailed(t *testing.T) {
	const subject = `"subject":{"sittings":[{"id":"s","method":"photo"}],"readings":[
		{"id":"1","sitting":"s","part":"a","value":10,"u":0.1},{"id":"2","sitting":"s","part":"b","value":20,"u":0.2},{"id":"3","sitting":"s","part":"c","value":30,"u":0.3}]}`
	const piece = `"piece":{"sittings":[{"id":"p","method":"ruler"}],"readings":[
		{"id":"1","sitting":"p","part":"a","value":10,"u":0.1},{"id":"2","sitting":"p","part":"b","value":22,"u":0.22},{"id":"3","sitting":"p","part":"c","value":45,"u":0.45}]}`
	one := compare(t, `{`+subject+`,`+piece+`,"scale":{"mode":"least-work"},"tolerance":0.04,"fixed":["c"]}`)
	if c := one.part(t, "c"); c.Verdict != Right || c.Why != Nailed || !c.Nailed || one.Scale.From != FromNailed || one.Scale.Part != "c" {
		t.Errorf("%+v %+v", c, one.Scale)
	}
	near(t, "a", *one.part(t, "a").D, math.Log(10./15), 1e-12)
	// all readings are to 1 %, so the mean is plain; ln(10/10), ln(22/20), ln(45/30)
	all := compare(t, `{`+subject+`,`+piece+`,"scale":{"mode":"least-work"},"tolerance":0.04,"fixed":["a","b","c"]}`)
	mean := (0 + math.Log(1.1) + math.Log(1.5)) / 3
	near(t, "a", *all.part(t, "a").D, -mean, 1e-11)
	near(t, "c", *all.part(t, "c").D, math.Log(1.5)-mean, 1e-11)
	near(t, "u of a", *all.part(t, "a").UD, math.Sqrt(2*(4+1+1)/9.)*0.01, 1e-11)
	near(t, "ratio", *all.part(t, "a").RatioPiece / *all.part(t, "a").RatioSubject, math.Exp(-mean), 1e-11)
	if c := all.part(t, "c"); c.Verdict != TakeIn || c.Why != BeyondTolerance || all.Scale.Part != "" {
		t.Errorf("%+v", c)
	}
	near(t, "target of c", *all.part(t, "c").TargetMM, 30*math.Exp(mean), 1e-9)
	near(t, "factor", *all.Scale.Factor, 10*math.Exp(mean), 1e-9) // of a, the group's unit
	// a kept part leaves the nailed ones as they are judged
	kept := compare(t, `{`+subject+`,`+piece+`,"scale":{"mode":"keep","part":"a"},"tolerance":0.04,"fixed":["c"]}`)
	if c := kept.part(t, "c"); c.Verdict != TakeIn || !c.Nailed || c.Why != BeyondTolerance {
		t.Errorf("%+v", c)
	}
}

// The reading to repeat is the one whose repeat, truly added and solved again, lessens
// the variance of d most.
func TestRepeatAgainstTrying(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	tried := 0
	for range 30 {
		req := CompareRequest{Subject: randomSide(r, 4, 3, 16, false, 1), Piece: randomSide(r, 4, 3, 16, true, 1), Scale: Scale{Mode: LeastWork}, Tolerance: 0.04}
		c, err := compared(req)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range c.names() {
			s, i := c.subject.index(part)
			p, j := c.piece.index(part)
			if c.missing(s, p) != "" || part == c.part {
				continue
			}
			tried++
			repeat := c.repeat(c.difference(i, j))
			most := 0.0
			for _, reading := range req.Subject.Readings {
				most = max(most, gained(t, req, "subject", reading, part))
			}
			for _, reading := range req.Piece.Readings {
				most = max(most, gained(t, req, "piece", reading, part))
			}
			if got := gained(t, req, repeat.Of, readingOf(req, repeat), part); got < most*(1-1e-6) {
				t.Errorf("%s: %+v gains %v, and another %v", part, *repeat, got, most)
			}
		}
	}
	if tried < 20 {
		t.Error("only", tried, "were tried")
	}
}

func readingOf(req CompareRequest, repeat *Repeat) Reading {
	side := req.Subject
	if repeat.Of == "piece" {
		side = req.Piece
	}
	for _, r := range side.Readings {
		if r.ID == repeat.Reading {
			return r
		}
	}
	return Reading{}
}

// gained is by how much the widened variance of a part's d falls when a reading is given
// once more, the kept part and the Birge factors staying as they were.
func gained(t *testing.T, req CompareRequest, of string, again Reading, part string) float64 {
	t.Helper()
	variance := func(req CompareRequest, was *comparison) (float64, *comparison) {
		c, err := compared(req)
		if err != nil {
			t.Fatal(err)
		}
		if was != nil {
			c.fixPart(was.part)
			c.s.factor, c.p.factor = was.s.factor, was.p.factor
		}
		_, i := c.subject.index(part)
		_, j := c.piece.index(part)
		u := c.difference(i, j).uWidened
		return u * u, c
	}
	before, c := variance(req, nil)
	again.ID = "again"
	if of == "subject" {
		req.Subject.Readings = append(append([]Reading(nil), req.Subject.Readings...), again)
	} else {
		req.Piece.Readings = append(append([]Reading(nil), req.Piece.Readings...), again)
	}
	after, _ := variance(req, c)
	return before - after
}

// An owl's eye at 0.42 of its face on the animal, at 0.5 on the piece: 1.6 mm of 20 too
// far from the start.
func TestPlacesCompared(t *testing.T) {
	answer := compare(t, `{"subject":{"sittings":[{"id":"s","method":"photo"}],"readings":[
		{"id":"1","sitting":"s","part":"face","value":200,"u":1},{"id":"2","sitting":"s","part":"face","place":"eye","value":84,"u":1},
		{"id":"3","sitting":"s","part":"face","place":"beak","value":100,"u":1},{"id":"4","sitting":"s","part":"face","place":"brow","value":0,"u":1},
		{"id":"5","sitting":"s","part":"wing","place":"bar","value":30,"u":1}]},
		"piece":{"sittings":[{"id":"p","method":"ruler"}],"readings":[
		{"id":"1","sitting":"p","part":"face","value":20,"u":0.1},{"id":"2","sitting":"p","part":"face","place":"eye","value":10,"u":0.1},
		{"id":"3","sitting":"p","part":"face","place":"beak","value":9.9,"u":0.1},{"id":"4","sitting":"p","part":"face","place":"chin","value":20,"u":0.1},
		{"id":"5","sitting":"p","part":"wing","place":"bar","value":3,"u":0.1}]},
		"scale":{"mode":"keep","part":"face"},"tolerance":0.04}`)
	eye := answer.Places[0]
	if eye.Place != "eye" || eye.Verdict != Move || eye.Toward != "start" || eye.Why != BeyondTolerance {
		t.Errorf("%+v", eye)
	}
	near(t, "on the subject", *eye.AtSubject, 0.42, 1e-12)
	near(t, "on the piece", *eye.AtPiece, 0.5, 1e-12)
	near(t, "to move", *eye.MoveMM, 1.6, 1e-9)
	// each fraction v/l: u^2 = (u_v/l)^2 + (at u_l/l)^2 (JCGM 100:2008, 5.1.2)
	near(t, "u", *eye.UMM, 20*math.Sqrt(0.005*0.005*(1+0.42*0.42)+0.005*0.005*(1+0.25)), 1e-9)
	for i, want := range []struct{ place, verdict, toward, why string }{
		{"eye", Move, "start", BeyondTolerance}, {"beak", Right, "end", WithinTolerance}, {"brow", Unknown, "", NotReadOnPiece},
		{"bar", Unknown, "", NotReadOnSubject}, {"chin", Unknown, "", NotReadOnSubject},
	} {
		if got := answer.Places[i]; got.Place != want.place || got.Verdict != want.verdict || got.Toward != want.toward || got.Why != want.why {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
}

// Where several parts lie at the quantile, the scale rests on the one read best, whatever
// it is called: names are no reason for a rougher verdict.
func TestTieAtTheQuantile(t *testing.T) {
	for _, best := range []string{"a", "b", "c"} {
		side := func(sitting string) Side {
			s := Side{Sittings: []Sitting{{ID: sitting, Method: Sight}}}
			for i, part := range []string{"a", "b", "c"} {
				u := 0.1
				if part == best {
					u = 0.01
				}
				s.Readings = append(s.Readings, Reading{ID: sitting + part, Sitting: sitting, Part: part, Value: float64(i + 1), U: &u})
			}
			return s
		}
		answer, err := Compare(CompareRequest{Subject: side("s"), Piece: side("p"), Scale: Scale{Mode: LeastWork}, Tolerance: 0.04})
		if err != nil {
			t.Fatal(err)
		}
		if answer.Scale.Part != best {
			t.Errorf("the scale rests on %q, and %q was read best", answer.Scale.Part, best)
		}
	}
}
