package wool

import (
	"math"

	"needlesight/pwa/engine/fault"
)

// MaxPieces is the most weighed pieces that are learned from.
const MaxPieces = 1000

// LearnRequest is what a maker has weighed.
type LearnRequest struct {
	// Pieces are in the order in which they were weighed, at most MaxPieces.
	Pieces []Weighed `json:"pieces"`
}

// Weighed is one felted form, weighed and measured.
type Weighed struct {
	// Grams is its mass.
	Grams float64 `json:"grams"`
	// VolumeMM3 is its volume as measured.
	VolumeMM3 float64 `json:"volume_mm3"`
	// Firm is how firm it was meant to be: soft, medium or firm; left out it is medium. What is
	// learned is the density of her medium pieces.
	Firm string `json:"firm,omitempty"`
	// StartMM is one length of it as rolled; it and FinishMM may both be left out.
	StartMM *float64 `json:"start_mm,omitempty"`
	// FinishMM is the same length as felted.
	FinishMM *float64 `json:"finish_mm,omitempty"`
}

// LearnResponse is what is known of her hand.
type LearnResponse struct {
	// Density is that of her pieces of medium firmness in g/cm3.
	Density Learned `json:"density_g_cm3"`
	// Factor is how many times as long as the felted form she rolls her core.
	Factor Learned `json:"factor"`
}

// Learned is a value that moves from a default to her own.
type Learned struct {
	// N is from how many pieces.
	N int `json:"n"`
	// Mean is the estimate: the default at first.
	Mean float64 `json:"mean"`
	// Low is the lower end of the range that holds the truth 19 times in 20.
	Low float64 `json:"low"`
	// High is its upper end.
	High float64 `json:"high"`
	// Spread is the standard deviation of the logarithm for her next piece: of her own
	// scatter from piece to piece and of the doubt about the mean together.
	Spread float64 `json:"spread"`
	// Default is where it started.
	Default float64 `json:"default"`
	// Points are the pieces one by one, and the estimate after each.
	Points []Point `json:"points"`
}

// Point is one piece on the way.
type Point struct {
	// Value is what this piece says: g/cm3, or times as long.
	Value float64 `json:"value"`
	// Mean is the estimate with this piece.
	Mean float64 `json:"mean"`
	// Low is the lower end of its range.
	Low float64 `json:"low"`
	// High is the upper end.
	High float64 `json:"high"`
}

// prior is what is believed of a maker nobody has weighed anything of: the logarithm of
// her value is normal about that of the default with the standard deviation among, and
// her own pieces scatter about it by about within.
type prior struct{ start, among, within float64 }

var (
	// Common practice: felted pieces have 0.08 to 0.25 g/cm3, taken as 19 makers in 20. The
	// scatter from piece to piece is from memory.
	densityPrior = prior{StartGCM3, 0.29, 0.12}
	// Common practice: 4/3, and from 1 to 2 among makers.
	factorPrior = prior{4.0 / 3, 0.18, 0.06}
)

// sureness is how much the scatter from piece to piece is believed beforehand: as much as
// from twice so many pieces.
const sureness = 4

// Learn moves density and start factor from the defaults to the maker's own: a normal
// distribution of the logarithms with unknown mean and variance, and its conjugate prior
// (Gelman et al., Bayesian Data Analysis, 3.3). Errors: OutOfRange, TooMany,
// ConflictingFields, NotOneOf.
func Learn(req LearnRequest) (LearnResponse, error) {
	if len(req.Pieces) > MaxPieces {
		return LearnResponse{}, fault.New(fault.TooMany, "pieces", "pieces has %d entries; at most %d are learned from.", len(req.Pieces), MaxPieces)
	}
	var densities, factors []float64
	for i, p := range req.Pieces {
		density, factor, err := p.check(i)
		if err != nil {
			return LearnResponse{}, err
		}
		densities = append(densities, density)
		if factor > 0 {
			factors = append(factors, factor)
		}
	}
	return LearnResponse{densityPrior.learn(densities), factorPrior.learn(factors)}, nil
}

