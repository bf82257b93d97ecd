package sheet

import (
	"math"

	"needlesight/pwa/engine/fault"
)

// paper is a size of paper in mm, upright.
type paper struct{ wide, high float64 }

// A4 is of ISO 216:2007, Letter of ASME Y14.1 (size A, 8.5 x 11 in).
var papers = map[string]paper{"A4": {210, 297}, "Letter": {215.9, 279.4}}

// headMM and footMM are the strips above and below the drawing on every page.
const (
	headMM = 13
	footMM = 24
)

// box is a rectangle, in mm.
type box struct{ left, top, right, bottom float64 }

// nowhere holds nothing; whatever is added to it is all it then holds.
func nowhere() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b box) empty() bool     { return !(b.left <= b.right && b.top <= b.bottom) }
func (b box) width() float64  { return b.right - b.left }
func (b box) height() float64 { return b.bottom - b.top }

// around is the box with so much more on each side.
func (b box) around(mm float64) box {
	return box{b.left - mm, b.top - mm, b.right + mm, b.bottom + mm}
}

func (b box) add(points ...[2]float64) box {
	for _, p := range points {
		b = b.join(box{p[0], p[1], p[0], p[1]})
	}
	return b
}

func (b box) join(o box) box {
	return box{min(b.left, o.left), min(b.top, o.top), max(b.right, o.right), max(b.bottom, o.bottom)}
}

func (b box) meet(o box) box {
	return box{max(b.left, o.left), max(b.top, o.top), min(b.right, o.right), min(b.bottom, o.bottom)}
}

func (b box) meets(o box) bool { return !b.meet(o).empty() }

// size is that of the paper as it lies before the maker.
func (p paper) size(landscape bool) (wide, high float64) {
	if landscape {
		return p.high, p.wide
	}
	return p.wide, p.high
}

// frame is the part of a page that holds the drawing.
func (p paper) frame(landscape bool, margin float64) box {
	wide, high := p.size(landscape)
	return box{margin, margin + headMM, wide - margin, high - margin - footMM}
}

// grid is how a drawing is cut into pages: each shows a window of one size, and
// neighbours share the overlap.
type grid struct {
	columns, rows int
	landscape     bool
	frame         box     // of each page, in mm of the page
	overlap       float64 // mm
	left, top     float64 // of the first window, in mm of the drawing
}

// window is what the page in this column and row (from 0) shows, in mm of the drawing.
func (g grid) window(column, row int) box {
	left := g.left + float64(float64(column)*(g.frame.width()-g.overlap))
	top := g.top + float64(float64(row)*(g.frame.height()-g.overlap))
	return box{left, top, left + g.frame.width(), top + g.frame.height()}
}

func (g grid) pages() int { return g.columns * g.rows }

// whole is all that the pages show together.
func (g grid) whole() box { return g.window(0, 0).join(g.window(g.columns-1, g.rows-1)) }

// windows needed for a length, as a float since it may be beyond any whole number.
func windows(length, window, overlap float64) float64 {
	return max(1, math.Ceil((length-overlap)/(window-overlap)-1e-9))
}

// cut makes the grid for a drawing: the way up that takes fewer pages; of equals the
// one whose shape is the drawing's, if one page holds it, or else that wastes less.
// How many pages it would take is told where they are too many to make.
func cut(p paper, drawing box, margin, overlap float64) (best grid, pages float64) {
	best.columns, pages = 0, math.Inf(1)
	waste := 0.
	for _, landscape := range []bool{false, true} {
		frame := p.frame(landscape, margin)
		columns := windows(drawing.width(), frame.width(), overlap)
		rows := windows(drawing.height(), frame.height(), overlap)
		g := grid{landscape: landscape, frame: frame, overlap: overlap}
		left := (float64(columns*(frame.width()-overlap)) + overlap) * (float64(rows*(frame.height()-overlap)) + overlap)
		if columns*rows == 1 {
			left = 1 // as good as the other, unless it has the drawing's shape
			if landscape == (drawing.width() > drawing.height()) {
				left = 0
			}
		}
		if columns*rows > pages || columns*rows == pages && left >= waste {
			continue
		}
		best, pages, waste = g, columns*rows, left
		if pages <= MaxPages {
			best.columns, best.rows = int(columns), int(rows)
		}
	}
	if pages <= MaxPages {
		best.center(drawing)
	}
	return best, pages
}

// center shares what the pages have to spare evenly on all sides of the drawing.
func (g *grid) center(drawing box) {
	whole := g.whole()
	g.left += float64((drawing.left+drawing.right)/2) - float64((whole.left+whole.right)/2)
	g.top += float64((drawing.top+drawing.bottom)/2) - float64((whole.top+whole.bottom)/2)
}

// joint is the line along which two neighbouring pages meet, in the middle of what
// they share: from..to in mm of the drawing. The second page is cut there and laid on
// the first.
type joint struct {
	upright     bool // between columns; else between rows
	first, then [2]int
	from, to    [2]float64
}

