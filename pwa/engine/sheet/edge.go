package sheet

import "strconv"

// The type of a page's edges, in points.
const (
	namePt  = 15
	labelPt = 10
	smallPt = 9
)

// The two bars to hold a ruler to, in mm: 100 mm and 4 in.
const (
	barMM   = 100
	barIn   = 4 * 25.4
	barHigh = 3.2
)

// foot draws the strip below: the bars, what to do with them, and on the right a map.
func (d *document) foot(chart func(box), sentences ...string) {
	left, top := d.margin, d.high-d.margin-footMM
	d.bar(left, top+6, barMM, 10)
	d.bar(left, top+12, barIn, 8)
	d.font("B", smallPt)
	d.color(black)
	for i, label := range []string{d.texts.BarMM, d.texts.BarIn} {
		d.text(left+barIn+2, top+6+float64(6*float64(i))+barHigh/2+rise(smallPt), d.short(label, 14))
	}
	area := box{left + barIn + 18, top + 4, d.wide - d.margin, d.high - d.margin}
	if chart != nil {
		wide := 22.
		if d.wide > d.high {
			wide = 46
		}
		chart(box{area.right - wide, area.top, area.right, area.bottom})
		area.right -= wide + 5
	}
	d.sentences(area, sentences)
}

// bar is as long from its one black end to its other, in equal parts by turns black
// and white.
func (d *document) bar(x, y, length float64, parts int) {
	d.fill(black, box{x, y, x + length, y + barHigh})
	const edge = 0.3
	part := length / float64(parts)
	for i := 1; i < parts; i += 2 {
		b := box{x + float64(part*float64(i)), y + edge, x + float64(part*float64(i+1)), y + barHigh - edge}
		b.right = min(b.right, x+length-edge)
		d.fill(white, b)
	}
}

// sentences fill an area from the top, in smaller type if they are long.
func (d *document) sentences(area box, sentences []string) {
	for points := smallPt * 1.; ; points -= 0.5 {
		d.font("", points)
		var lines []string
		for _, s := range sentences {
			lines = append(lines, d.wrap(s, area.width())...)
		}
		last := points <= 5
		if float64(len(lines))*leading(points) > area.height() && !last {
			continue
		}
		d.color(ink)
		for i, line := range lines {
			if y := area.top + float64(leading(points)*(float64(i)+0.9)); y <= area.bottom {
				d.text(area.left, y, line)
			}
		}
		return
	}
}

// head draws the strip above: what this page is and where it belongs, and whose.
func (d *document) head(name, where, whose, tile string) {
	y, right := d.margin+6, d.wide-d.margin
	d.color(black)
	d.font("B", namePt)
	if tile != "" {
		d.endingAt(right, y, tile)
		right -= d.width(tile) + 5
	}
	room := right - d.margin
	if where != "" || whose != "" {
		room *= 0.55
	}
	name = d.short(name, room)
	d.text(d.margin, y, name)
	x := d.margin + d.width(name) + 4
	d.color(ink)
	d.font("", labelPt)
	if where != "" {
		where = d.short(where, right-x)
		d.text(x, y, where)
		x += d.width(where) + 8
	}
	if right-x > 15 {
		d.endingAt(right, y, d.short(whose, right-x))
	}
}

// tile is the name of the page in this column and row, from 0: B3, as on a map.
func tile(column, row int) string {
	name := ""
	for n := column + 1; n > 0; n = (n - 1) / 26 {
		name = string(rune('A'+(n-1)%26)) + name
	}
	return name + strconv.Itoa(row+1)
}

// chart draws a view's pages into an area, small, the page at hand (none is -1) dark.
func (d *document) chart(area box, view, column, row int) {
	g, shape := d.grids[view], &d.drawings[view]
	whole := g.whole()
	scale := min(area.width()/whole.width(), area.height()/whole.height())
	left, top := area.right-float64(scale*whole.width()), area.top
	at := func(x, y float64) [2]float64 {
		return [2]float64{left + float64(scale*(x-whole.left)), top + float64(scale*(y-whole.top))}
	}
	for c := range g.columns {
		for r := range g.rows {
			cell := g.cell(c, r)
			from, to := at(cell.left, cell.top), at(cell.right, cell.bottom)
			on := box{from[0], from[1], to[0], to[1]}
			if c == column && r == row {
				d.fill(wash, on)
			}
			d.stroke(thin, 0.2)
			d.pdf.Rect(on.left, on.top, on.width(), on.height(), "D")
		}
	}
	d.stroke(black, 0.25)
	for _, ring := range shape.view.RingsMM {
		d.outlineSmall(ring, at)
	}
	if shape.photo != nil && len(shape.view.RingsMM) == 0 {
		b := shape.inner
		from, to := at(b.left, b.top), at(b.right, b.bottom)
		d.pdf.Rect(from[0], from[1], to[0]-from[0], to[1]-from[1], "D")
	}
	for c := range g.columns {
		for r := range g.rows {
			if cell := g.cell(c, r); g.pages() > 1 {
				from, to := at(cell.left, cell.top), at(cell.right, cell.bottom)
				d.cellName(box{from[0], from[1], to[0], to[1]}, tile(c, r), c == column && r == row)
			}
		}
	}
}

// cellName writes a page's name into its place on a map, where there is room.
func (d *document) cellName(cell box, name string, here bool) {
	points := min(smallPt, 0.5*min(cell.height(), cell.width())/pointMM)
	if points < 5 {
		return
	}
	style, grey := "", ink
	if here {
		style, grey = "B", black
	}
	d.font(style, points)
	d.outlined(cell.left+0.8, cell.top+0.8+float64(2*rise(points)), name, grey)
}

// outlineSmall draws a ring with as many points as a small picture shows.
func (d *document) outlineSmall(ring [][2]float64, at func(x, y float64) [2]float64) {
	step := 1 + len(ring)/300
	for i := 0; i < len(ring); i += step {
		p := at(ring[i][0], ring[i][1])
		if i == 0 {
			d.pdf.MoveTo(p[0], p[1])
		} else {
			d.pdf.LineTo(p[0], p[1])
		}
	}
	d.pdf.ClosePath()
	d.pdf.DrawPath("D")
}

// cell is what a page shows up to its joints, in mm of the drawing.
func (g grid) cell(column, row int) box {
	b := g.window(column, row)
	half := float64(g.overlap / 2)
	if column > 0 {
		b.left += half
	}
	if column < g.columns-1 {
		b.right -= half
	}
	if row > 0 {
		b.top += half
	}
	if row < g.rows-1 {
		b.bottom -= half
	}
	return b
}
