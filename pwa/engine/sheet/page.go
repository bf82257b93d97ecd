package sheet

import (
	"fmt"
	"math"
	"strconv"
)

// The lines of a drawing, in mm, and the type of its words, in points.
const (
	outlineMM = 0.35
	casingMM  = 1.3 // of white, under a line that crosses a photo
	wordPt    = 9
)

// dimmed is how strong a photo is under an outline, 0 to 1.
const dimmed = 0.5

// spot is where a drawing lies on a page: what is added to its mm, and what is seen of
// it, in mm of the page.
type spot struct {
	x, y float64
	seen box
}

// at is a point of the drawing, in mm of the page.
func (s spot) at(p [2]float64) [2]float64 { return [2]float64{p[0] + s.x, p[1] + s.y} }

// on is a box of the drawing, in mm of the page.
func (s spot) on(b box) box { return box{b.left + s.x, b.top + s.y, b.right + s.x, b.bottom + s.y} }

// sheet makes one page of drawing.
func (d *document) sheet(p page) {
	d.turn(p.landscape)
	if p.shared != nil {
		d.share(p.shared)
		return
	}
	g, shape := d.grids[p.view], &d.drawings[p.view]
	if d.begins[p.view] == 0 {
		d.begins[p.view] = d.pages()
	}
	window := g.window(p.column, p.row)
	s := spot{g.frame.left - window.left, g.frame.top - window.top, g.frame}
	d.draw(shape, s)
	d.joints(g, p, s)

	where, name, sentences := "", "", []string{d.texts.Check}
	var chart func(box)
	if g.pages() > 1 {
		where = fill(d.texts.Page, "page", strconv.Itoa(p.row*g.columns+p.column+1), "pages", strconv.Itoa(g.pages())) + " · " +
			fill(d.texts.Place, "column", strconv.Itoa(p.column+1), "row", strconv.Itoa(p.row+1))
		name = tile(p.column, p.row)
		sentences = append(sentences, d.texts.Join)
		chart = func(area box) { d.chart(area, p.view, p.column, p.row) }
	}
	if shape.view.What == "outline" {
		sentences = append(sentences, d.texts.Squares)
	}
	d.head(shape.view.Name, where, d.whose(), name)
	d.foot(chart, sentences...)
}

// whose is the project and its size.
func (d *document) whose() string {
	if d.req.Size == "" {
		return d.req.Title
	}
	return d.req.Title + " · " + d.req.Size
}

// share makes a page of several small drawings, each under its name.
func (d *document) share(blocks []block) {
	sentences := []string{d.texts.Check}
	squares := false
	for _, b := range blocks {
		shape := &d.drawings[b.view]
		d.begins[b.view] = d.pages()
		s := spot{b.at[0] - shape.bounds.left, b.at[1] - shape.bounds.top, box{}}
		s.seen = s.on(shape.bounds)
		d.draw(shape, s)
		d.font("B", tablePt)
		d.color(black)
		d.text(b.at[0], b.at[1]-2, d.short(shape.view.Name, max(shape.bounds.width(), 20)))
		squares = squares || shape.view.What == "outline"
	}
	if squares {
		sentences = append(sentences, d.texts.Squares)
	}
	d.head(d.req.Title, "", d.req.Size, "")
	d.foot(nil, sentences...)
}

// draw draws what is seen of a drawing.
func (d *document) draw(shape *drawing, s spot) {
	d.pdf.ClipRect(s.seen.left, s.seen.top, s.seen.width(), s.seen.height(), false)
	d.pdf.SetLineJoinStyle("round")
	d.pdf.SetLineCapStyle("round")
	both := shape.view.What == "both"
	if shape.photo != nil {
		d.photo(shape, s, both)
	} else {
		d.squares(shape, s)
	}
	if shape.view.What != "photo" {
		for _, ring := range shape.view.RingsMM {
			if both {
				d.stroke(white, casingMM)
				d.ring(ring, s)
			}
			d.stroke(black, outlineMM)
			d.ring(ring, s)
		}
	}
	for _, m := range shape.view.Marks {
		d.mark(m, s)
	}
	for _, w := range shape.words {
		d.word(w, s)
	}
	d.pdf.SetLineCapStyle("butt")
	d.pdf.ClipEnd()
}

// photo shows the named picture where it lies, cropped to the drawing.
func (d *document) photo(shape *drawing, s spot, dim bool) {
	shown := shape.photo.box(shape.matrix).meet(shape.bounds)
	if seen := s.on(shown); shown.empty() || !seen.meets(s.seen) {
		return
	}
	seen := s.on(shown)
	d.pdf.ClipRect(seen.left, seen.top, seen.width(), seen.height(), false)
	if dim {
		d.pdf.SetAlpha(dimmed, "Normal")
	}
	// A picture is 1 x 1 with y upwards (ISO 32000-1, 8.9.5.2), as the page is.
	m, w, h := shape.matrix, float64(shape.photo.width), float64(shape.photo.height)
	d.pdf.RawWriteStr(fmt.Sprintf("q %.5f %.5f %.5f %.5f %.5f %.5f cm /%s Do Q\n",
		perMM*m[0]*w, -perMM*m[3]*w, -perMM*m[1]*h, perMM*m[4]*h,
		perMM*(float64(m[1]*h)+m[2]+s.x), perMM*(d.high-(float64(m[4]*h)+m[5]+s.y)), shape.photo.name))
	if dim {
		d.pdf.SetAlpha(1, "Normal")
	}
	d.pdf.ClipEnd()
}

