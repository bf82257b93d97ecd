package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// What is printed is measured in what two renderers that know nothing of each other
// make of it: Poppler's and MuPDF's, at 600 dots an inch.
const (
	dpi  = 600
	dots = dpi / 25.4 // a mm
)

// run runs a program that reads PDF. It must be there, and find nothing to warn of.
func run(t *testing.T, program string, args ...string) string {
	t.Helper()
	var out, complaints bytes.Buffer
	cmd := exec.Command(program, args...)
	cmd.Stdout, cmd.Stderr = &out, &complaints
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %v: %v %s (the Debian packages are poppler-utils, mupdf-tools and qpdf)", program, args, err, complaints.String())
	}
	if complaints.Len() > 0 || strings.Contains(strings.ToLower(out.String()), "warning") {
		t.Fatalf("%s %v warns: %s%s", program, args, complaints.String(), out.String())
	}
	return out.String()
}

// printed is a page as a renderer shows it, in greys.
type printed struct {
	wide, high int
	pix        []byte
}

// renderers make a grey picture (PGM) of a page, from 1.
var renderers = map[string]func(t *testing.T, pdf, out string, page int){
	"poppler": func(t *testing.T, pdf, out string, page int) {
		n := strconv.Itoa(page)
		run(t, "pdftoppm", "-r", strconv.Itoa(dpi), "-gray", "-f", n, "-l", n, "-singlefile", pdf, strings.TrimSuffix(out, ".pgm"))
	},
	"mupdf": func(t *testing.T, pdf, out string, page int) {
		run(t, "mutool", "draw", "-q", "-N", "-r", strconv.Itoa(dpi), "-c", "gray", "-F", "pgm", "-o", out, pdf, strconv.Itoa(page))
	},
}

// render shows one page of a document.
func render(t *testing.T, renderer, pdf string, page int) printed {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page.pgm")
	renderers[renderer](t, pdf, out, page)
	file, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	os.Remove(out)
	head := regexp.MustCompile(`^P5\s+(?:#[^\n]*\n\s*)?(\d+)\s+(\d+)\s+255\s`).FindSubmatch(file)
	if head == nil {
		t.Fatalf("%s made no picture: %.40q", renderer, file)
	}
	p := printed{pix: file[len(head[0]):]}
	p.wide, _ = strconv.Atoi(string(head[1]))
	p.high, _ = strconv.Atoi(string(head[2]))
	if len(p.pix) != p.wide*p.high {
		t.Fatalf("%s made %d bytes of %d x %d", renderer, len(p.pix), p.wide, p.high)
	}
	return p
}

// dark is how dark it is at a point in mm, 0 to 1.
func (p printed) dark(x, y float64) float64 {
	px, py := int(x*dots), int(y*dots)
	if px < 0 || py < 0 || px >= p.wide || py >= p.high {
		return 0
	}
	return 1 - float64(p.pix[py*p.wide+px])/255
}

// first finds where it first is dark on the way between two points in mm, to a part
// of a dot: how far from the start.
func (p printed) first(fromX, fromY, toX, toY float64) (float64, bool) {
	length := math.Hypot(toX-fromX, toY-fromY)
	const step = 0.25 / dots
	for s := 0.; s <= length; s += step {
		if p.dark(fromX+(toX-fromX)*s/length, fromY+(toY-fromY)*s/length) > 0.5 {
			return s, true
		}
	}
	return 0, false
}

// line finds the middle of the first dark line between two points on one height or
// one upright, in mm of the page.
func (p printed) line(t *testing.T, fromX, fromY, toX, toY float64) float64 {
	t.Helper()
	s, ok := p.first(fromX, fromY, toX, toY)
	if !ok {
		t.Fatalf("no line between %v, %v and %v, %v", fromX, fromY, toX, toY)
	}
	length := math.Hypot(toX-fromX, toY-fromY)
	x, y := (toX-fromX)/length, (toY-fromY)/length
	end := s
	for p.dark(fromX+x*end, fromY+y*end) > 0.5 && end < length {
		end += 0.25 / dots
	}
	if x != 0 {
		return fromX + x*(s+end)/2
	}
	return fromY + y*(s+end)/2
}

