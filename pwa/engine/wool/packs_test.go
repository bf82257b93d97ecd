package wool

import (
	"errors"
	"math"
	"testing"

	"needlesight/pwa/engine/fault"
)

func codeOf(err error) string {
	var e *fault.Error
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

// A ball of 5 cm has 65.45 cm3 (pi d^3 / 6) and takes 9.82 g at 0.15 g/cm3; the most is 9.82 x exp(1.2816 x 0.2) = 12.69 g.
func TestWoolIsPaidForInPacks(t *testing.T) {
	none, pack, price, priceG := 0.0, 5.0, 4.0, 10.0
	one := 0.0
	request := Request{
		Forms:     []Form{{ID: "a", VolumeMM3: 65449.85, AreaMM2: 7853.98, Count: 1, Firm: "medium", Core: "w"}},
		Wools:     []Wool{{ID: "w", StockG: &none, PackG: &pack, Price: &price, PriceG: &priceG}},
		Allowance: &one,
	}
	got, err := Need(request)
	if err != nil {
		t.Fatal(err)
	}
	line := got.Wools[0]
	// 12.5 or 13 g are more than two packs of 5 g: three, 15 g at 0.40 a gram.
	if *line.BuyG <= 10 || *line.BuyG > 15 || line.Packs == nil || *line.Packs != 3 || *line.Cost != 6 || *got.Cost != 6 {
		t.Errorf("buy %v g, packs %v, cost %v; 3 packs for 6.00 are right", *line.BuyG, line.Packs, line.Cost)
	}
	request.Wools[0].PackG = nil
	if got, err = Need(request); err != nil {
		t.Fatal(err)
	}
	if line = got.Wools[0]; line.Packs != nil || math.Abs(*line.Cost-*line.BuyG*0.4) > 0.005 {
		t.Errorf("by the gram %v g cost %v", *line.BuyG, *line.Cost)
	}
	enough := 500.0
	request.Wools[0].StockG, request.Wools[0].PackG = &enough, &pack
	if got, err = Need(request); err != nil || *got.Wools[0].Packs != 0 || *got.Wools[0].Cost != 0 {
		t.Errorf("with enough in the bag: %v packs for %v, %v", *got.Wools[0].Packs, *got.Wools[0].Cost, err)
	}
	bad := 0.0
	request.Wools[0].PackG = &bad
	if _, err = Need(request); codeOf(err) != fault.OutOfRange {
		t.Errorf("a pack of nothing: %v", err)
	}
}

// A hand that is soft in soft pieces and firm in firm ones is one hand: 0.10, 0.15 and 0.20 g/cm3 (common practice) are all 0.15 of
// medium firmness.
func TestAPieceIsHeldAgainstWhatItWasMeantToBe(t *testing.T) {
	piece := func(firm string, density float64) Weighed {
		return Weighed{Grams: density * 100, VolumeMM3: 100000, Firm: firm}
	}
	got, err := Learn(LearnRequest{Pieces: []Weighed{piece("soft", 0.10), piece("medium", 0.15), piece("firm", 0.20), piece("", 0.15)}})
	if err != nil {
		t.Fatal(err)
	}
	for i, point := range got.Density.Points {
		if math.Abs(point.Value-0.15) > 1e-12 {
			t.Errorf("piece %d counts as %v g/cm3 of medium firmness, and 0.15 is right", i, point.Value)
		}
	}
	if math.Abs(got.Density.Mean-0.15) > 1e-9 {
		t.Errorf("the mean is %v", got.Density.Mean)
	}
	if _, err := Learn(LearnRequest{Pieces: []Weighed{piece("hard", 0.2)}}); codeOf(err) != fault.NotOneOf {
		t.Errorf("an unknown firmness: %v", err)
	}
	// What no wool can be is refused as it was weighed, whatever it was meant to be.
	if _, err := Learn(LearnRequest{Pieces: []Weighed{piece("firm", 1.4)}}); codeOf(err) != fault.OutOfRange {
		t.Errorf("denser than fibre: %v", err)
	}
}