// squares are lines every 10 mm behind an outline, from its own edges on.
func (d *document) squares(shape *drawing, s spot) {
	const each = 10
	d.stroke(faint, 0.12)
	all := s.on(shape.bounds)
	inner := s.on(shape.inner)
	b := all.meet(s.seen)
	for x := inner.left + float64(each*math.Ceil((b.left-inner.left)/each)); x <= b.right; x += each {
		d.line([2]float64{x, b.top}, [2]float64{x, b.bottom})
	}
	for y := inner.top + float64(each*math.Ceil((b.top-inner.top)/each)); y <= b.bottom; y += each {
		d.line([2]float64{b.left, y}, [2]float64{b.right, y})
	}
}

// ring draws what of a closed line comes near what is seen.
func (d *document) ring(ring [][2]float64, s spot) {
	near := s.seen.around(2 * casingMM)
	drawn := false // up to here
	for i, p := range ring {
		from, to := s.at(p), s.at(ring[(i+1)%len(ring)])
		if !nowhere().add(from, to).meets(near) {
			drawn = false
			continue
		}
		if !drawn {
			d.pdf.MoveTo(from[0], from[1])
		}
		d.pdf.LineTo(to[0], to[1])
		drawn = true
	}
	d.pdf.DrawPath("D")
}

// mark draws a length with a stroke at each end.
func (d *document) mark(m Mark, s spot) {
	from, to := s.at(m.Ends[0]), s.at(m.Ends[1])
	if !nowhere().add(from, to).around(4).meets(s.seen) {
		return
	}
	length, _ := m.along()
	if length == 0 {
		return
	}
	const half = 1.6
	x, y := float64(-(to[1]-from[1])/length*half), float64((to[0]-from[0])/length*half)
	lines := [][2][2]float64{{from, to}}
	for _, p := range [][2]float64{from, to} {
		lines = append(lines, [2][2]float64{{p[0] - x, p[1] - y}, {p[0] + x, p[1] + y}})
	}
	for _, pen := range []struct {
		grey int
		mm   float64
	}{{white, casingMM}, {black, outlineMM}} {
		d.stroke(pen.grey, pen.mm)
		for _, l := range lines {
			d.line(l[0], l[1])
		}
	}
}

// word writes a word with white around it, so that it is read over whatever is there.
func (d *document) word(w word, s spot) {
	d.font("", wordPt)
	width := d.width(w.text)
	at := s.at(w.at)
	if !s.on(w.box(width)).meets(s.seen) {
		return
	}
	d.pdf.TransformBegin()
	d.pdf.TransformRotate(w.turn, at[0], at[1])
	d.outlined(at[0]-float64(width/2), at[1]+rise(wordPt), w.text, black)
	d.pdf.TransformEnd()
}

// outlined writes in a grey, with white around it.
func (d *document) outlined(x, y float64, text string, grey int) {
	d.color(grey)
	d.stroke(white, casingMM)
	d.pdf.SetTextRenderingMode(1)
	d.text(x, y, text)
	d.pdf.SetTextRenderingMode(0)
	d.text(x, y, text)
}

// joints draws where this page meets its neighbours: dashed where it is cut, drawn
// through where the next one is laid on, with match marks that both pages show.
func (d *document) joints(g grid, p page, s spot) {
	here := [2]int{p.column, p.row}
	for _, j := range g.joints(p.column, p.row) {
		for _, pen := range []struct {
			grey int
			mm   float64
		}{{white, 1}, {ink, 0.2}} {
			d.stroke(pen.grey, pen.mm)
			if j.then == here && pen.grey != white {
				d.pdf.SetDashPattern([]float64{2, 1.5}, 0)
			}
			d.line(s.at(j.from), s.at(j.to))
			d.pdf.SetDashPattern([]float64{}, 0)
		}
		for _, m := range j.marks() {
			d.match(j, s.at(m))
		}
	}
}

// match is a diamond with a cross, and the names of the two pages, each on its side.
func (d *document) match(j joint, at [2]float64) {
	x, y := at[0], at[1]
	d.stroke(black, 0.25)
	d.pdf.SetFillColor(white, white, white)
	d.pdf.MoveTo(x-markMM, y)
	d.pdf.LineTo(x, y-markMM)
	d.pdf.LineTo(x+markMM, y)
	d.pdf.LineTo(x, y+markMM)
	d.pdf.ClosePath()
	d.pdf.DrawPath("DF")
	d.line([2]float64{x - markMM, y}, [2]float64{x + markMM, y})
	d.line([2]float64{x, y - markMM}, [2]float64{x, y + markMM})
	d.font("B", 8)
	first, then := tile(j.first[0], j.first[1]), tile(j.then[0], j.then[1])
	if j.upright {
		base := y + markMM + 0.8 + float64(2*rise(8))
		d.outlined(x-0.8-d.width(first), base, first, black)
		d.outlined(x+0.8, base, then, black)
		return
	}
	x += markMM + 1
	d.outlined(x, y-0.9, first, black)
	d.outlined(x, y+0.9+float64(2*rise(8)), then, black)
}
