package wool

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

const (
	// MaxForms, MaxWools and MaxMakers bound a request.
	MaxForms, MaxWools, MaxMakers = 500, 200, 200
	// Allowance is the share taken along beyond what is needed (from memory: a fifth to a
	// quarter), where none is given.
	Allowance = 0.2
	// CoatMM is how thick the top coat is where it is not given (from memory).
	CoatMM = 2
	// ApartShare is by how much the forms may differ in volume from the outlines unsaid.
	ApartShare = 0.2
)

// firmness is the density of a felted form in g/cm3 by how firm it is (common practice:
// 0.08 to 0.25, start at 0.15), and how far it is from that: standard deviation of the
// logarithm.
var firmness = map[string]float64{"soft": 0.10, "medium": StartGCM3, "firm": 0.20}

// spread is that of a density nobody has weighed.
const spread = 0.2

// Request is what is to be made of wool, and what wool there is.
type Request struct {
	// Forms are at most MaxForms, each id once.
	Forms []Form `json:"forms"`
	// Wools are at most MaxWools, each id once.
	Wools []Wool `json:"wools"`
	// Hand is what was learned of the maker; left out, the defaults.
	Hand *Hand `json:"hand,omitempty"`
	// Makers is how many make the whole, 1 to MaxMakers; left out it is 1.
	Makers *int `json:"makers,omitempty"`
	// Allowance is the share taken along beyond the need, 0 to 2; left out it is the
	// constant Allowance.
	Allowance *float64 `json:"allowance,omitempty"`
	// OutlinesMM3 is the volume of the whole by its outlines; left out, nothing is compared.
	OutlinesMM3 *float64 `json:"outlines_mm3,omitempty"`
}

// Hand is what was learned of a maker's medium firmness.
type Hand struct {
	// DensityGCM3 is the estimate.
	DensityGCM3 float64 `json:"density_g_cm3"`
	// Spread is the standard deviation of the logarithm for her next piece.
	Spread float64 `json:"spread"`
}

// Form is one form of the whole.
type Form struct {
	ID string `json:"id"`
	// VolumeMM3 is that of one of it, felted.
	VolumeMM3 float64 `json:"volume_mm3"`
	// AreaMM2 is the surface of one of it.
	AreaMM2 float64 `json:"area_mm2"`
	// Count is how many there are of it, 1 to 100.
	Count int `json:"count"`
	// Firm is soft, medium or firm.
	Firm string `json:"firm"`
	// Core is the wool of the core, or empty.
	Core string `json:"core,omitempty"`
	// Coat is the blend of the top coat, by parts; empty where there is none.
	Coat []Share `json:"coat,omitempty"`
	// CoatMM is how thick the top coat is; left out it is the constant CoatMM.
	CoatMM *float64 `json:"coat_mm,omitempty"`
}

// Share is so many parts of a wool in a blend.
type Share struct {
	Wool string `json:"wool"`
	// Parts is more than 0 and at most 1000.
	Parts float64 `json:"parts"`
}

// Wool is one kind of wool.
type Wool struct {
	ID string `json:"id"`
	// StockG is how much of it is in the bag; left out, that is not known.
	StockG *float64 `json:"stock_g,omitempty"`
	// PackG is how much a pack of it holds; left out, it is bought by the gram.
	PackG *float64 `json:"pack_g,omitempty"`
	// Price is what PriceG grams cost; left out, that is not known.
	Price *float64 `json:"price,omitempty"`
	// PriceG is what so many g of it cost that.
	PriceG *float64 `json:"price_g,omitempty"`
}

// Response is the wool that is needed.
type Response struct {
	Forms []FormNeed `json:"forms"`
	Wools []WoolNeed `json:"wools"`
	// Core, Coat and All are for one maker, without the allowance.
	Core Grams `json:"core"`
	Coat Grams `json:"coat"`
	All  Grams `json:"all"`
	// Cost is of what is to be bought; null where a price is not known.
	Cost *float64 `json:"cost"`
	// Cross is the comparison with the outlines; null where there are none.
	Cross *Cross `json:"cross"`
	Notes []Note `json:"notes"`
}

// FormNeed is the wool of a form: of one of its count.
type FormNeed struct {
	ID string `json:"id"`
	// CoreG is the best estimate of its core alone, unrounded, to work on with.
	CoreG float64 `json:"core_g"`
	Core  Grams   `json:"core"`
	Coat  Grams   `json:"coat"`
}

// WoolNeed is how much of a wool all makers need, with the allowance.
type WoolNeed struct {
	ID   string `json:"id"`
	Need Grams  `json:"need"`
	// BuyG is what is missing in the bag, of the upper end of the need; null where the
	// stock is not known.
	BuyG *float64 `json:"buy_g"`
	// Packs is how many packs that takes; null where stock or pack is not known.
	Packs *int `json:"packs"`
	// Cost is of the packs, or of BuyG where it is bought by the gram; null where the price or the stock is not known.
	Cost *float64 `json:"cost"`
}

