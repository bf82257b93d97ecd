package photo

import (
	"fmt"
	"math"

	"needlesight/pwa/engine/fault"
)

// What is not known better, as standard uncertainties.
const (
	// ID1Share is that of a card's size: ISO/IEC 7810 lets the width be 85.47 to 85.72 mm, a
	// rectangular distribution (the limits from memory).
	ID1Share = 0.0008
	// OffShare and DistanceShare are those of a height off the plane and of a distance that
	// were judged or measured by hand. From memory.
	OffShare      = 0.05
	DistanceShare = 0.10
)

// MaxItems is the most items measured in one request.
const MaxItems = 400

// MeasureRequest asks for lengths on one picture.
type MeasureRequest struct {
	// WidthPx is the picture's width, px, 1 to MaxPX.
	WidthPx float64 `json:"width_px"`
	// HeightPx is its height, px, 1 to MaxPX.
	HeightPx float64 `json:"height_px"`
	// Plane gives the scale; null when the picture has none.
	Plane *Plane `json:"plane"`
	// Items are at most MaxItems.
	Items []Item `json:"items"`
}

// Item is one length between two pins, or a place along a part.
type Item struct {
	// ID tells the item apart.
	ID string `json:"id"`
	// Pins are two points in px.
	Pins []Point `json:"pins"`
	// PinPx is the standard uncertainty of each pin's x and y, px; left out it is PointPX.
	PinPx *float64 `json:"pin_px,omitempty"`
	// OffMM is how far the item stands off the plane towards the lens, in mm; below 0 behind it.
	OffMM *float64 `json:"off_mm,omitempty"`
	// Along is the part whose place the second pin tells: from its start to its end, px.
	Along []Point `json:"along,omitempty"`
}

// MeasureResponse holds the scale and the lengths, in the order of the request.
type MeasureResponse struct {
	// Scale is null without a plane.
	Scale *Scale     `json:"scale"`
	Items []Measured `json:"items"`
	Notes []Note     `json:"notes"`
}

// Scale is what the plane tells.
type Scale struct {
	// MMPerPx is the scale at the middle of the picture, mm per px.
	MMPerPx float64 `json:"mm_per_px"`
	// UShare is the standard uncertainty of the scale as a share, common to all items: the
	// root of the mean square over the items of what the corners' or ends' uncertainty makes.
	UShare float64 `json:"u_share"`
	// TiltRad is the angle between the lens's axis and the plane's normal, radians; null for a length.
	TiltRad *float64 `json:"tilt_rad"`
	// DistanceMM is from the lens to the plane, mm; null when neither given nor told by the picture.
	DistanceMM *float64 `json:"distance_mm"`
	// CornerErrorPx is how far off, px, the corners look for a rectangle of that size; null for a length.
	CornerErrorPx *float64 `json:"corner_error_px"`
}

// Measured is one item's length.
type Measured struct {
	// ID is that of the item.
	ID string `json:"id"`
	// Px is the distance of the pins in px; of a place, from the part's start.
	Px float64 `json:"px"`
	// UPx is the standard uncertainty of Px, px.
	UPx float64 `json:"u_px"`
	// MM is the length in mm, null without a scale or beyond the plane's horizon.
	MM *float64 `json:"mm"`
	// UMM is the standard uncertainty of MM, mm, without what UShare says.
	UMM *float64 `json:"u_mm"`
	// At is where a place lies along its part, 0 at its start and 1 at its end; null for a length.
	At *float64 `json:"at"`
	// OffShare is by which share too big the item reads for standing off the plane; MM is
	// corrected for it. Null when it lies in the plane or the distance is not known.
	OffShare *float64 `json:"off_share"`
}

// Note is something to know about the answer.
type Note struct {
	// Code is kebab-case: no-scale, one-length, distance-not-known, distance-from-tilt,
	// corners-doubtful, not-corrected, beyond-horizon, far-from-scale, pins-together.
	Code string `json:"code"`
	// Text says it in an English sentence.
	Text string `json:"text"`
	// Items it is about, by id; null when about all.
	Items []string `json:"items"`
}

