package wool

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
)

func ball(d float64) (volume, area float64) { return math.Pi / 6 * d * d * d, math.Pi * d * d }

func TestFeltedBallsByDensity(t *testing.T) {
	// mass = pi d^3 / 6 x density (CRC tables), for the densities of common practice: 3, 4, 5, 7 cm.
	for density, want := range map[float64][4]float64{
		0.10: {1.41, 3.35, 6.54, 17.96}, 0.15: {2.12, 5.03, 9.82, 26.94}, 0.20: {2.83, 6.70, 13.09, 35.92},
	} {
		for i, d := range []float64{30, 40, 50, 70} {
			volume, area := ball(d)
			got, err := Need(Request{Forms: []Form{{ID: "ball", VolumeMM3: volume, AreaMM2: area, Count: 1, Firm: "medium"}}, Hand: &Hand{density, 0.1}})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got.Forms[0].CoreG-want[i]) > 0.006 {
				t.Errorf("%v mm at %v g/cm3: %.3f g, want %v", d, density, got.Forms[0].CoreG, want[i])
			}
		}
	}
}

func TestABlendByParts(t *testing.T) {
	// 3 : 5 : 2 of 28 g is 8.4, 14.0 and 5.6 g: arithmetic.
	area := 28.0 * 1000 / StartGCM3 / CoatMM
	none := 0.0
	got, err := Need(Request{
		Forms: []Form{{ID: "owl", VolumeMM3: 1000, AreaMM2: area, Count: 1, Firm: "medium", Coat: []Share{{"cream", 3}, {"brown", 5}, {"black", 2}}}},
		Wools: []Wool{{ID: "cream"}, {ID: "brown"}, {ID: "black"}}, Allowance: &none,
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{8.4, 14, 5.6} {
		if need := got.Wools[i].Need; math.Abs(need.Best-want) > stepOf(want)/2+1e-9 {
			t.Errorf("%s: %+v, want %v", got.Wools[i].ID, need, want)
		}
	}
}

func TestNothingIsShownFinerThanAKitchenScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		best := math.Exp(rapid.Float64Range(-3, 9).Draw(t, "ln"))
		g := grams(best, rapid.Float64Range(0, 0.5).Draw(t, "spread"))
		step := stepOf(best)
		if step < FinestShare*best || step < 0.1 || step > 2.5*max(0.1, FinestShare*best)+1e-9 {
			t.Fatalf("%v is shown in steps of %v", best, step)
		}
		for _, value := range []float64{g.Low, g.Best, g.High} {
			if off := math.Abs(value/step - math.Round(value/step)); off > 1e-6 {
				t.Errorf("%v is no multiple of %v", value, step)
			}
		}
		if g.Low > g.Best || g.Best > g.High {
			t.Errorf("%+v", g)
		}
	})
}

func TestLittleIsNotToldAsNothing(t *testing.T) {
	for _, c := range []struct {
		low, best, high float64
		want            string
	}{
		{0, 0, 0, "0 g"}, {0.02, 0.03, 0.04, "less than 0.1 g"}, {0.03, 0.05, 0.08, "up to 0.1 g"}, {0.08, 0.1, 0.12, "0.1 g"}, {0.55, 0.7, 0.92, "0.6–0.9 g"},
	} {
		if got := between(c.low, c.best, c.high).Text; got != c.want {
			t.Errorf("%v to %v g is told as %q, not %q", c.low, c.high, got, c.want)
		}
	}
}

func TestAllIsTheSumOfItsForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := Request{Wools: []Wool{{ID: "core"}, {ID: "brown"}}}
		makers := rapid.IntRange(1, 12).Draw(t, "makers")
		req.Makers = &makers
		core := 0.0
		for i := range rapid.IntRange(1, 8).Draw(t, "forms") {
			volume, area := ball(rapid.Float64Range(20, 80).Draw(t, "d"))
			count := rapid.IntRange(1, 4).Draw(t, "count")
			req.Forms = append(req.Forms, Form{ID: written(float64(i)), VolumeMM3: volume, AreaMM2: area, Count: count, Firm: "firm", Core: "core", Coat: []Share{{"brown", 1}}})
			core += volume / 1000 * 0.2 * float64(count)
		}
		got, err := Need(req)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Core.Best-core) > stepOf(core)/2+1e-6 {
			t.Errorf("core %v, the forms have %v", got.Core, core)
		}
		if want := core * float64(makers) * 1.2; math.Abs(got.Wools[0].Need.Best-want) > stepOf(want)/2+1e-6 {
			t.Errorf("%v for %d makers, want %v", got.Wools[0].Need, makers, want)
		}
	})
}

