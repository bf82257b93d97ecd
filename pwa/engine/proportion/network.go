package proportion

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/sight"
)

// row is a reading of a part in logarithms: y = part + scale, with weight 1/variance.
type row struct {
	reading       int // index into Side.Readings
	part, sitting int // within a network or within a group; no sitting is -1, a ruler
	y, weight     float64
}

// placing is a reading of a place along a part.
type placing struct {
	place, along string
	part         int // -1 when the part itself was not read
	sitting      int
	value, u     float64
}

// network is one side's readings, found sound.
type network struct {
	side     Side
	parts    []string // in the order of their first readings
	partAt   map[string]int
	sitAt    map[string]int
	rows     []row
	placings []placing
	at       string // the path of the side in the request, with a dot, or empty
}

// connect checks one side and puts it in order.
func connect(side Side, at string) (*network, error) {
	n := &network{side: side, partAt: map[string]int{}, sitAt: map[string]int{}, at: at}
	if err := n.readSittings(); err != nil {
		return nil, err
	}
	if len(side.Readings) == 0 {
		return nil, fault.New(fault.MissingField, at+"readings", "%sreadings is empty, and at least one reading is needed.", at)
	}
	if len(side.Readings) > MaxReadings {
		return nil, fault.New(fault.TooMany, at+"readings", "%sreadings holds %d readings, and at most %d are worked out at once.", at, len(side.Readings), MaxReadings)
	}
	ids := map[string]bool{}
	for i, r := range side.Readings {
		where := fmt.Sprintf("%sreadings[%d]", at, i)
		if ids[r.ID] {
			return nil, fault.New(fault.DuplicateID, where+".id", "%s.id is %q, which another reading has already.", where, r.ID)
		}
		ids[r.ID] = true
		if err := n.read(where, i, r); err != nil {
			return nil, err
		}
	}
	for i := range n.placings {
		n.placings[i].part = n.partOf(n.placings[i].along)
	}
	return n, nil
}

// partOf is the index of a part, -1 when it was not read.
func (n *network) partOf(name string) int {
	if i, read := n.partAt[name]; read {
		return i
	}
	return -1
}

func (n *network) readSittings() error {
	if len(n.side.Sittings) > MaxSittings {
		return fault.New(fault.TooMany, n.at+"sittings", "%ssittings holds %d sittings, and at most %d are worked out at once.", n.at, len(n.side.Sittings), MaxSittings)
	}
	for i, s := range n.side.Sittings {
		where := fmt.Sprintf("%ssittings[%d]", n.at, i)
		if err := fault.Name(where+".id", s.ID); err != nil {
			return err
		}
		if _, known := n.sitAt[s.ID]; known {
			return fault.New(fault.DuplicateID, where+".id", "%s.id is %q, which another sitting has already.", where, s.ID)
		}
		if s.Method != Sight && s.Method != Marks && s.Method != Ruler && s.Method != Photo {
			return fault.New(fault.NotOneOf, where+".method", "%s.method is %.40q, and must be sight, marks, ruler or photo.", where, s.Method)
		}
		arm, off := armOf(s)
		if err := fault.Between(where+".arm_mm", arm, sight.MinArmMM, sight.MaxArmMM); err != nil {
			return err
		}
		if err := fault.Between(where+".arm_off_mm", off, 0, arm/2); err != nil {
			return err
		}
		if s.ScaleU != nil && s.Method != Photo {
			return fault.New(fault.ConflictingFields, where+".scale_u", "%s.scale_u is given, and only a photo has a scale that is known so.", where)
		}
		if s.ScaleU != nil {
			if err := fault.Between(where+".scale_u", *s.ScaleU, MinShare, 1); err != nil {
				return err
			}
		}
		n.sitAt[s.ID] = i
	}
	return nil
}

// known is how much a sitting's scale is known beforehand: the weight of saying that its
// logarithm is 0, which is that its values are in mm; 0 when nothing is known of it.
func known(s Sitting) float64 {
	if s.ScaleU == nil {
		return 0
	}
	return 1 / float64(*s.ScaleU**s.ScaleU)
}