// MeasurePhoto measures on a picture. It refuses with MissingField, OutOfRange, TooMany,
// BadName, DuplicateID and what Plane.Check refuses.
func MeasurePhoto(req MeasureRequest) (MeasureResponse, error) {
	if err := checkMeasure(req); err != nil {
		return MeasureResponse{}, err
	}
	g, err := newGauge(req)
	if err != nil {
		return MeasureResponse{}, err
	}
	answer := MeasureResponse{Items: []Measured{}, Notes: []Note{}}
	effects := make([]effect, len(req.Items))
	for i, item := range req.Items {
		effects[i] = g.measure(item)
	}
	if req.Plane != nil {
		common := share(effects, g)
		answer.Scale = g.scale(common)
	}
	for i := range effects {
		answer.Items = append(answer.Items, effects[i].Measured)
	}
	answer.Notes = g.notes(req, effects)
	return answer, nil
}

func checkMeasure(req MeasureRequest) error {
	if err := fault.Between("width_px", req.WidthPx, 1, MaxPX); err != nil {
		return err
	}
	if err := fault.Between("height_px", req.HeightPx, 1, MaxPX); err != nil {
		return err
	}
	if req.Plane != nil {
		if err := req.Plane.Check("plane"); err != nil {
			return err
		}
	}
	if len(req.Items) > MaxItems {
		return fault.New(fault.TooMany, "items", "items holds %d, and at most %d are measured at once.", len(req.Items), MaxItems)
	}
	ids := map[string]bool{}
	for i, item := range req.Items {
		at := fmt.Sprintf("items[%d]", i)
		if err := fault.Name(at+".id", item.ID); err != nil {
			return err
		}
		if ids[item.ID] {
			return fault.New(fault.DuplicateID, at+".id", "%s.id is %q, which another item has.", at, item.ID)
		}
		ids[item.ID] = true
		if err := checkItem(at, item); err != nil {
			return err
		}
	}
	return nil
}

func checkItem(at string, item Item) error {
	if err := checkPX(at+".pins", item.Pins, 2); err != nil {
		return err
	}
	if err := checkU(at+".pin_px", item.PinPx); err != nil {
		return err
	}
	if item.OffMM != nil {
		if err := fault.Between(at+".off_mm", *item.OffMM, -MaxSizeMM, MaxSizeMM); err != nil {
			return err
		}
	}
	if item.Along == nil {
		return nil
	}
	if err := checkPX(at+".along", item.Along, 2); err != nil {
		return err
	}
	if distance(item.Along[0], item.Along[1]) < 1 {
		return fault.New(fault.PointsRepeated, at+".along", "The start and the end of %s.along lie in one place.", at)
	}
	return nil
}

// gauge is the scale of a picture, made ready to measure with.
type gauge struct {
	plane    *Plane
	matrix   Matrix
	moves    [][8]float64 // how the matrix's numbers change with each corner's x and y, for 1 px
	pointPX  float64      // standard uncertainty of a corner or an end
	side     float64      // -1 or 1: on which side of the horizon the rectangle lies
	seen     seen
	distance *float64
	uShare   float64 // of the distance
	middle   Point
	reach    float64 // of the rectangle or length, px
}

func newGauge(req MeasureRequest) (*gauge, error) {
	g := &gauge{plane: req.Plane, matrix: unit, middle: Point{req.WidthPx / 2, req.HeightPx / 2}}
	p := req.Plane
	if p == nil {
		return g, nil
	}
	var err error
	if g.matrix, err = p.Matrix(); err != nil {
		return nil, err
	}
	if p.DistanceMM != nil {
		g.distance, g.uShare = p.DistanceMM, DistanceShare
	}
	if p.Kind == Length {
		g.pointPX, g.reach = orPoint(p.EndPx), distance(p.Ends[0], p.Ends[1])
		return g, nil
	}
	g.pointPX, g.reach = orPoint(p.CornerPx), distance(p.Corners[0], p.Corners[2])
	g.seen = look(p, req.WidthPx, req.HeightPx, g.pointPX)
	if g.distance == nil && g.seen.known {
		g.distance, g.uShare = &g.seen.lens.distance, g.seen.uShare
	}
	_, _, g.side = g.matrix.lift(p.Corners[0])
	g.moves = cornerMoves(g.matrix, p.Corners)
	return g, nil
}

