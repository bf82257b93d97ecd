package sheet

import (
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// pointMM is a point of type, 1/72 in, in mm; perMM is how many points a mm has
// (ISO 32000-1, 8.3.2.3).
const (
	pointMM = 25.4 / 72
	perMM   = 72 / 25.4
)

// The greys of the sheet, 0 black to 255 white. What must be read is black.
const (
	black = 0
	ink   = 70  // what stands beside it
	thin  = 130 // lines to fold or fill in
	faint = 205 // lines behind
	wash  = 228 // areas
	white = 255
)

// document is the PDF in the making, the page it is at, and what was found on the way.
type document struct {
	plan
	req        Request
	texts      Texts
	pdf        *fpdf.Fpdf
	wide, high float64 // of the page, mm
	begins     []int   // page of the document on which each view begins, from 1
	lost       []rune  // that no font holds
}

func newDocument(req Request, p paper, made plan) *document {
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: p.wide, Ht: p.high}})
	pdf.SetCatalogSort(true)
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("go", "", slices.Clone(goregular.TTF))
	pdf.AddUTF8FontFromBytes("go", "B", slices.Clone(gobold.TTF))
	d := &document{plan: made, req: req, texts: req.Texts, pdf: pdf, begins: make([]int, len(req.Views))}
	d.font("", wordPt)
	for i := range d.drawings {
		d.drawings[i].write(d.grids[i].seams(), d.width)
	}
	return d
}

func (d *document) pages() int { return d.pdf.PageCount() }

func (d *document) laid() []Laid {
	all := make([]Laid, len(d.grids))
	for i, g := range d.grids {
		all[i] = Laid{d.req.Views[i].Name, g.columns, g.rows, g.landscape, d.begins[i], false, corner(d.drawings[i].bounds), [][4]float64{}}
	}
	for _, p := range d.sheets {
		for _, b := range p.shared {
			all[b.view].Shared = true
		}
		if p.shared == nil {
			all[p.view].Windows = append(all[p.view].Windows, corner(d.grids[p.view].window(p.column, p.row)))
		}
	}
	return all
}

// corner tells of a box its left, top, width and height.
func corner(b box) [4]float64 { return [4]float64{b.left, b.top, b.width(), b.height()} }

// turn begins a new page.
func (d *document) turn(landscape bool) {
	way := "P"
	if landscape {
		way = "L"
	}
	d.pdf.AddPageFormat(way, fpdf.SizeType{Wd: d.paper.wide, Ht: d.paper.high})
	d.wide, d.high = d.paper.size(landscape)
}

// font is regular ("") or bold ("B").
func (d *document) font(style string, points float64) { d.pdf.SetFont("go", style, points) }

func (d *document) color(grey int) { d.pdf.SetTextColor(grey, grey, grey) }

func (d *document) stroke(grey int, mm float64) {
	d.pdf.SetDrawColor(grey, grey, grey)
	d.pdf.SetLineWidth(mm)
}

// fill draws a rectangle without an edge, so that it is as big as it says.
func (d *document) fill(grey int, b box) {
	d.pdf.SetFillColor(grey, grey, grey)
	d.pdf.Rect(b.left, b.top, b.width(), b.height(), "F")
}

func (d *document) line(from, to [2]float64) { d.pdf.Line(from[0], from[1], to[0], to[1]) }

// width of a text in mm.
func (d *document) width(text string) float64 { return d.pdf.GetStringWidth(d.printable(text)) }

// text stands on the line y, from x on.
func (d *document) text(x, y float64, text string) { d.pdf.Text(x, y, d.printable(text)) }

// endingAt writes a text that ends at x.
func (d *document) endingAt(x, y float64, text string) { d.text(x-d.width(text), y, text) }

// short cuts a text that is too wide, and shows that it did.
func (d *document) short(text string, width float64) string {
	if d.width(text) <= width {
		return text
	}
	letters := []rune(text)
	for len(letters) > 0 && d.width(string(letters)+"…") > width {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimRight(string(letters), " ") + "…"
}

// wrap breaks a text into lines between its words, and a word only where it is wider
// than a line.
func (d *document) wrap(text string, width float64) (lines []string) {
	line := ""
	for _, word := range strings.Split(text, " ") {
		if line != "" && d.width(line+" "+word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; d.width(line) > width && len([]rune(line)) > 1; {
			n := d.fits(line, width)
			lines, line = append(lines, string([]rune(line)[:n])), string([]rune(line)[n:])
		}
	}
	return append(lines, line)
}

// fits is how many letters of a word go into a width, one at least.
func (d *document) fits(word string, width float64) int {
	letters := []rune(word)
	n := len(letters)
	for n > 1 && d.width(string(letters[:n])) > width {
		n--
	}
	return n
}

// leading is from line to line, in mm, of type of so many points.
func leading(points float64) float64 { return 1.3 * points * pointMM }

// rise is from the middle of a line's letters down to where they stand, in mm.
func rise(points float64) float64 { return float64(0.36 * points * pointMM) }