// armOf is a sitting's arm and how far that may be off, in mm.
func armOf(s Sitting) (arm, off float64) {
	arm, off = sight.ArmMM, sight.ArmOffMM
	if s.ArmMM != nil {
		arm = *s.ArmMM
	}
	if s.ArmOffMM != nil {
		off = *s.ArmOffMM
	}
	return arm, off
}

// read takes one reading in, or refuses it.
func (n *network) read(at string, i int, r Reading) error {
	if err := fault.Name(at+".id", r.ID); err != nil {
		return err
	}
	if err := fault.Name(at+".part", r.Part); err != nil {
		return err
	}
	sitting, known := n.sitAt[r.Sitting]
	if !known {
		return fault.New(fault.UnknownSitting, at+".sitting", "%s (%s) belongs to the sitting %.200q, which is not among the sittings.", at, r.ID, r.Sitting)
	}
	if r.Place != "" {
		return n.readPlace(at, r, sitting)
	}
	if err := fault.Positive(at+".value", r.Value); err != nil {
		return err
	}
	u, err := uncertainty(at, r, n.side.Sittings[sitting])
	if err != nil {
		return err
	}
	share := u / r.Value
	if !(share >= MinShare && share <= MaxShare) {
		return fault.New(fault.OutOfRange, at+".u", "%s (%s) is %v with an uncertainty of %v, and that must be between %s and %d times the value.", at, r.ID, r.Value, u, fault.Number(MinShare), MaxShare)
	}
	part, err := n.take(at, r.Part)
	if err != nil {
		return err
	}
	n.rows = append(n.rows, row{i, part, sitting, ln(r.Value), 1 / float64(share*share)})
	return nil
}

// take gives a part its index.
func (n *network) take(at, name string) (int, error) {
	if part, known := n.partAt[name]; known {
		return part, nil
	}
	if len(n.parts) == MaxParts {
		return 0, fault.New(fault.TooMany, at+".part", "%s is of one part more than the %d that are worked out at once.", at, MaxParts)
	}
	n.partAt[name] = len(n.parts)
	n.parts = append(n.parts, name)
	return len(n.parts) - 1, nil
}

func (n *network) readPlace(at string, r Reading, sitting int) error {
	if err := fault.Name(at+".place", r.Place); err != nil {
		return err
	}
	if err := fault.Between(at+".value", r.Value, 0, fault.MaxValue); err != nil {
		return err
	}
	u, err := uncertainty(at, r, n.side.Sittings[sitting])
	if err != nil {
		return err
	}
	if !(u >= MinPlaceU) {
		return fault.New(fault.OutOfRange, at+".u", "%s (%s) has an uncertainty of %v, and no place is read finer than to %s.", at, r.ID, u, fault.Number(MinPlaceU))
	}
	n.placings = append(n.placings, placing{r.Place, r.Part, -1, sitting, r.Value, u})
	return nil
}

// uncertainty is a reading's own, or that of its method, in the scale of its sitting.
func uncertainty(at string, r Reading, s Sitting) (float64, error) {
	denominator := 4
	if r.Denominator != nil {
		denominator = *r.Denominator
		if s.Method != Sight {
			return 0, fault.New(fault.ConflictingFields, at+".denominator", "%s (%s) has a denominator, and only a count along a needle has one.", at, r.ID)
		}
		if err := sight.CheckDenominator(at+".denominator", denominator); err != nil {
			return 0, err
		}
	}
	if r.U != nil {
		return *r.U, fault.Positive(at+".u", *r.U)
	}
	switch s.Method {
	case Sight:
		return sight.U(r.Value, denominator), nil
	case Marks:
		arm, off := armOf(s)
		return sight.MarksU(r.Value, arm, off), nil
	case Ruler:
		return RulerU, nil
	}
	return 0, fault.New(fault.MissingField, at+".u", "%s (%s) was read in a photo, and needs its uncertainty u.", at, r.ID)
}

// fairLimit is how many standard uncertainties the farthest of n readings may be off
// before it is named: so many that one or more of n right readings would be named in
// at most 5 of 100 groups (Bonferroni's bound on the two-sided normal distribution):
// 2.8 for 10 readings, 3.7 for 200.
func fairLimit(n int) float64 { return math.Sqrt2 * math.Erfinv(1-0.05/float64(n)) }