// cornerMoves is the implicit derivative of the homography by its corners: where a corner
// moves by d, the matrix must change so that the corner still comes to its place, so the
// change of the eight numbers solves (dM/dm) dm = -(dM/dp) d at all four corners.
func cornerMoves(m Matrix, corners []Point) [][8]float64 {
	a, b := table(8, 8), table(8, 8)
	for i, p := range corners {
		rows := byNumbers(m, p)
		j := m.Jacobian(p)
		for r := range 2 {
			copy(a[2*i+r], rows[r][:])
			b[2*i+r][2*i], b[2*i+r][2*i+1] = -j[2*r], -j[2*r+1]
		}
	}
	eliminate(a, b) // checkFour refused what has no inverse
	moves := make([][8]float64, 8)
	for k := range moves {
		for n := range 8 {
			moves[k][n] = b[n][k]
		}
	}
	return moves
}

// byNumbers is how p's image moves with the first eight numbers of the matrix.
func byNumbers(m Matrix, p Point) [2][8]float64 {
	x, y, w := m.lift(p)
	x, y = x/w, y/w
	a, b := p[0]/w, p[1]/w
	return [2][8]float64{
		{a, b, 1 / w, 0, 0, 0, -float64(x * a), -float64(x * b)},
		{0, 0, 0, a, b, 1 / w, -float64(y * a), -float64(y * b)},
	}
}

// effect is an item with what moves its length.
type effect struct {
	Measured
	by          [8]float64 // change of ln(mm) by 1 px of each corner's x and y
	pins        []Point
	uncorrected bool
	horizon     bool
	together    bool
}

// measure gives an item without what the scale's uncertainty makes of it.
func (g *gauge) measure(item Item) effect {
	e := effect{Measured: Measured{ID: item.ID}, pins: item.Pins}
	pin := orPoint(item.PinPx)
	e.UPx = float64(math.Sqrt2 * pin)
	if item.Along != nil {
		e.pins = []Point{item.Along[0], project(unit, item.Along, item.Pins[1])}
		e.Px = distance(e.pins[0], e.pins[1])
		e.At = ratioAlong(unit, item.Along, item.Pins[1])
	} else {
		e.Px = distance(item.Pins[0], item.Pins[1])
	}
	if e.together = e.Px == 0 && item.Along == nil; e.together || g.plane == nil {
		return e
	}
	for _, p := range append(append([]Point(nil), item.Pins...), item.Along...) {
		if g.plane.Kind == Rectangle && g.beyond(p) {
			e.horizon = true
			return e
		}
	}
	if item.Along != nil {
		e.pins[1] = project(g.matrix, item.Along, item.Pins[1])
		e.Px = distance(e.pins[0], e.pins[1])
		e.At = ratioAlong(g.matrix, item.Along, item.Pins[1])
	}
	g.length(&e, pin)
	g.lift(&e, item.OffMM)
	return e
}

// beyond tells whether a point lies on or past the horizon, or so near that a pixel there
// is many times one at the rectangle.
func (g *gauge) beyond(p Point) bool {
	_, _, w := g.matrix.lift(p)
	return !(w*g.side > 0.05*float64(g.side*g.side))
}

// ratioAlong is where p lies along a part, measured in the plane.
func ratioAlong(m Matrix, part []Point, p Point) *float64 {
	start, end, at := m.Apply(part[0]), m.Apply(part[1]), m.Apply(p)
	way := minus(end, start)
	ratio := dot(minus(at, start), way) / dot(way, way)
	return &ratio
}

// project is the px point of the part's line that lies, in the plane, square beside p.
func project(m Matrix, part []Point, p Point) Point {
	start, end := m.Apply(part[0]), m.Apply(part[1])
	foot := along(start, minus(end, start), *ratioAlong(m, part, p))
	back, ok := m.Inverse()
	if !ok {
		return p
	}
	return back.Apply(foot)
}