// write makes a document and puts it into a file.
func write(t *testing.T, req Request, photos files) (string, Response) {
	t.Helper()
	answer, err := Make(req, photos)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(path, answer.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path, answer
}

func near1(t *testing.T, what string, got, want, off float64) {
	t.Helper()
	if !(math.Abs(got-want) <= off) {
		t.Errorf("%s is %.3f mm, want %.1f to %.2f", what, got, want, off)
	}
}

// bars measures both bars from their one end to the other. A page's left margin and
// its foot are white but for them, so they are the first dark from the left and the
// last before their words.
func bars(t *testing.T, p printed, margin float64, what string) {
	t.Helper()
	high := float64(p.high) / dots
	foot := high - margin - footMM
	for i, want := range []float64{100, 101.6} {
		y := foot + 6 + 6*float64(i) + barHigh/2
		from, ok := p.first(margin-4, y, margin+4, y)
		to, ok2 := p.first(margin+103, y, margin+90, y)
		if !ok || !ok2 {
			t.Errorf("%s: no bar %d", what, i)
			continue
		}
		near1(t, fmt.Sprintf("%s: bar %d", what, i), margin+103-to-(margin-4+from), want, 0.1)
	}
}

// rectangle is a request for one rectangle's outline with a mark inside.
func rectangle(paper string, wide, high float64) Request {
	return Request{Paper: paper, Title: "Rectangle", Views: []View{{Name: "Side", What: "outline",
		RingsMM: [][][2]float64{{{7, -3}, {7 + wide, -3}, {7 + wide, high - 3}, {7, high - 3}}},
		Marks:   []Mark{{Name: "Length", Ends: [2][2]float64{{17, high/2 - 3}, {107, high/2 - 3}}}}}}}
}

func TestARectangleComesOutAtItsSize(t *testing.T) {
	for _, paper := range []string{"A4", "Letter"} {
		pdf, answer := write(t, rectangle(paper, 120, 80), nil)
		if answer.Pages != 2 {
			t.Fatalf("%d pages", answer.Pages)
		}
		for renderer := range renderers {
			what := paper + ", " + renderer
			bars(t, render(t, renderer, pdf, 1), MarginMM, what+", page 1")
			p := render(t, renderer, pdf, 2)
			bars(t, p, MarginMM, what+", page 2")
			// From the middle of the drawing, off the mark's line, outwards; nothing else
			// is dark there. A line's middle is the outline.
			w := answer.Views[0].Windows[0]
			x, y := MarginMM+7+60-w[0], MarginMM+headMM+40-3+25-w[1]
			left, right := p.line(t, x, y, x-80, y), p.line(t, x, y, x+80, y)
			near1(t, what+": the rectangle across", right-left, 120, 0.2)
			top, bottom := p.line(t, x+54, y-5, x+54, y-95), p.line(t, x+54, y, x+54, y+55) // beside the mark
			near1(t, what+": the rectangle down", bottom-top, 80, 0.2)
			// The mark's ends, 1 mm above its line.
			y = MarginMM + headMM + 40 - 3 - 1 - w[1]
			near1(t, what+": the mark", p.line(t, x+45+2, y, x+30, y)-p.line(t, x-50-2, y, x-30, y), 90, 0.2)
		}
	}
}

// cross finds the middle of a match mark near a point: its lines are the longest
// dark ones that go through it.
func (p printed) cross(x, y float64) (float64, float64) {
	best := func(across func(d, along float64) float64) float64 {
		from, to, most := 0., 0., 0.
		for d := -2.; d <= 2; d += 1 / dots {
			sum := 0.
			for along := -2.; along <= 2; along += 1 / dots {
				sum += across(d, along)
			}
			switch {
			case sum > most*1.02:
				from, to, most = d, d, sum
			case sum > most*0.98:
				to = d
			}
		}
		return (from + to) / 2
	}
	return x + best(func(d, along float64) float64 { return p.dark(x+d, y+along) }),
		y + best(func(d, along float64) float64 { return p.dark(x+along, y+d) })
}

// A rectangle over several pages: what is on each, put together at the match marks as
// they are found on the pages, is as big as it should be.
func TestTilesMatchAtTheirMarks(t *testing.T) {
	req := rectangle("A4", 440, 260)
	req.Views[0].Marks = nil
	pdf, answer := write(t, req, nil)
	v := answer.Views[0]
	if v.Columns != 2 || v.Rows != 2 || !v.Landscape {
		t.Fatalf("%+v", v)
	}
	const half = OverlapMM / 2
	wide, high := v.Windows[0][2], v.Windows[0][3]
	left, top := float64(MarginMM), float64(MarginMM+headMM)
	for renderer := range renderers {
		var pages []printed // row by row
		for i := range 4 {
			p := render(t, renderer, pdf, v.FirstPage+i)
			bars(t, p, MarginMM, fmt.Sprintf("%s, page %d", renderer, v.FirstPage+i))
			pages = append(pages, p)
		}
		type point struct{ x, y float64 }
		mark := func(page int, x, y float64) point {
			mx, my := pages[page].cross(x, y)
			return point{mx, my}
		}
		// Across: the upright joint of each row, found on both its pages, upper and lower mark.
		for row := range 2 {
			a, b := 2*row, 2*row+1
			var one, other [2]point
			for i, share := range []float64{0.25, 0.75} {
				one[i], other[i] = mark(a, left+wide-half, top+share*high), mark(b, left+half, top+share*high)
			}
			near1(t, fmt.Sprintf("%s, row %d: how much closer the marks lie on one page", renderer, row+1),
				math.Hypot(one[1].x-one[0].x, one[1].y-one[0].y)-math.Hypot(other[1].x-other[0].x, other[1].y-other[0].y), 0, 0.1)
			// The rectangle's side on this row's pages, and where it crosses the joint on both.
			edge := top + high - 20
			if row == 1 {
				edge = top + 20
			}
			from := pages[a].line(t, left+1, edge, left+wide, edge)
			to := pages[b].line(t, left+wide-1, edge, left, edge)
			near1(t, fmt.Sprintf("%s, row %d: across two pages", renderer, row+1), one[0].x-from+to-other[0].x, 440, 0.2)
			crossing := func(p printed, x float64) float64 {
				if row == 0 {
					return p.line(t, x, top+1, x, top+high-half-1)
				}
				return p.line(t, x, top+high-1, x, top+half+1)
			}
			near1(t, fmt.Sprintf("%s, row %d: the line's step at the joint", renderer, row+1),
				(crossing(pages[a], one[0].x+2)-one[0].y)-(crossing(pages[b], other[0].x+2)-other[0].y), 0, 0.1)
		}
		for column := range 2 {
			a, b := column, column+2
			x := left + 0.25*wide
			one, other := mark(a, x, top+high-half), mark(b, x, top+half)
			edge := left + wide - 30
			if column == 1 {
				edge = left + 30
			}
			from := pages[a].line(t, edge, top+1, edge, top+high)
			to := pages[b].line(t, edge, top+high-1, edge, top)
			near1(t, fmt.Sprintf("%s, column %d: down two pages", renderer, column+1), one.y-from+to-other.y, 260, 0.2)
		}
	}
}

// A photo with a black patch lies where its place says, as it is, turned and mirrored.
func TestAPhotoLiesWhereItShould(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 400, 200))
	for y := range 200 {
		for x := range 400 {
			c := color.RGBA{255, 255, 255, 255}
			if x >= 40 && x < 140 && y >= 24 && y < 56 {
				c = color.RGBA{0, 0, 0, 255}
			}
			m.Set(x, y, c)
		}
	}
	var file bytes.Buffer
	if err := jpeg.Encode(&file, m, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	for name, place := range map[string]Place{
		"as it is": {LeftMM: -20, TopMM: 5, WidthMM: 160, HeightMM: 80},
		"turned":   {Matrix: &[9]float64{0, -0.5, 30, 0.4, 0, 10, 0, 0, 1}},
		"mirrored": {Matrix: &[9]float64{-0.4, 0, 3, 0, 0.5, -7, 0, 0, 1}},
	} {
		pdf, answer := write(t, Request{Paper: "A4", Title: "Patch", Views: []View{{Name: "Side", What: "photo", Image: "patch", Photo: &place}}}, files{"patch": file.Bytes()})
		w := answer.Views[0].Windows[0]
		matrix := (&photo{width: 400, height: 200}).matrix(&place)
		if place.Matrix == nil && matrix != [6]float64{0.4, 0, -20, 0, 0.4, 5} {
			t.Fatal(matrix)
		}
		want := nowhere()
		for _, c := range [][2]float64{{40, 24}, {140, 56}} {
			want = want.add([2]float64{matrix[0]*c[0] + matrix[1]*c[1] + matrix[2] - w[0] + MarginMM, matrix[3]*c[0] + matrix[4]*c[1] + matrix[5] - w[1] + MarginMM + headMM})
		}
		for renderer := range renderers {
			p := render(t, renderer, pdf, answer.Views[0].FirstPage)
			x, y := (want.left+want.right)/2, (want.top+want.bottom)/2
			if p.dark(x, y) < 0.5 {
				t.Errorf("%s, %s: the patch is not at %v", name, renderer, want)
				continue
			}
			out := func(toX, toY float64) float64 { // to where it ends: the first white
				s := 0.
				length := math.Hypot(toX-x, toY-y)
				for s < length && p.dark(x+(toX-x)*s/length, y+(toY-y)*s/length) > 0.5 {
					s += 0.25 / dots
				}
				return s
			}
			got := box{x - out(want.left-5, y), y - out(x, want.top-5), x + out(want.right+5, y), y + out(x, want.bottom+5)}
			for i, d := range []float64{got.left - want.left, got.top - want.top, got.right - want.right, got.bottom - want.bottom} {
				near1(t, fmt.Sprintf("%s, %s: how far edge %d is off", name, renderer, i), d, 0, 0.2)
			}
		}
	}
}

