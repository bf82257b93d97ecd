package proportion

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"needlesight/pwa/engine/fault"
)

// refused checks that err is a fault with this code and place, and a sentence.
func refused(t *testing.T, what string, err error, code, at string) {
	t.Helper()
	var e *fault.Error
	if !errors.As(err, &e) || e.Code != code || e.At != at || !strings.HasSuffix(e.Text, ".") {
		t.Errorf("%s: %+v, want %s at %q", what, err, code, at)
	}
}

func TestSolveRefuses(t *testing.T) {
	good := func() Request {
		return Request{Side: Side{Sittings: []Sitting{{ID: "s", Method: Sight}, {ID: "r", Method: Ruler}, {ID: "f", Method: Photo}},
			Readings: []Reading{{ID: "1", Sitting: "s", Part: "head", Value: 1}, {ID: "2", Sitting: "s", Part: "body", Value: 2}}}}
	}
	if _, err := Solve(good()); err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		change   func(*Request)
		code, at string
	}{
		"no readings":       {func(r *Request) { r.Readings = nil }, fault.MissingField, "readings"},
		"no sittings":       {func(r *Request) { r.Sittings = nil }, fault.UnknownSitting, "readings[0].sitting"},
		"unknown sitting":   {func(r *Request) { r.Readings[1].Sitting = "x" }, fault.UnknownSitting, "readings[1].sitting"},
		"one sitting twice": {func(r *Request) { r.Sittings[1].ID = "s" }, fault.DuplicateID, "sittings[1].id"},
		"one reading twice": {func(r *Request) { r.Readings[1].ID = "1" }, fault.DuplicateID, "readings[1].id"},
		"no id":             {func(r *Request) { r.Readings[1].ID = "" }, fault.BadName, "readings[1].id"},
		"no sitting's id":   {func(r *Request) { r.Sittings[0].ID = "" }, fault.BadName, "sittings[0].id"},
		"no part":           {func(r *Request) { r.Readings[1].Part = "" }, fault.BadName, "readings[1].part"},
		"long part":         {func(r *Request) { r.Readings[1].Part = strings.Repeat("x", 201) }, fault.BadName, "readings[1].part"},
		"line in a place":   {func(r *Request) { r.Readings[1].Place = "a\nb" }, fault.BadName, "readings[1].place"},
		"method":            {func(r *Request) { r.Sittings[0].Method = "guess" }, fault.NotOneOf, "sittings[0].method"},
		"arm":               {func(r *Request) { r.Sittings[0].ArmMM = p(5.) }, fault.OutOfRange, "sittings[0].arm_mm"},
		"arm off":           {func(r *Request) { r.Sittings[0].ArmOffMM = p(-1.) }, fault.OutOfRange, "sittings[0].arm_off_mm"},
		"zero":              {func(r *Request) { r.Readings[0].Value = 0 }, fault.OutOfRange, "readings[0].value"},
		"negative":          {func(r *Request) { r.Readings[0].Value = -1 }, fault.OutOfRange, "readings[0].value"},
		"not a number":      {func(r *Request) { r.Readings[0].Value = math.NaN() }, fault.OutOfRange, "readings[0].value"},
		"endless":           {func(r *Request) { r.Readings[0].Value = math.Inf(1) }, fault.OutOfRange, "readings[0].value"},
		"huge":              {func(r *Request) { r.Readings[0].Value = 2e7 }, fault.OutOfRange, "readings[0].value"},
		"tiny":              {func(r *Request) { r.Readings[0].Value = 1e-300 }, fault.OutOfRange, "readings[0].u"},
		"negative place":    {func(r *Request) { r.Readings[0].Place, r.Readings[0].Value = "eye", -1 }, fault.OutOfRange, "readings[0].value"},
		"place too fine":    {func(r *Request) { r.Readings[0].Place, r.Readings[0].U = "eye", p(1e-9) }, fault.OutOfRange, "readings[0].u"},
		"u zero":            {func(r *Request) { r.Readings[0].U = p(0.) }, fault.OutOfRange, "readings[0].u"},
		"u negative":        {func(r *Request) { r.Readings[0].U = p(-1.) }, fault.OutOfRange, "readings[0].u"},
		"u not a number":    {func(r *Request) { r.Readings[0].U = p(math.NaN()) }, fault.OutOfRange, "readings[0].u"},
		"u too fine":        {func(r *Request) { r.Readings[0].U = p(1e-9) }, fault.OutOfRange, "readings[0].u"},
		"u too big":         {func(r *Request) { r.Readings[0].U = p(11.) }, fault.OutOfRange, "readings[0].u"},
		"denominator":       {func(r *Request) { r.Readings[0].Denominator = p(5) }, fault.NotOneOf, "readings[0].denominator"},
		"ruler's fraction":  {func(r *Request) { r.Readings[0].Denominator, r.Readings[0].Sitting = p(4), "r" }, fault.ConflictingFields, "readings[0].denominator"},
		"photo without u":   {func(r *Request) { r.Readings[0].Sitting = "f" }, fault.MissingField, "readings[0].u"},
		"pair":              {func(r *Request) { r.Ratios = []Pair{{"head", "body"}, {"", "head"}} }, fault.BadName, "ratios[1].of"},
		"pair's to":         {func(r *Request) { r.Ratios = []Pair{{"head", ""}} }, fault.BadName, "ratios[0].to"},
		"many pairs":        {func(r *Request) { r.Ratios = make([]Pair, MaxRatios+1) }, fault.TooMany, "ratios"},
		"many sittings":     {func(r *Request) { r.Sittings = make([]Sitting, MaxSittings+1) }, fault.TooMany, "sittings"},
		"many readings":     {func(r *Request) { r.Readings = make([]Reading, MaxReadings+1) }, fault.TooMany, "readings"},
		"many parts": {func(r *Request) {
			for i := range MaxParts {
				r.Readings = append(r.Readings, Reading{ID: fmt.Sprint("n", i), Sitting: "s", Part: fmt.Sprint("n", i), Value: 1})
			}
		}, fault.TooMany, "readings[200].part"},
		"far apart": {func(r *Request) {
			for i := range 3 {
				id := fmt.Sprint("c", i)
				r.Sittings = append(r.Sittings, Sitting{ID: id, Method: Photo})
				r.Readings = append(r.Readings, Reading{ID: id, Sitting: id, Part: id, Value: 1e6, U: p(1e4)}, Reading{ID: id + "+", Sitting: id, Part: fmt.Sprint("c", i+1), Value: 1, U: p(0.01)})
			}
		}, fault.OutOfRange, "readings"},
	} {
		request := good()
		c.change(&request)
		_, err := Solve(request)
		refused(t, what, err, c.code, c.at)
	}
}