// length gives mm, the pins' uncertainty through the derivative at each of them, and what
// the corners do to it.
func (g *gauge) length(e *effect, pin float64) {
	a, b := e.pins[0], e.pins[1]
	way := minus(g.matrix.Apply(b), g.matrix.Apply(a))
	mm := size(way)
	e.MM = &mm
	if mm == 0 { // a place at the very start of its part
		j := g.matrix.Jacobian(a)
		u := float64(pin * math.Sqrt(2*math.Abs(determinant(j))))
		e.UMM = &u
		return
	}
	towards := Point{way[0] / mm, way[1] / mm}
	square := 0.0
	for _, p := range e.pins {
		j := g.matrix.Jacobian(p)
		pull := Point{float64(towards[0]*j[0]) + float64(towards[1]*j[2]), float64(towards[0]*j[1]) + float64(towards[1]*j[3])}
		square += dot(pull, pull)
	}
	u := float64(pin * math.Sqrt(square))
	e.UMM = &u
	if g.moves == nil {
		return
	}
	at, bt := byNumbers(g.matrix, a), byNumbers(g.matrix, b)
	for k, move := range g.moves {
		for n, dm := range move {
			pull := float64(towards[0]*(bt[0][n]-at[0][n])) + float64(towards[1]*(bt[1][n]-at[1][n]))
			e.by[k] += float64(pull*dm) / mm
		}
	}
}

// lift corrects for standing off the plane: of lengths side by side with the plane, one h
// nearer to a lens at D reads D/(D-h) too big.
func (g *gauge) lift(e *effect, offMM *float64) {
	if offMM == nil || *offMM == 0 {
		return
	}
	if g.distance == nil || *offMM > 0.8**g.distance {
		e.uncorrected = true
		return
	}
	h, d := *offMM, *g.distance
	factor := (d - h) / d
	off := 1/factor - 1
	e.OffShare = &off
	byHeight := float64(OffShare*h) / (d - h)
	byDistance := float64(g.uShare*h) / (d - h)
	mm := float64(*e.MM * factor)
	u := math.Sqrt(sq(*e.UMM*factor) + sq(mm*byHeight) + sq(mm*byDistance))
	e.MM, e.UMM = &mm, &u
}

func sq(x float64) float64 { return float64(x * x) }

// share splits what the corners do to each length into what is common to all, which it
// gives as a share, and the rest, which goes to each item's own uncertainty: so ratios of
// items are as sure as they are, and a single item leaves nothing to itself.
func share(effects []effect, g *gauge) float64 {
	if g.plane.Kind == Length {
		return math.Sqrt2 * g.pointPX / g.reach
	}
	var mean [8]float64
	n := 0.0
	for _, e := range effects {
		if e.MM != nil && *e.MM > 0 {
			n++
		}
	}
	if n == 0 {
		mean, n = g.middleShare(), 1
	}
	for _, e := range effects {
		if e.MM != nil && *e.MM > 0 {
			for k := range mean {
				mean[k] += e.by[k] / n
			}
		}
	}
	common := 0.0
	for k := range mean {
		common += sq(g.pointPX * mean[k])
	}
	for i := range effects {
		e := &effects[i]
		if e.MM == nil || *e.MM == 0 {
			continue
		}
		own := 0.0
		for k := range mean {
			own += sq(g.pointPX * (e.by[k] - mean[k]))
		}
		u := math.Sqrt(sq(*e.UMM) + float64(own*sq(*e.MM)))
		e.UMM = &u
	}
	if g.plane.Name == ID1 {
		common += ID1Share * ID1Share
	}
	return math.Sqrt(common)
}

// middleShare is what the corners do to the scale of an area in the middle of the
// rectangle, where nothing is measured yet.
func (g *gauge) middleShare() (by [8]float64) {
	c := g.plane.Corners
	for k := range by {
		const step = 0.01
		by[k] = (areaShare(moved(c, k, step)) - areaShare(moved(c, k, -step))) / (2 * step) / areaShare(c)
	}
	return by
}

// areaShare is mm per px of the rectangle as a whole, but for a factor.
func areaShare(c []Point) float64 {
	return 1 / math.Sqrt(math.Abs(cross(minus(c[2], c[0]), minus(c[3], c[1]))))
}

func (g *gauge) scale(common float64) *Scale {
	s := &Scale{UShare: common, DistanceMM: g.distance}
	middle := g.middle
	if g.plane.Kind == Rectangle {
		tilt, corner := g.seen.tilt, g.seen.corner
		s.TiltRad, s.CornerErrorPx = &tilt, &corner
		if g.beyond(middle) {
			middle = g.plane.Corners[0]
		}
	}
	s.MMPerPx = math.Sqrt(math.Abs(determinant(g.matrix.Jacobian(middle))))
	return s
}