// joints of the page in this column and row, with each of its neighbours.
func (g grid) joints(column, row int) (all []joint) {
	w := g.window(column, row)
	half := float64(g.overlap / 2)
	upright := func(x float64, c int) {
		all = append(all, joint{true, [2]int{c, row}, [2]int{c + 1, row}, [2]float64{x, w.top}, [2]float64{x, w.bottom}})
	}
	level := func(y float64, r int) {
		all = append(all, joint{false, [2]int{column, r}, [2]int{column, r + 1}, [2]float64{w.left, y}, [2]float64{w.right, y}})
	}
	if column > 0 {
		upright(w.left+half, column-1)
	}
	if column < g.columns-1 {
		upright(w.right-half, column)
	}
	if row > 0 {
		level(w.top+half, row-1)
	}
	if row < g.rows-1 {
		level(w.bottom-half, row)
	}
	return all
}

// seams are what pages share, all along their joints.
func (g grid) seams() (all []box) {
	whole := g.whole()
	for c := range g.columns - 1 {
		w := g.window(c, 0)
		all = append(all, box{w.right - g.overlap, whole.top, w.right, whole.bottom})
	}
	for r := range g.rows - 1 {
		w := g.window(0, r)
		all = append(all, box{whole.left, w.bottom - g.overlap, whole.right, w.bottom})
	}
	return all
}

// markMM is half of a match mark's width.
const markMM = 3

// marks are the middles of a joint's match marks, in mm of the drawing: the same
// points for both pages, off the corners where four pages meet.
func (j joint) marks() [2][2]float64 {
	at := func(share float64) [2]float64 {
		return [2]float64{j.from[0] + float64(share*(j.to[0]-j.from[0])), j.from[1] + float64(share*(j.to[1]-j.from[1]))}
	}
	return [2][2]float64{at(0.25), at(0.75)}
}

// block is a drawing on a page that several share.
type block struct {
	view int
	at   [2]float64 // of the drawing's top-left corner, in mm of the page
}

// page is one page of drawing: a window of a view, or several small views.
type page struct {
	view        int
	column, row int
	shared      []block
	landscape   bool
}

// plan is all the pages of drawing.
type plan struct {
	paper           paper
	margin, overlap float64
	drawings        []drawing
	grids           []grid
	sheets          []page
}

// lay cuts every view into pages and puts small ones together.
func lay(req Request, p paper, photos map[string]*photo) (plan, error) {
	made := plan{paper: p, margin: *req.MarginMM, overlap: *req.OverlapMM}
	total := 0.
	for i := range req.Views {
		d, err := draw(&req.Views[i], i, photos, aroundMM)
		if err != nil {
			return plan{}, err
		}
		g, pages := cut(p, d.bounds, made.margin, made.overlap)
		if tight, err := draw(&req.Views[i], i, photos, tightMM); err == nil {
			if other, fewer := cut(p, tight.bounds, made.margin, made.overlap); fewer < pages {
				d, g, pages = tight, other, fewer
			}
		}
		total += pages
		made.drawings, made.grids = append(made.drawings, d), append(made.grids, g)
	}
	if total > MaxPages {
		return plan{}, fault.New(fault.TooMany, "views", "At this size the drawings would take %s pages, and at most %d are made. Make it smaller, or print fewer views at once.", count(total), MaxPages)
	}
	made.deal()
	return made, nil
}

// count writes how many pages, however many.
func count(pages float64) string {
	if pages > 1e15 {
		return "far too many"
	}
	return fault.Number(math.Round(pages))
}

// deal makes the pages in the views' order; neighbours in that order that fit on one
// page share it.
func (m *plan) deal() {
	for i := 0; i < len(m.grids); {
		if shared, landscape := m.share(i); len(shared) > 1 {
			for _, b := range shared {
				d := m.drawings[b.view].bounds
				m.grids[b.view] = grid{columns: 1, rows: 1, landscape: landscape, frame: d, left: d.left, top: d.top}
			}
			m.sheets = append(m.sheets, page{shared: shared, landscape: landscape})
			i += len(shared)
			continue
		}
		g := m.grids[i]
		for row := range g.rows {
			for column := range g.columns {
				m.sheets = append(m.sheets, page{view: i, column: column, row: row, landscape: g.landscape})
			}
		}
		i++
	}
}

// gapMM is between drawings on a shared page, nameMM the height of a name over each.
const (
	gapMM  = 6
	nameMM = 8
)

// share puts as many views from the given one on as one page holds, one below the
// other or side by side.
func (m *plan) share(from int) (best []block, lies bool) {
	for _, landscape := range []bool{false, true} {
		frame := m.paper.frame(landscape, m.margin)
		for _, down := range []bool{true, false} {
			if blocks := m.stack(from, frame, down); len(blocks) > len(best) {
				best, lies = blocks, landscape
			}
		}
	}
	return best, lies
}

// stack puts views into a frame, one below the other or side by side, while they fit.
func (m *plan) stack(from int, frame box, down bool) (blocks []block) {
	x, y := frame.left, frame.top
	for view := from; view < len(m.drawings); view++ {
		b := m.drawings[view].bounds
		if x+b.width() > frame.right || y+nameMM+b.height() > frame.bottom {
			break
		}
		blocks = append(blocks, block{view, [2]float64{x, y + nameMM}})
		if down {
			y += nameMM + b.height() + gapMM
		} else {
			x += b.width() + gapMM
		}
	}
	return blocks
}
