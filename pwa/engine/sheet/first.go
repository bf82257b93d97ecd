package sheet

// The type of the first page, in points.
const (
	titlePt = 26
	sizePt  = 13
	tablePt = 11
)

// first makes the page before the drawings, and as many more as its table needs: what
// is made, whose it is, its pages, proportions and cautions.
func (d *document) first() {
	d.turn(false)
	d.foot(nil, d.texts.First, d.texts.Check)
	y := d.titled(d.margin)
	y = d.maps(y)
	y = d.table(y)
	d.cautions(y)
}

// bottom is where a page of text ends.
func (d *document) bottom() float64 { return d.high - d.margin - footMM - 2 }

// more goes on to another page where less than so many mm are left, and returns where.
func (d *document) more(y, need float64) (float64, bool) {
	if y+need <= d.bottom() {
		return y, false
	}
	d.turn(false)
	d.font("B", namePt)
	room := d.wide - float64(2*d.margin) - d.width(fill(d.texts.More, "title", ""))
	d.head(fill(d.texts.More, "title", d.short(d.req.Title, room)), "", "", "")
	d.foot(nil, d.texts.Check)
	return d.margin + headMM + 3, true
}

// titled writes the title, however long, its size, the date, and a line for a name.
func (d *document) titled(y float64) float64 {
	left, right := d.margin, d.wide-d.margin
	points := titlePt * 1.
	var lines []string
	for ; ; points -= 2 {
		d.font("B", points)
		lines = d.wrap(d.req.Title, right-left)
		if len(lines) <= 2 || points <= 10 {
			break
		}
	}
	d.color(black)
	for _, line := range lines {
		y += float64(leading(points) * 0.9)
		d.text(left, y, line)
	}
	d.font("", sizePt)
	d.color(ink)
	if d.req.Size != "" || d.req.Date != "" {
		y += leading(sizePt) + 1
		date := d.short(d.req.Date, (right-left)/2)
		d.endingAt(right, y, date)
		d.text(left, y, d.short(d.req.Size, right-left-d.width(date)-5))
	}
	y += 15
	d.font("", labelPt)
	d.text(left, y, d.texts.Whose)
	d.stroke(thin, 0.2)
	d.line([2]float64{left + d.width(d.texts.Whose) + 3, y + 0.8}, [2]float64{min(left+110, right), y + 0.8})
	return y + 12
}

// maps shows how the pages of each view lie together.
func (d *document) maps(y float64) float64 {
	const wide, high, gap = 56., 40., 9.
	left := d.margin
	for i := range d.grids {
		if left+wide > d.wide-d.margin || i == 0 {
			if i > 0 {
				y += high + 14
			}
			left = d.margin
			y, _ = d.more(y, high+14)
		}
		d.font("B", labelPt)
		d.color(black)
		d.text(left, y+2.5, d.short(d.req.Views[i].Name, wide))
		d.chartAt(box{left, y + 6, left + wide, y + 6 + high}, i)
		left += wide + gap
	}
	if len(d.grids) > 0 {
		y += high + 18
	}
	return y
}

// chartAt draws a map of a view's pages at the left of an area.
func (d *document) chartAt(area box, view int) {
	whole := d.grids[view].whole()
	area.right = area.left + min(area.width(), area.height()*whole.width()/whole.height())
	d.chart(area, view, -1, -1)
}

// column is one of the table's.
type column struct {
	title string
	at    float64 // its left edge, or its right one if ends
	wide  float64
	ends  bool
	bold  bool
	cell  func(Part) string
}

// columns leave out what no part has.
func (d *document) columns() []column {
	left, right := d.margin, d.wide-d.margin
	const yours, figures = 30, 32
	all := []column{{title: d.texts.Yours, at: right, wide: yours, ends: true, cell: func(Part) string { return "" }}}
	edge := right - yours - 4
	add := func(title string, bold bool, cell func(Part) string) {
		for _, p := range d.req.Parts {
			if cell(p) != "" {
				all = append(all, column{title, edge, figures - 4, true, bold, cell})
				edge -= figures
				return
			}
		}
	}
	add(d.texts.Finished, true, func(p Part) string { return p.Size })
	add(d.texts.Units, false, func(p Part) string { return p.Units })
	return append(all, column{d.texts.Part, left, edge - left - 4, false, false, func(p Part) string { return p.Part }})
}

// table writes the parts, one a line, with room to write down what hers measures.
func (d *document) table(y float64) float64 {
	if len(d.req.Parts) == 0 {
		return y
	}
	columns := d.columns()
	const high = 7.2
	y, _ = d.more(y, 3*high)
	y = d.titles(columns, y)
	for _, p := range d.req.Parts {
		last := len(columns) - 1 // the part's name, which takes as many lines as it needs
		d.font("", tablePt)
		lines := d.wrap(p.Part, columns[last].wide)
		tall := high + float64(leading(tablePt)*float64(len(lines)-1))
		below, turned := d.more(y, tall)
		if y = below; turned {
			y = d.titles(columns, y)
		}
		base := y + high/2 + rise(tablePt)
		for _, c := range columns[:last] {
			d.cell(c, base, tablePt, black, c.bold, c.cell(p))
		}
		for i, line := range lines {
			d.cell(columns[last], base+float64(leading(tablePt)*float64(i)), tablePt, black, false, line)
		}
		y += tall
		d.stroke(faint, 0.15)
		d.line([2]float64{d.margin, y}, [2]float64{d.wide - d.margin, y})
	}
	return y + 10
}

// titles writes what the columns hold.
func (d *document) titles(columns []column, y float64) float64 {
	for _, c := range columns {
		d.cell(c, y+3, smallPt, ink, false, c.title)
	}
	y += 5.5
	d.stroke(black, 0.3)
	d.line([2]float64{d.margin, y}, [2]float64{d.wide - d.margin, y})
	return y
}

func (d *document) cell(c column, y, points float64, grey int, bold bool, text string) {
	style := ""
	if bold {
		style = "B"
	}
	d.font(style, points)
	d.color(grey)
	text = d.short(text, c.wide)
	if c.ends {
		d.endingAt(c.at, y, text)
	} else {
		d.text(c.at, y, text)
	}
}

// cautions are written in full, whatever it takes.
func (d *document) cautions(y float64) {
	if len(d.req.Cautions) == 0 {
		return
	}
	for i, sentence := range d.req.Cautions {
		d.font("", tablePt)
		lines := d.wrap(sentence, d.wide-float64(2*d.margin)-6)
		need := float64(leading(tablePt) * float64(len(lines)))
		if i == 0 {
			y, _ = d.more(y, 9+need)
			d.font("B", sizePt)
			d.color(black)
			d.text(d.margin, y+4, d.texts.Care)
			y += 9
		}
		y, _ = d.more(y, need)
		d.fill(black, box{d.margin, y + 1.6, d.margin + 1.6, y + 3.2})
		for _, line := range lines {
			d.font("", tablePt)
			d.color(black)
			d.text(d.margin+6, y+float64(leading(tablePt)*0.75), line)
			y += leading(tablePt)
		}
		y += 1.5
	}
}