// Cross is the volume of the forms beside that by the outlines.
type Cross struct {
	// FormsMM3 is the volume of all forms.
	FormsMM3 float64 `json:"forms_mm3"`
	// Share is forms over outlines.
	Share float64 `json:"share"`
	// Apart is true when they differ by more than ApartShare.
	Apart bool `json:"apart"`
}

// Note is a sentence with its code.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Need works out the wool of a whole piece: mass = volume x density for the core, area x
// thickness x density for the top coat. Errors: OutOfRange, NotOneOf, TooMany,
// DuplicateID, UnknownWool.
func Need(req Request) (Response, error) {
	n, err := begin(req)
	if err != nil {
		return Response{}, err
	}
	for i, form := range req.Forms {
		if err := n.add(i, form); err != nil {
			return Response{}, err
		}
	}
	n.out.Core, n.out.Coat, n.out.All = n.core.grams(), n.coat.grams(), n.core.plus(n.coat).grams()
	n.shop(req.Wools)
	n.compare(req.OutlinesMM3)
	return n.out, nil
}

// sum is a mass with its range: the ends add up, since one hand is soft or firm in all it
// makes.
type sum struct{ low, best, high float64 }

func (s sum) plus(o sum) sum { return sum{s.low + o.low, s.best + o.best, s.high + o.high} }
func (s sum) times(k float64) sum {
	return sum{float64(s.low * k), float64(s.best * k), float64(s.high * k)}
}
func (s sum) grams() Grams { return between(s.low, s.best, s.high) }

func spreadOut(best, spread float64) sum {
	return sum{float64(best * math.Exp(-eightInTen*spread)), best, float64(best * math.Exp(eightInTen*spread))}
}

// need is the work of one request.
type need struct {
	out        Response
	hand       Hand
	times      float64 // makers and allowance
	volume     float64
	core, coat sum
	wools      map[string]*sum
	forms      map[string]bool
}

func begin(req Request) (*need, error) {
	n := &need{hand: Hand{StartGCM3, spread}, wools: map[string]*sum{}, forms: map[string]bool{}}
	n.out = Response{Forms: []FormNeed{}, Wools: []WoolNeed{}, Notes: []Note{}}
	if len(req.Forms) > MaxForms {
		return nil, fault.New(fault.TooMany, "forms", "forms has %d entries; at most %d are taken.", len(req.Forms), MaxForms)
	}
	if len(req.Wools) > MaxWools {
		return nil, fault.New(fault.TooMany, "wools", "wools has %d entries; at most %d are taken.", len(req.Wools), MaxWools)
	}
	for i, w := range req.Wools {
		if err := n.known(i, w); err != nil {
			return nil, err
		}
	}
	makers, allowance := 1, Allowance
	if req.Makers != nil {
		makers = *req.Makers
	}
	if req.Allowance != nil {
		allowance = *req.Allowance
	}
	if err := fault.Between("makers", float64(makers), 1, MaxMakers); err != nil {
		return nil, err
	}
	if err := fault.Between("allowance", allowance, 0, 2); err != nil {
		return nil, err
	}
	n.times = float64(makers) * (1 + allowance)
	return n, n.learn(req.Hand)
}

// known takes one wool in.
func (n *need) known(i int, w Wool) error {
	at := fmt.Sprintf("wools[%d]", i)
	if err := fault.Name(at+".id", w.ID); err != nil {
		return err
	}
	if n.wools[w.ID] != nil {
		return fault.New(fault.DuplicateID, at+".id", "%s.id is %q, and so is another wool's.", at, w.ID)
	}
	n.wools[w.ID] = &sum{}
	if w.StockG != nil && !(*w.StockG >= 0 && *w.StockG <= 1e7) {
		return fault.New(fault.OutOfRange, at+".stock_g", "%s.stock_g is %s: a bag holds 0 g or more.", at, fault.Number(*w.StockG))
	}
	if w.Price != nil && !(*w.Price >= 0 && *w.Price <= 1e9) {
		return fault.New(fault.OutOfRange, at+".price", "%s.price is %s: a price is 0 or more.", at, fault.Number(*w.Price))
	}
	if w.PackG != nil {
		if err := fault.Between(at+".pack_g", *w.PackG, 0.1, 1e6); err != nil {
			return err
		}
	}
	if w.PriceG != nil {
		return fault.Between(at+".price_g", *w.PriceG, 0.1, 1e6)
	}
	return nil
}

// learn takes the maker's own hand.
func (n *need) learn(hand *Hand) error {
	if hand == nil {
		return nil
	}
	if err := n.dense("hand.density_g_cm3", hand.DensityGCM3); err != nil {
		return err
	}
	n.hand = *hand
	return fault.Between("hand.spread", hand.Spread, 0, 1)
}

// dense refuses a density above the fibre's, and queries one above pressed felt's.
func (n *need) dense(at string, density float64) error {
	if !(density > 0 && density <= DensestGCM3) {
		return fault.New(fault.OutOfRange, at, "%s is %s g/cm3: wool fibre itself has %s, and no piece of wool more.", at, fault.Number(density), fault.Number(DensestGCM3))
	}
	if density > QueryGCM3 {
		n.out.Notes = append(n.out.Notes, Note{"dense", fmt.Sprintf("%.2g g/cm3 is denser than the densest pressed felt. Weigh and measure once more.", density)})
	}
	return nil
}

