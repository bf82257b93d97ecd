package wool

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

// KitRequest is a class.
type KitRequest struct {
	// Makers is how many there are, 1 to MaxMakers.
	Makers int `json:"makers"`
	// Needles are those each maker gets.
	Needles []Needles `json:"needles"`
	// Spare is how many needles more of each gauge there are for every maker, 0 to 50.
	Spare int `json:"spare"`
	// Allowance is the share of wool taken along beyond the need, 0 to 2.
	Allowance float64 `json:"allowance"`
	// Wools are what each maker needs of each wool.
	Wools []Portion `json:"wools"`
	// Wires are what each maker needs of wire.
	Wires []Cut `json:"wires,omitempty"`
}

// Needles are so many needles of a gauge.
type Needles struct {
	Gauge string `json:"gauge"`
	// Each is how many each maker gets, 0 to 100.
	Each int `json:"each"`
}

// Portion is the wool of one maker.
type Portion struct {
	ID string `json:"id"`
	// EachG is what one maker needs, without the allowance.
	EachG float64 `json:"each_g"`
	// PackG is how much a pack holds; left out, packs are not counted.
	PackG *float64 `json:"pack_g,omitempty"`
}

// Cut is a length of wire.
type Cut struct {
	Name string `json:"name"`
	// CutMM is its length.
	CutMM float64 `json:"cut_mm"`
	// Count is how many each maker gets, 1 to 100.
	Count int `json:"count"`
}

// KitResponse is what to weigh, count and cut.
type KitResponse struct {
	Wools []PortionOut `json:"wools"`
	// Needles are all that are given out, spares too.
	Needles []NeedlesOut `json:"needles"`
	// NeedlesOut is their number: as many must come back, whole or in pieces.
	NeedlesOut int      `json:"needles_out"`
	Wires      []CutOut `json:"wires"`
	// WireMM is all wire together.
	WireMM float64 `json:"wire_mm"`
}

// PortionOut is a wool weighed out.
type PortionOut struct {
	ID string `json:"id"`
	// PersonG is each maker's portion with the allowance, as a kitchen scale shows it.
	PersonG float64 `json:"person_g"`
	// AllG is that of all makers.
	AllG float64 `json:"all_g"`
	// Packs is how many packs that takes; null where the pack is not known.
	Packs *int `json:"packs"`
}

// NeedlesOut is needles of a gauge given out.
type NeedlesOut struct {
	Gauge string `json:"gauge"`
	// Each is how many each maker gets.
	Each int `json:"each"`
	// Spare is how many lie ready beside those.
	Spare int `json:"spare"`
	// All is both together.
	All int `json:"all"`
}

// CutOut is wire cut for all.
type CutOut struct {
	Name string `json:"name"`
	// CutMM is its length.
	CutMM float64 `json:"cut_mm"`
	// Count is how many each maker gets.
	Count int `json:"count"`
	// All is how many are cut.
	All int `json:"all"`
}

// Kit works out what a class needs, for each maker and for all. Errors: OutOfRange,
// TooMany, BadName.
func Kit(req KitRequest) (KitResponse, error) {
	if err := req.check(); err != nil {
		return KitResponse{}, err
	}
	out := KitResponse{Wools: []PortionOut{}, Needles: []NeedlesOut{}, Wires: []CutOut{}}
	for _, w := range req.Wools {
		each := w.EachG * (1 + req.Allowance)
		step := stepOf(each)
		line := PortionOut{ID: w.ID, PersonG: math.Round(math.Ceil(each/step-1e-9)*step*10) / 10}
		line.AllG = math.Round(line.PersonG*float64(req.Makers)*10) / 10
		if w.PackG != nil {
			packs := int(math.Ceil(line.AllG/(*w.PackG) - 1e-9))
			line.Packs = &packs
		}
		out.Wools = append(out.Wools, line)
	}
	for _, n := range req.Needles {
		line := NeedlesOut{n.Gauge, n.Each, req.Spare * req.Makers, (n.Each + req.Spare) * req.Makers}
		out.Needles, out.NeedlesOut = append(out.Needles, line), out.NeedlesOut+line.All
	}
	for _, w := range req.Wires {
		line := CutOut{w.Name, w.CutMM, w.Count, w.Count * req.Makers}
		out.Wires, out.WireMM = append(out.Wires, line), out.WireMM+float64(w.CutMM*float64(line.All))
	}
	return out, nil
}

func (r KitRequest) check() error {
	if err := fault.Between("makers", float64(r.Makers), 1, MaxMakers); err != nil {
		return err
	}
	if err := fault.Between("spare", float64(r.Spare), 0, 50); err != nil {
		return err
	}
	if err := fault.Between("allowance", r.Allowance, 0, 2); err != nil {
		return err
	}
	if n := max(len(r.Wools), len(r.Needles), len(r.Wires)); n > MaxWools {
		return fault.New(fault.TooMany, "", "A list of the class has %d entries; at most %d are taken.", n, MaxWools)
	}
	for i, w := range r.Wools {
		at := fmt.Sprintf("wools[%d]", i)
		if err := fault.Name(at+".id", w.ID); err != nil {
			return err
		}
		if err := fault.Between(at+".each_g", w.EachG, 0, 1e6); err != nil {
			return err
		}
		if w.PackG != nil {
			if err := fault.Between(at+".pack_g", *w.PackG, 0.1, 1e6); err != nil {
				return err
			}
		}
	}
	for i, n := range r.Needles {
		at := fmt.Sprintf("needles[%d]", i)
		if err := fault.Name(at+".gauge", n.Gauge); err != nil {
			return err
		}
		if err := fault.Between(at+".each", float64(n.Each), 0, 100); err != nil {
			return err
		}
	}
	for i, w := range r.Wires {
		at := fmt.Sprintf("wires[%d]", i)
		if err := fault.Between(at+".cut_mm", w.CutMM, 1, 1e5); err != nil {
			return err
		}
		if err := fault.Between(at+".count", float64(w.Count), 1, 100); err != nil {
			return err
		}
	}
	return nil
}