// check gives the density and the factor (0: not given) of a piece.
func (p Weighed) check(i int) (density, factor float64, err error) {
	at := func(name string) string { return "pieces[" + written(float64(i)) + "]." + name }
	if err = fault.Between(at("grams"), p.Grams, 0.01, 1e6); err != nil {
		return
	}
	if err = fault.Between(at("volume_mm3"), p.VolumeMM3, 1, 1e12); err != nil {
		return
	}
	meant := StartGCM3
	if p.Firm != "" {
		if meant = firmness[p.Firm]; meant == 0 {
			return 0, 0, fault.New(fault.NotOneOf, at("firm"), "%s is %.40q, and must be soft, medium or firm.", at("firm"), p.Firm)
		}
	}
	density = p.Grams / p.VolumeMM3 * 1000
	if density > DensestGCM3 {
		return 0, 0, fault.New(fault.OutOfRange, at("grams"), "%s gives %.2f g/cm3, and wool fibre itself has only %.2f: is the mass or a size wrong, or is something else in it?", at("grams"), density, DensestGCM3)
	}
	density *= StartGCM3 / meant
	if (p.StartMM == nil) != (p.FinishMM == nil) {
		return 0, 0, fault.New(fault.ConflictingFields, at("start_mm"), "%s has one of start_mm and finish_mm; both are needed, or neither.", "pieces["+written(float64(i))+"]")
	}
	if p.StartMM == nil {
		return
	}
	if err = fault.Positive(at("start_mm"), *p.StartMM); err != nil {
		return
	}
	if err = fault.Positive(at("finish_mm"), *p.FinishMM); err != nil {
		return
	}
	factor = *p.StartMM / *p.FinishMM
	if factor < 0.5 || factor > 5 {
		err = fault.New(fault.OutOfRange, at("start_mm"), "%s is %.2g times finish_mm; between 0.5 and 5 times is taken.", at("start_mm"), factor)
	}
	return
}

// learn is the normal-inverse-gamma update, piece by piece.
func (p prior) learn(values []float64) Learned {
	mean, weight := math.Log(p.start), p.within*p.within/(p.among*p.among)
	alpha := float64(sureness)
	beta := p.within * p.within * (alpha - 1)
	out := Learned{N: len(values), Default: p.start, Points: []Point{}}
	out.set(mean, weight, alpha, beta)
	for _, value := range values {
		y := math.Log(value)
		beta += weight * (y - mean) * (y - mean) / (2 * (weight + 1))
		mean = (float64(weight*mean) + y) / (weight + 1)
		weight++
		alpha += 0.5
		out.set(mean, weight, alpha, beta)
		out.Points = append(out.Points, Point{value, out.Mean, out.Low, out.High})
	}
	return out
}

// set reads estimate and range off the distribution of the mean: Student's t with 2 alpha
// degrees of freedom.
func (l *Learned) set(mean, weight, alpha, beta float64) {
	half := float64(studentT(2*alpha) * math.Sqrt(beta/alpha/weight))
	l.Mean, l.Low, l.High = math.Exp(mean), math.Exp(mean-half), math.Exp(mean+half)
	l.Spread = math.Sqrt(beta / (alpha - 1) * (1 + 1/weight))
}

// studentT is the 97.5 % point of Student's t for 8 degrees of freedom or more, to 1e-4: its
// asymptotic expansion in the normal one (Abramowitz and Stegun 26.7.5).
func studentT(df float64) float64 {
	const x = 1.959963984540054
	x2 := x * x
	g1 := x * (x2 + 1) / 4
	g2 := x * (float64((float64(5*x2)+16)*x2) + 3) / 96
	g3 := x * (float64((float64((float64(3*x2)+19)*x2)+17)*x2) - 15) / 384
	g4 := x * (float64((float64((float64((float64(79*x2)+776)*x2)+1482)*x2)-1920)*x2) - 945) / 92160
	return x + (g1+(g2+(g3+g4/df)/df)/df)/df
}
