package proportion

import (
	"slices"
	"strings"

	"needlesight/pwa/engine/fault"
)

// group is a connected set of parts, solved.
type group struct {
	*fit
	parts    []int       // indices into network.parts, sorted by name
	sittings map[int]int // network sitting -> index into fit.at
	known    []float64   // of each sitting of the group, see known
	rows     []row       // parts and sittings as indices of this group
	ruled    bool        // sizes are in mm
	free     int         // degrees of freedom
	factor   float64     // Birge's, at least 1
	unit     string      // the name of the part that is 1 when not ruled
}

// solution is a network, group by group.
type solution struct {
	*network
	groups  []*group
	groupOf []int // of each part
	local   []int // the index of each part within its group
}

// solved parts a network into its groups and solves each.
func solved(n *network) (*solution, error) {
	s := &solution{network: n, groupOf: make([]int, len(n.parts)), local: make([]int, len(n.parts))}
	for _, parts := range n.connected() {
		for i, p := range parts {
			s.groupOf[p], s.local[p] = len(s.groups), i
		}
		s.groups = append(s.groups, &group{parts: parts, sittings: map[int]int{}, unit: n.parts[parts[0]]})
	}
	for _, r := range n.rows {
		s.groups[s.groupOf[r.part]].take(r, s.local[r.part], n.side.Sittings[r.sitting])
	}
	for _, g := range s.groups {
		if err := g.solve(n); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// take adds a reading to its group.
func (g *group) take(r row, part int, s Sitting) {
	r.part = part
	if s.Method == Ruler {
		r.sitting, g.ruled = -1, true
	} else {
		i, met := g.sittings[r.sitting]
		if !met {
			i = len(g.sittings)
			g.sittings[r.sitting] = i
			g.known = append(g.known, known(s))
			g.ruled = g.ruled || g.known[i] > 0
		}
		r.sitting = i
	}
	g.rows = append(g.rows, r)
}

func (g *group) solve(n *network) error {
	var ok bool
	if g.fit, ok = fitted(g.rows, len(g.parts), g.known, g.ruled); !ok {
		return fault.New(fault.OutOfRange, n.at+"readings", "The uncertainties of the readings around %q are too unlike to be worked out together.", g.unit)
	}
	low, high := min(0, slices.Min(g.size)), max(0, slices.Max(g.size))
	if !(high-low <= ln(MaxSpread)) {
		return fault.New(fault.OutOfRange, n.at+"readings", "The parts joined to %q would differ %.0e times in size; a reading among them must be wrong.", g.unit, MaxSpread)
	}
	g.free = len(g.rows) - len(g.parts) - len(g.sittings)
	if !g.ruled {
		g.free++
	}
	for _, weight := range g.known {
		if weight > 0 {
			g.free++ // that a scale is known is an observation like a reading
		}
	}
	g.factor = birge(g.chi2(g.rows), g.free)
	return nil
}

// connected gives the sets of parts that sittings join, by union-find over parts,
// sittings and the one scale of all that is in mm. Each set is sorted by name, and the sets by
// their first names.
func (n *network) connected() [][]int {
	parts := len(n.parts)
	mm := parts + len(n.side.Sittings)
	above := make([]int, mm+1)
	for i := range above {
		above[i] = i
	}
	top := func(i int) int {
		for above[i] != i {
			above[i] = above[above[i]]
			i = above[i]
		}
		return i
	}
	for _, r := range n.rows {
		scale := parts + r.sitting
		if s := n.side.Sittings[r.sitting]; s.Method == Ruler || s.ScaleU != nil {
			scale = mm
		}
		above[top(r.part)] = top(scale)
	}
	order := make([]int, parts)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return strings.Compare(n.parts[a], n.parts[b]) })
	var sets [][]int
	setOf := map[int]int{}
	for _, p := range order {
		set, known := setOf[top(p)]
		if !known {
			set = len(sets)
			setOf[top(p)] = set
			sets = append(sets, nil)
		}
		sets[set] = append(sets[set], p)
	}
	return sets
}

// index is where a part is: its group and its index there; nil when it was not read.
func (s *solution) index(name string) (*group, int) {
	part := s.partOf(name)
	if part < 0 {
		return nil, -1
	}
	return s.groups[s.groupOf[part]], s.local[part]
}

// only is the vector over the group's parts that is 1 at one of them.
func (g *group) only(part int) []float64 {
	v := make([]float64, len(g.parts))
	v[part] = 1
	return v
}

// minus is a - b.
func minus(a, b []float64) []float64 {
	d := make([]float64, len(a))
	for i := range a {
		d[i] = a[i] - b[i]
	}
	return d
}