// add works one form out.
func (n *need) add(i int, f Form) error {
	at := fmt.Sprintf("forms[%d]", i)
	if err := n.check(at, f); err != nil {
		return err
	}
	density := firmness[f.Firm] * n.hand.DensityGCM3 / StartGCM3
	core := spreadOut(f.VolumeMM3/1000*density, n.hand.Spread)
	coat, err := n.coated(at, f)
	if err != nil {
		return err
	}
	n.out.Forms = append(n.out.Forms, FormNeed{f.ID, core.best, core.grams(), coat.grams()})
	count := float64(f.Count)
	n.volume += float64(f.VolumeMM3 * count)
	n.core, n.coat = n.core.plus(core.times(count)), n.coat.plus(coat.times(count))
	if f.Core != "" {
		*n.wools[f.Core] = n.wools[f.Core].plus(core.times(count * n.times))
	}
	return nil
}

func (n *need) check(at string, f Form) error {
	if err := fault.Name(at+".id", f.ID); err != nil {
		return err
	}
	if n.forms[f.ID] {
		return fault.New(fault.DuplicateID, at+".id", "%s.id is %q, and so is another form's.", at, f.ID)
	}
	n.forms[f.ID] = true
	if err := fault.Between(at+".volume_mm3", f.VolumeMM3, 0.01, 1e12); err != nil {
		return err
	}
	if err := fault.Between(at+".area_mm2", f.AreaMM2, 0.01, 1e10); err != nil {
		return err
	}
	if err := fault.Between(at+".count", float64(f.Count), 1, 100); err != nil {
		return err
	}
	if firmness[f.Firm] == 0 {
		return fault.New(fault.NotOneOf, at+".firm", "%s.firm is %.40q, and must be soft, medium or firm.", at, f.Firm)
	}
	if f.Core != "" && n.wools[f.Core] == nil {
		return fault.New(fault.UnknownWool, at+".core", "%s.core is %q, and there is no such wool.", at, f.Core)
	}
	return nil
}

// coated is the top coat of one form, shared out among the wools of its blend.
func (n *need) coated(at string, f Form) (sum, error) {
	if len(f.Coat) == 0 {
		return sum{}, nil
	}
	thick := float64(CoatMM)
	if f.CoatMM != nil {
		thick = *f.CoatMM
		if err := fault.Between(at+".coat_mm", thick, 0.1, 100); err != nil {
			return sum{}, err
		}
	}
	parts := 0.0
	for k, share := range f.Coat {
		where := fmt.Sprintf("%s.coat[%d]", at, k)
		if n.wools[share.Wool] == nil {
			return sum{}, fault.New(fault.UnknownWool, where+".wool", "%s.wool is %q, and there is no such wool.", where, share.Wool)
		}
		if err := fault.Between(where+".parts", share.Parts, 0.01, 1000); err != nil {
			return sum{}, err
		}
		parts += share.Parts
	}
	coat := spreadOut(f.AreaMM2*thick/1000*n.hand.DensityGCM3, n.hand.Spread)
	for _, share := range f.Coat {
		*n.wools[share.Wool] = n.wools[share.Wool].plus(coat.times(share.Parts / parts * float64(f.Count) * n.times))
	}
	return coat, nil
}

// shop tells what of each wool is needed, missing, and what that costs.
func (n *need) shop(wools []Wool) {
	cost, priced := 0.0, len(wools) > 0
	for _, w := range wools {
		line := WoolNeed{ID: w.ID, Need: n.wools[w.ID].grams()}
		if w.StockG != nil {
			buy := max(0, rounded(line.Need.High-*w.StockG, stepOf(max(line.Need.High, 0.1))))
			line.BuyG = &buy
		}
		bought := w.bought(&line)
		switch {
		case line.BuyG != nil && *line.BuyG == 0:
			none := 0.0
			line.Cost = &none
		case line.BuyG != nil && w.Price != nil && w.PriceG != nil:
			price := math.Round(bought / *w.PriceG * *w.Price * 100) / 100
			line.Cost = &price
			cost += price
		default:
			priced = priced && n.wools[w.ID].best == 0
		}
		n.out.Wools = append(n.out.Wools, line)
	}
	if priced {
		n.out.Cost = &cost
	}
}

// bought is how many grams are paid for: whole packs, where a pack is known.
func (w Wool) bought(line *WoolNeed) float64 {
	if line.BuyG == nil {
		return 0
	}
	if w.PackG == nil {
		return *line.BuyG
	}
	packs := int(math.Ceil(*line.BuyG / *w.PackG - 1e-9))
	line.Packs = &packs
	return float64(packs) * *w.PackG
}

// compare holds the forms against the outlines.
func (n *need) compare(outlines *float64) {
	if outlines == nil || !(*outlines > 0) || n.volume == 0 {
		return
	}
	share := n.volume / *outlines
	n.out.Cross = &Cross{n.volume, share, math.Abs(share-1) > ApartShare}
}