// Every reader is content with every document, and finds in it what was put in.
func TestReadersAreContent(t *testing.T) {
	sizes := map[string][2]float64{ // in points of 1/72 in
		"A4":     {210 / 25.4 * 72, 297 / 25.4 * 72}, // ISO 216
		"Letter": {8.5 * 72, 11 * 72},                // ASME Y14.1
	}
	for _, l := range looks() {
		pdf, answer := write(t, l.req, l.photos)
		run(t, "qpdf", "--check", pdf)
		run(t, "mutool", "info", pdf)
		info := run(t, "pdfinfo", pdf)
		if !strings.Contains(info, fmt.Sprintf("Pages:           %d\n", answer.Pages)) || !strings.Contains(info, "Title:           "+l.req.Title+"\n") {
			t.Errorf("%s: pdfinfo says %s", l.name, info)
		}
		checkObjects(t, l, pdf, answer.Pages, sizes[l.req.Paper])
		for page := 1; page <= answer.Pages; page++ {
			checkWords(t, l.name, pdf, page)
		}
	}
}

// checkObjects reads the document's objects with qpdf.
func checkObjects(t *testing.T, l look, pdf string, pages int, size [2]float64) {
	t.Helper()
	var made struct {
		QPDF []json.RawMessage `json:"qpdf"`
	}
	if err := json.Unmarshal([]byte(run(t, "qpdf", "--json", "--json-key=qpdf", pdf)), &made); err != nil || len(made.QPDF) != 2 {
		t.Fatal(err)
	}
	var objects map[string]struct {
		Value  any `json:"value"`
		Stream struct {
			Dict map[string]any `json:"dict"`
		} `json:"stream"`
	}
	if err := json.Unmarshal(made.QPDF[1], &objects); err != nil {
		t.Fatal(err)
	}
	images, found, catalogs := []string{}, 0, 0
	for name, o := range objects {
		if o.Stream.Dict["/Subtype"] == "/Image" {
			images = append(images, strings.Fields(strings.TrimPrefix(name, "obj:"))[0])
		}
		dict, _ := o.Value.(map[string]any)
		if _, ok := dict["/UserUnit"]; ok {
			t.Errorf("%s: %s has a UserUnit", l.name, name)
		}
		switch dict["/Type"] {
		case "/Catalog":
			catalogs++
			viewer, _ := dict["/ViewerPreferences"].(map[string]any)
			if viewer["/PrintScaling"] != "/None" || dict["/Lang"] != "u:en" {
				t.Errorf("%s: the catalog is %v", l.name, dict)
			}
		case "/Page":
			found++
			media, _ := dict["/MediaBox"].([]any)
			if len(media) != 4 {
				media = []any{0., 0., size[0], size[1]} // as the root of the pages has it
			}
			wide, high := media[2].(float64), media[3].(float64)
			if math.Abs(min(wide, high)-size[0]) > 0.01 || math.Abs(max(wide, high)-size[1]) > 0.01 {
				t.Errorf("%s: a page is %v x %v points", l.name, wide, high)
			}
		case "/Pages":
			media, _ := dict["/MediaBox"].([]any)
			if len(media) != 4 || math.Abs(media[2].(float64)-size[0]) > 0.01 || math.Abs(media[3].(float64)-size[1]) > 0.01 {
				t.Errorf("%s: the pages are %v points", l.name, media)
			}
		}
	}
	if found != pages || catalogs != 1 || len(images) != len(l.photos) {
		t.Errorf("%s: %d pages, %d catalogs, %d pictures for %d photos", l.name, found, catalogs, len(images), len(l.photos))
	}
	kept := map[string]bool{}
	for _, number := range images {
		kept[run(t, "qpdf", "--show-object="+number, "--raw-stream-data", pdf)] = true
	}
	for name, file := range l.photos {
		if !kept[string(file)] {
			t.Errorf("%s: the photo %s is not in it as it was", l.name, name)
		}
	}
}