func TestCompareRefuses(t *testing.T) {
	for what, c := range map[string]struct {
		change   func(*CompareRequest)
		code, at string
	}{
		"no subject":         {func(r *CompareRequest) { r.Subject.Readings = nil }, fault.MissingField, "subject.readings"},
		"no piece":           {func(r *CompareRequest) { r.Piece.Readings = nil }, fault.MissingField, "piece.readings"},
		"a piece's reading":  {func(r *CompareRequest) { r.Piece.Readings[1].Value = 0 }, fault.OutOfRange, "piece.readings[1].value"},
		"a subject's method": {func(r *CompareRequest) { r.Subject.Sittings[0].Method = "" }, fault.NotOneOf, "subject.sittings[0].method"},
		"no tolerance":       {func(r *CompareRequest) { r.Tolerance = 0 }, fault.OutOfRange, "tolerance"},
		"whole tolerance":    {func(r *CompareRequest) { r.Tolerance = 1 }, fault.OutOfRange, "tolerance"},
		"no such tolerance":  {func(r *CompareRequest) { r.Tolerance = math.NaN() }, fault.OutOfRange, "tolerance"},
		"mode":               {func(r *CompareRequest) { r.Scale.Mode = "guess" }, fault.NotOneOf, "scale.mode"},
		"no mode":            {func(r *CompareRequest) { r.Scale = Scale{} }, fault.NotOneOf, "scale.mode"},
		"no part":            {func(r *CompareRequest) { r.Scale.Part = "" }, fault.MissingField, "scale.part"},
		"part not read":      {func(r *CompareRequest) { r.Scale.Part = "tail" }, fault.PartNotRead, "scale.part"},
		"part not on piece": {func(r *CompareRequest) {
			r.Piece.Readings = []Reading{{ID: "1", Sitting: "p", Part: "tail", Value: 9}}
		}, fault.PartNotRead, "scale.part"},
		"size and keep":      {func(r *CompareRequest) { r.Scale.MM = 30 }, fault.ConflictingFields, "scale.mm"},
		"size without mm":    {func(r *CompareRequest) { r.Scale.Mode = AtSize }, fault.OutOfRange, "scale.mm"},
		"negative size":      {func(r *CompareRequest) { r.Scale.Mode, r.Scale.MM = AtSize, -30 }, fault.OutOfRange, "scale.mm"},
		"size of nothing":    {func(r *CompareRequest) { r.Scale = Scale{Mode: AtSize, MM: 30} }, fault.MissingField, "scale.part"},
		"size not read":      {func(r *CompareRequest) { r.Scale = Scale{Mode: AtSize, Part: "tail", MM: 30} }, fault.PartNotRead, "scale.part"},
		"least work, a part": {func(r *CompareRequest) { r.Scale.Mode = LeastWork }, fault.ConflictingFields, "scale.part"},
		"cost below 1":       {func(r *CompareRequest) { r.Scale.Cost = p(0.5) }, fault.OutOfRange, "scale.cost"},
		"no cost":            {func(r *CompareRequest) { r.Scale.Cost = p(0.) }, fault.OutOfRange, "scale.cost"},
		"cost":               {func(r *CompareRequest) { r.Scale.Cost = p(math.Inf(1)) }, fault.OutOfRange, "scale.cost"},
		"fixed twice":        {func(r *CompareRequest) { r.Fixed = []string{"head width", "head width"} }, fault.DuplicateID, "fixed[1]"},
		"fixed, not read":    {func(r *CompareRequest) { r.Fixed = []string{"tail"} }, fault.PartNotRead, "fixed[0]"},
		"nominal of nothing": {func(r *CompareRequest) { r.Nominal = &Nominal{"", 3} }, fault.BadName, "nominal.part"},
		"nominal without mm": {func(r *CompareRequest) { r.Nominal = &Nominal{"head width", 0} }, fault.OutOfRange, "nominal.mm"},
	} {
		request := asked[CompareRequest](t, `{`+counted+`,`+ruledPiece+`,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04}`)
		c.change(&request)
		_, err := Compare(request)
		refused(t, what, err, c.code, c.at)
	}
}
