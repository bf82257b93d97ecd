package proportion

import (
	"cmp"
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

// Solve works out the proportions that the readings tell, with their standard
// uncertainties, by weighted least squares on logarithms; see the package's own words.
//
// It refuses, with the place of the reading or sitting: MissingField for no readings
// and for a photo's reading without u; DuplicateID; UnknownSitting; NotOneOf for a
// method or denominator; ConflictingFields for a denominator off a needle; OutOfRange
// for a value or u that is zero, negative, not finite or beyond the limits, and for
// parts that would differ more than MaxSpread; BadName; TooMany.
func Solve(req Request) (Response, error) {
	n, err := connect(req.Side, "")
	if err != nil {
		return Response{}, err
	}
	if err := checkPairs(req.Ratios); err != nil {
		return Response{}, err
	}
	s, err := solved(n)
	if err != nil {
		return Response{}, err
	}
	answer := Response{
		Ratios: make([]Ratio, len(req.Ratios)), Joins: s.joins(), Disagree: []Disagreement{},
		Parts: s.sizes(), Places: s.places(), Widen: []Widened{},
	}
	for i, pair := range req.Ratios {
		answer.Ratios[i] = s.ratio(pair)
	}
	for i, g := range s.groups {
		answer.Groups = append(answer.Groups, s.names(g))
		answer.Disagree = append(answer.Disagree, s.disagreeing(g)...)
		if g.factor > 1 {
			answer.Widen = append(answer.Widen, Widened{i, tidy(g.factor)})
		}
	}
	return answer, nil
}

func checkPairs(pairs []Pair) error {
	if len(pairs) > MaxRatios {
		return fault.New(fault.TooMany, "ratios", "ratios holds %d pairs, and at most %d are worked out at once.", len(pairs), MaxRatios)
	}
	for i, pair := range pairs {
		at := fmt.Sprintf("ratios[%d]", i)
		if err := cmp.Or(fault.Name(at+".of", pair.Of), fault.Name(at+".to", pair.To)); err != nil {
			return err
		}
	}
	return nil
}

func (s *solution) names(g *group) []string {
	names := make([]string, len(g.parts))
	for i, p := range g.parts {
		names[i] = s.parts[p]
	}
	return names
}

// ratio is one part over another: e^(difference of logarithms), whose relative standard
// uncertainty is that of the difference.
func (s *solution) ratio(pair Pair) Ratio {
	above, i := s.index(pair.Of)
	below, j := s.index(pair.To)
	switch {
	case above == nil || below == nil:
		return Ratio{Of: pair.Of, To: pair.To, Why: WhyNotRead}
	case above != below:
		return Ratio{Of: pair.Of, To: pair.To, Why: WhyNotJoined}
	}
	value := exp(above.size[i] - above.size[j])
	u := value * math.Sqrt(above.variance(minus(above.only(i), above.only(j))))
	return Ratio{pair.Of, pair.To, tidied(value), tidied(u), tidied(u * above.factor), ""}
}

// sizes are all parts, group by group.
func (s *solution) sizes() []Size {
	var all []Size
	for i, g := range s.groups {
		readings := make([]int, len(g.parts))
		for _, r := range g.rows {
			readings[r.part]++
		}
		for j, p := range g.parts {
			value := exp(g.size[j])
			u := value * math.Sqrt(g.cov[j][j])
			one := Size{s.parts[p], i, tidy(value), nil, tidy(u), tidy(u * g.factor), readings[j]}
			if g.ruled {
				one.MM = &one.Size
			}
			all = append(all, one)
		}
	}
	return all
}

// joins are the readings that would make one group of all: of each group its best read
// part, in a sitting with the best read part of the largest group.
func (s *solution) joins() []Join {
	joins, largest := []Join{}, 0
	for i, g := range s.groups {
		if len(g.parts) > len(s.groups[largest].parts) {
			largest = i
		}
	}
	for i, g := range s.groups {
		if i != largest {
			joins = append(joins, Join{s.bestRead(g), s.bestRead(s.groups[largest])})
		}
	}
	return joins
}

// bestRead is the part of a group whose own readings weigh most.
func (s *solution) bestRead(g *group) string {
	best := 0
	for i, weight := range g.own {
		if weight > g.own[best] {
			best = i
		}
	}
	return s.parts[g.parts[best]]
}