var wordBox = regexp.MustCompile(`<word xMin="([0-9.-]+)" yMin="([0-9.-]+)" xMax="([0-9.-]+)" yMax="([0-9.-]+)">(.*)</word>`)

// checkWords holds that no words of a page lie over each other or beyond the margin.
func checkWords(t *testing.T, what, pdf string, page int) {
	t.Helper()
	n := strconv.Itoa(page)
	text := run(t, "pdftotext", "-bbox", "-f", n, "-l", n, pdf, "-")
	size := regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`).FindStringSubmatch(text)
	wide, _ := strconv.ParseFloat(size[1], 64)
	high, _ := strconv.ParseFloat(size[2], 64)
	const margin = (MarginMM - 0.5) * perMM
	var boxes []box
	var words []string
	for _, m := range wordBox.FindAllStringSubmatch(text, -1) {
		var v [4]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(m[1+i], 64)
		}
		b := box{v[0], v[1], v[2], v[3]}
		if b.left < margin || b.top < margin || b.right > wide-margin || b.bottom > high-margin {
			t.Errorf("%s, page %d: %q at %v leaves the printable part", what, page, m[5], b)
		}
		// A word's box has room above and below its letters.
		b.top, b.bottom = b.top+0.25*b.height(), b.bottom-0.2*b.height()
		for i, o := range boxes {
			if both := b.meet(o); !both.empty() && both.width() > 0.5 && both.height() > 0.5 {
				t.Errorf("%s, page %d: %q lies over %q, at %v", what, page, m[5], words[i], both)
			}
		}
		boxes, words = append(boxes, b), append(words, m[5])
	}
	if len(words) < 10 {
		t.Errorf("%s, page %d has %d words", what, page, len(words))
	}
}

// A name in Latin, Greek and Cyrillic letters can be read, and found, in the document.
func TestNamesCanBeRead(t *testing.T) {
	req := small()
	req.Title = "Ünsal’s Ελένη and Юлія, ½"
	req.Views[1].Name = "Перед"
	pdf, answer := write(t, req, files{"photo": grey(t)})
	text := run(t, "pdftotext", "-raw", pdf, "-")
	for _, want := range []string{req.Title, "Перед", "100 mm", "4 in", "Head"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not found in %s", want, text)
		}
	}
	if strings.Count(text, "100 mm") != answer.Pages {
		t.Errorf("not every page has a bar of 100 mm: %s", text)
	}
	req, photos := otter(620, "both", "A4")
	pdf, _ = write(t, req, photos)
	text = run(t, "pdftotext", "-raw", pdf, "-")
	for _, want := range []string{"page 2 of 6 · column 2, row 1", "page 6 of 6 · column 3, row 2"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not found in %s", want, text)
		}
	}
	if !slices.Contains(strings.Fields(text), "B2") {
		t.Error("no page is called B2")
	}
}