func TestWhatIsInTheBagIsNotBought(t *testing.T) {
	volume, area := ball(70) // 26.9 g at 0.15
	stock, price, priceG, none := 10.0, 4.5, 50.0, 0.0
	req := Request{Forms: []Form{{ID: "body", VolumeMM3: volume, AreaMM2: area, Count: 1, Firm: "medium", Core: "core"}}, Wools: []Wool{{ID: "core", StockG: &stock, Price: &price, PriceG: &priceG}}, Allowance: &none}
	got, err := Need(req)
	if err != nil {
		t.Fatal(err)
	}
	line := got.Wools[0]
	if line.BuyG == nil || math.Abs(*line.BuyG-(line.Need.High-stock)) > 1 || math.Abs(*line.Cost-*line.BuyG/50*4.5) > 0.006 || math.Abs(*got.Cost-*line.Cost) > 1e-9 {
		t.Errorf("%+v", line)
	}
	stock = 1000
	if got, err = Need(req); err != nil || *got.Wools[0].BuyG != 0 || *got.Cost != 0 {
		t.Errorf("with a full bag: %+v %v", got.Wools[0], err)
	}
}

func TestFormsBesideTheOutlines(t *testing.T) {
	for volume, apart := range map[float64]bool{100000: false, 119000: false, 121000: true, 79000: true} {
		whole := 100000.0
		got, err := Need(Request{Forms: []Form{{ID: "all", VolumeMM3: volume, AreaMM2: 1, Count: 1, Firm: "medium"}}, OutlinesMM3: &whole})
		if err != nil || got.Cross == nil || got.Cross.Apart != apart {
			t.Errorf("%v: %+v %v", volume, got.Cross, err)
		}
	}
}

func TestNeedRefuses(t *testing.T) {
	less, none, tenThousand, half := -1.0, 0, 10_000, 0.5
	good := Form{ID: "a", VolumeMM3: 10, AreaMM2: 10, Count: 1, Firm: "medium"}
	change := func(f func(*Form)) []Form { form := good; f(&form); return []Form{form} }
	for name, c := range map[string]struct {
		req  Request
		code string
		at   string
	}{
		"a stock below zero": {Request{Wools: []Wool{{ID: "core", StockG: &less}}}, fault.OutOfRange, "wools[0].stock_g"},
		"a class of nobody":  {Request{Makers: &none}, fault.OutOfRange, "makers"},
		"a class of 10,000":  {Request{Makers: &tenThousand}, fault.OutOfRange, "makers"},
		"no volume":          {Request{Forms: change(func(f *Form) { f.VolumeMM3 = 0 })}, fault.OutOfRange, "forms[0].volume_mm3"},
		"no firmness":        {Request{Forms: change(func(f *Form) { f.Firm = "hard" })}, fault.NotOneOf, "forms[0].firm"},
		"unknown core":       {Request{Forms: change(func(f *Form) { f.Core = "straw" })}, fault.UnknownWool, "forms[0].core"},
		"unknown coat":       {Request{Forms: change(func(f *Form) { f.Coat = []Share{{"straw", 1}} })}, fault.UnknownWool, "forms[0].coat[0].wool"},
		"twice":              {Request{Forms: []Form{good, good}}, fault.DuplicateID, "forms[1].id"},
		"denser than fibre":  {Request{Hand: &Hand{1.4, 0.1}}, fault.OutOfRange, "hand.density_g_cm3"},
		"a very thin coat":   {Request{Wools: []Wool{{ID: "w"}}, Forms: change(func(f *Form) { f.Coat = []Share{{"w", 1}}; thin := 0.0; f.CoatMM = &thin })}, fault.OutOfRange, "forms[0].coat_mm"},
	} {
		_, err := Need(c.req)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %v, want %s at %s", name, err, c.code, c.at)
		}
	}
	got, err := Need(Request{Hand: &Hand{half, 0.1}})
	if err != nil || len(got.Notes) != 1 || got.Notes[0].Code != "dense" {
		t.Errorf("0.5 g/cm3 is to be queried: %v %v", got.Notes, err)
	}
}

func TestAKitForEight(t *testing.T) {
	pack := 50.0
	got, err := Kit(KitRequest{
		Makers: 8, Spare: 2, Allowance: 0.25, Needles: []Needles{{"36", 1}, {"38", 2}},
		Wools: []Portion{{ID: "core", EachG: 20, PackG: &pack}}, Wires: []Cut{{"legs", 120, 2}},
	})
	if err != nil {
		t.Fatal(err)
	}
	// Arithmetic: 20 g and a quarter are 25 g, 200 g for eight, 4 packs; (1+2+2+2) x 8 needles; 2 x 8 wires of 12 cm.
	if w := got.Wools[0]; w.PersonG != 26 && w.PersonG != 25 || w.AllG != w.PersonG*8 || *w.Packs != int(math.Ceil(w.AllG/50)) {
		t.Errorf("%+v", w)
	}
	if got.NeedlesOut != 56 || got.WireMM != 1920 || got.Wires[0].All != 16 {
		t.Errorf("%+v", got)
	}
	for _, makers := range []int{0, 10_000} {
		if _, err := Kit(KitRequest{Makers: makers}); err == nil {
			t.Errorf("a class of %d", makers)
		}
	}
}
