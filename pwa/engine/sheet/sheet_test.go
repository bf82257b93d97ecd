package sheet

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
)

func square(mm float64) [][2]float64 { return [][2]float64{{0, 0}, {mm, 0}, {mm, mm}, {0, mm}} }

func TestRefusals(t *testing.T) {
	num := func(v float64) *float64 { return &v }
	for name, c := range map[string]struct {
		change   func(*Request)
		code, at string
	}{
		"unknown paper":       {func(r *Request) { r.Paper = "A5" }, fault.NotOneOf, "paper"},
		"no title":            {func(r *Request) { r.Title = "" }, fault.BadName, "title"},
		"language":            {func(r *Request) { r.Language = "en) /X (" }, fault.NotOneOf, "language"},
		"margin":              {func(r *Request) { r.MarginMM = num(0) }, fault.OutOfRange, "margin_mm"},
		"overlap":             {func(r *Request) { r.OverlapMM = num(math.NaN()) }, fault.OutOfRange, "overlap_mm"},
		"nothing":             {func(r *Request) { r.Views, r.Parts = nil, nil }, fault.TooFew, "views"},
		"what":                {func(r *Request) { r.Views[0].What = "" }, fault.NotOneOf, "views[0].what"},
		"no outline":          {func(r *Request) { r.Views[0].RingsMM = nil }, fault.MissingField, "views[0].rings_mm"},
		"an empty ring":       {func(r *Request) { r.Views[0].RingsMM[0] = nil }, fault.TooFew, "views[0].rings_mm[0]"},
		"two points":          {func(r *Request) { r.Views[0].RingsMM[0] = square(10)[:2] }, fault.TooFew, "views[0].rings_mm[0]"},
		"size 0":              {func(r *Request) { r.Views[0].RingsMM[0] = square(0) }, fault.OutOfRange, "views[0].rings_mm[0]"},
		"not a number":        {func(r *Request) { r.Views[0].RingsMM[0] = square(math.NaN()) }, fault.OutOfRange, "views[0].rings_mm[0]"},
		"beyond bounds":       {func(r *Request) { r.Views[0].RingsMM[0] = square(1e7) }, fault.OutOfRange, "views[0].rings_mm[0]"},
		"30 m":                {func(r *Request) { r.Views[0].RingsMM[0] = square(30000) }, fault.TooMany, "views"},
		"many points":         {func(r *Request) { r.Views[0].RingsMM[0] = make([][2]float64, MaxPoints+1) }, fault.TooMany, "rings_mm"},
		"no name":             {func(r *Request) { r.Views[0].Name = "" }, fault.BadName, "views[0].name"},
		"no image":            {func(r *Request) { r.Views[1].Image = "" }, fault.MissingField, "views[1].image"},
		"no place":            {func(r *Request) { r.Views[1].Photo = nil }, fault.MissingField, "views[1].photo"},
		"an image not there":  {func(r *Request) { r.Views[1].Image = "other" }, fault.PictureMissing, "other"},
		"a photo of no width": {func(r *Request) { r.Views[1].Photo.WidthMM = 0 }, fault.OutOfRange, "views[1].photo.width_mm"},
		"both places":         {func(r *Request) { r.Views[1].Photo.Matrix = &[9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1} }, fault.ConflictingFields, "views[1].photo"},
		"a tilted photo":      {func(r *Request) { r.Views[1].Photo = &Place{Matrix: &[9]float64{1, 0, 0, 0, 1, 0, 1e-5, 0, 1}} }, fault.OutOfRange, "views[1].photo.matrix"},
		"a flat photo":        {func(r *Request) { r.Views[1].Photo = &Place{Matrix: &[9]float64{1, 1, 0, 1, 1, 0, 0, 0, 1}} }, fault.OutOfRange, "views[1].photo.matrix"},
		"a photo of a km":     {func(r *Request) { r.Views[1].Photo = &Place{Matrix: &[9]float64{1e6, 0, 0, 0, 1, 0, 0, 0, 1}} }, fault.OutOfRange, "views[1]"},
		"a mark far off":      {func(r *Request) { r.Views[0].Marks = []Mark{{Name: "x", Ends: [2][2]float64{{0, 0}, {0, 2e6}}}} }, fault.OutOfRange, "views[0].marks[0].ends"},
		"a label of nothing":  {func(r *Request) { r.Views[0].Labels = []Label{{}} }, fault.BadName, "views[0].labels[0].text"},
		"a part of nothing":   {func(r *Request) { r.Parts[0].Part = "" }, fault.BadName, "parts[0].part"},
		"many parts":          {func(r *Request) { r.Parts = make([]Part, MaxParts+1) }, fault.TooMany, "parts"},
		"a long caution":      {func(r *Request) { r.Cautions = []string{strings.Repeat("x", maxText+1)} }, fault.BadName, "cautions"},
		"a line in a text":    {func(r *Request) { r.Texts.Check = "a\nb" }, fault.BadName, "texts"},
		"many views":          {func(r *Request) { r.Views = make([]View, MaxViews+1) }, fault.TooMany, "views"},
	} {
		req := small()
		c.change(&req)
		_, err := Make(req, files{"photo": grey(t)})
		e, ok := errors.AsType[*fault.Error](err)
		if !ok || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %v, want %s at %s", name, err, c.code, c.at)
		}
	}
	req := small()
	req.Views[0].RingsMM[0] = square(30000)
	if _, err := Make(req, files{"photo": grey(t)}); err == nil || !strings.Contains(err.Error(), " 21878 pages") {
		// 30,006 mm with 3 mm around, in windows 180 x 230 mm apart and 10 mm wider: 167 x 131 upright; 267 x 143 mm
		// apart: 113 x 210 lying, which is more. One page for the photo.
		t.Errorf("the sentence does not tell the number: %v", err)
	}
}

// small is an outline and a photo that each take a page.
func small() Request {
	return Request{Paper: "A4", Title: "Owl", Parts: []Part{{Part: "Head"}}, Views: []View{
		{Name: "Side", What: "outline", RingsMM: [][][2]float64{square(170)}},
		{Name: "Front", What: "photo", Image: "photo", Photo: &Place{WidthMM: 150, HeightMM: 150}},
	}}
}

func grey(t testing.TB) []byte {
	var file bytes.Buffer
	if err := jpeg.Encode(&file, image.NewGray(image.Rect(0, 0, 32, 32)), nil); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func TestTheSameRequestGivesTheSameBytes(t *testing.T) {
	for _, l := range looks() {
		var first []byte
		for range 3 {
			answer, err := Make(l.req, l.photos)
			if err != nil {
				t.Fatal(err)
			}
			if first == nil {
				first = answer.Bytes()
			}
			if !bytes.Equal(first, answer.Bytes()) {
				t.Fatalf("%s came out otherwise the second time", l.name)
			}
		}
		for _, clock := range []string{"CreationDate", "ModDate"} {
			if bytes.Contains(first, []byte(clock)) {
				t.Errorf("%s holds a %s, which only a clock could tell", l.name, clock)
			}
		}
	}
}

func TestMakingLeavesTheRequestAlone(t *testing.T) {
	req, photos := otter(200, "both", "A4")
	before, _ := json.Marshal(req)
	if _, err := Make(req, photos); err != nil {
		t.Fatal(err)
	}
	if after, _ := json.Marshal(req); !bytes.Equal(before, after) {
		t.Error("Make changed what it was given")
	}
}

func TestSmallViewsShareAPage(t *testing.T) {
	req, _ := otter(150, "outline", "A4")
	answer, err := Make(req, files{})
	if err != nil {
		t.Fatal(err)
	}
	if answer.Pages != 2 || !answer.Views[0].Shared || answer.Views[1].FirstPage != 2 || len(answer.Views[0].Windows) != 0 {
		t.Errorf("%d pages, %+v", answer.Pages, answer.Views)
	}
	req, _ = otter(620, "outline", "A4")
	if answer, err = Make(req, files{}); err != nil {
		t.Fatal(err)
	}
	v := answer.Views[0]
	if v.Shared || len(v.Windows) != v.Columns*v.Rows || answer.Views[1].FirstPage != 2+v.Columns*v.Rows {
		t.Errorf("%+v", answer.Views)
	}
}

// An outline's surroundings shrink where that saves a page: 270 mm go onto an A4 page
// of 277 between its margins.
func TestLessWhiteSavesAPage(t *testing.T) {
	req := small()
	req.Views = req.Views[:1]
	req.Views[0].RingsMM[0] = [][2]float64{{0, 0}, {270, 0}, {270, 50}}
	answer, err := Make(req, files{})
	if err != nil || answer.Pages != 2 {
		t.Errorf("%d pages, %v", answer.Pages, err)
	}
}

func TestLettersAreThoseOfTheFonts(t *testing.T) {
	var buffer sfnt.Buffer
	for name, ttf := range map[string][]byte{"regular": goregular.TTF, "bold": gobold.TTF} {
		font, err := sfnt.Parse(ttf)
		if err != nil {
			t.Fatal(err)
		}
		for _, span := range letters {
			for r := span[0]; r <= span[1]; r++ {
				if i, err := font.GlyphIndex(&buffer, r); err != nil || i == 0 {
					t.Errorf("the %s font has no %c (%U)", name, r, r)
				}
			}
		}
	}
	if !slices.IsSortedFunc(letters, func(a, b [2]rune) int { return int(a[0] - b[1]) }) {
		t.Error("the letters are not in order, so some are not found")
	}
}

func TestLettersThatCannotBePrintedAreTold(t *testing.T) {
	for title, want := range map[string]string{"Otter Ünal Ġorġ Ελένη Юлія ½ ⅓ 1\u202f000": "", "Otter 🦦 水 ab\u0301": "🦦水\u0301"} {
		req := small()
		req.Title = title
		answer, err := Make(req, files{"photo": grey(t)})
		if err != nil {
			t.Fatal(err)
		}
		told := ""
		for _, n := range answer.Notes {
			_, told, _ = strings.Cut(n.Text, ": ")
			if n.Code != LettersReplaced {
				t.Errorf("a note of code %s", n.Code)
			}
		}
		if told != want {
			t.Errorf("%q: %q is told, want %q", title, told, want)
		}
	}
}

func TestEveryTextHasAWordOfEnglish(t *testing.T) {
	given := Texts{Care: "Vorsicht"}.orEnglish()
	if given.Care != "Vorsicht" || given.Page != English().Page {
		t.Errorf("%+v", given)
	}
	if text, _ := json.Marshal(English()); strings.Contains(string(text), `""`) {
		t.Errorf("%s", text)
	}
	if got := fill("page {page} of {pages}", "page", "2", "pages", "4"); got != "page 2 of 4" {
		t.Error(got)
	}
}

func TestOtherPicturesArePackedAnew(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 40, 20))
	for i := range m.Pix {
		m.Pix[i] = 0 // clear: white on paper
	}
	m.SetNRGBA(0, 0, color.NRGBA{255, 0, 0, 255})
	var file bytes.Buffer
	if err := png.Encode(&file, m); err != nil {
		t.Fatal(err)
	}
	p, err := read("x", files{"x": file.Bytes()})
	if err != nil {
		t.Fatal(err)
	}
	back, err := jpeg.Decode(bytes.NewReader(p.jpeg))
	if err != nil || p.width != 40 || p.height != 20 {
		t.Fatal(err, p.width, p.height)
	}
	if r, g, b, _ := back.At(30, 10).RGBA(); min(r, g, b) < 0xfa00 {
		t.Errorf("what is clear came out as %x %x %x", r, g, b)
	}
	jpg := grey(t)
	if p, err := read("x", files{"x": jpg}); err != nil || !bytes.Equal(p.jpeg, jpg) || p.space != "DeviceGray" {
		t.Errorf("a whole JPEG was not taken as it is: %v", err)
	}
	if _, err := read("x", files{"x": jpg[:len(jpg)-9]}); err == nil {
		t.Error("a JPEG that was cut short was taken")
	}
}

// FuzzMake holds that no request breaks the engine, and that every refusal has a code.
func FuzzMake(f *testing.F) {
	req, _ := otter(200, "both", "A4")
	for i := range req.Views { // short, since each is tried in many ways
		req.Views[i].RingsMM = [][][2]float64{square(700)}
	}
	text, _ := json.Marshal(req)
	f.Add(text)
	text, _ = json.Marshal(small())
	f.Add(text)
	f.Add([]byte(`{"paper":"Letter","title":"a","views":[{"name":"b","what":"both","image":"c","photo":{"matrix":[1,0,0,0,-1,0,0,0,1]},"rings_mm":[[[0,0],[900,0],[0,1e-9]]]}],"texts":{"check":"{page}"}}`))
	photo := grey(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		var req Request
		if json.Unmarshal(text, &req) != nil {
			t.Skip()
		}
		photos := files{}
		for _, v := range req.Views {
			photos[v.Image] = photo
		}
		answer, err := Make(req, photos)
		if err == nil {
			if !bytes.HasPrefix(answer.Bytes(), []byte("%PDF-1.7\n")) || answer.Pages < 1 {
				t.Errorf("%d pages, and it begins with %.9q", answer.Pages, answer.Bytes())
			}
			return
		}
		if e, ok := errors.AsType[*fault.Error](err); !ok || e.Code == fault.EngineCrashed || !slices.Contains(fault.Codes(), e.Code) {
			t.Errorf("%v", err)
		}
	})
}

// Two views on six pages with photos of 1 MB: what a phone is to do in 3 s, and 5 MB
// at most.
func BenchmarkMake(b *testing.B) {
	req, photos := sixPages(b)
	for b.Loop() {
		answer, err := Make(req, photos)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(answer.Bytes()))/1e6, "MB")
	}
}

// sixPages is a request for two views on six pages, with photos of a megabyte each.
func sixPages(t testing.TB) (Request, files) {
	req, _ := otter(520, "both", "A4")
	photos := files{}
	for i, name := range []string{"side", "front"} {
		ring := smooth([][][2]float64{otterSide, otterFront}[i], []float64{520, 720}[i])
		b := nowhere().add(ring...).around(18)
		req.Views[i].RingsMM, req.Views[i].Photo = [][][2]float64{ring}, &Place{LeftMM: b.left, TopMM: b.top, WidthMM: b.width(), HeightMM: b.height()}
		photos[name] = wool(ring, 6, 18)
		if size := len(photos[name]); size < 9e5 {
			t.Fatalf("the photo of %s is of %d bytes only", name, size)
		}
	}
	return req, photos
}

func TestSixPagesAreSmall(t *testing.T) {
	req, photos := sixPages(t)
	answer, err := Make(req, photos)
	if err != nil {
		t.Fatal(err)
	}
	tiles := 0
	for _, v := range answer.Views {
		tiles += v.Columns * v.Rows
	}
	if tiles != 6 || len(answer.Bytes()) >= 5e6 {
		t.Errorf("%d pages of drawing, %d bytes", tiles, len(answer.Bytes()))
	}
}

// Whatever can be asked for, near to sense or not, is made, or refused as too many
// pages or as 0 mm big.
func TestAnyDrawingIsMade(t *testing.T) {
	photo := grey(t)
	rapid.Check(t, func(t *rapid.T) {
		scale := rapid.SampledFrom([]float64{0.01, 1, 40, 300, 900}).Draw(t, "scale")
		point := rapid.Custom(func(t *rapid.T) [2]float64 {
			return [2]float64{scale * rapid.Float64Range(-1, 1).Draw(t, "x"), scale * rapid.Float64Range(-1, 1).Draw(t, "y")}
		})
		ring := rapid.SliceOfN(point, 3, 9)
		name := rapid.StringMatching(`[A-Za-zäβЖ水🦦 ]{1,40}`)
		view := rapid.Custom(func(t *rapid.T) View {
			v := View{Name: name.Draw(t, "name"), What: rapid.SampledFrom([]string{"photo", "outline", "both"}).Draw(t, "what"), Image: "photo",
				RingsMM: rapid.SliceOfN(ring, 1, 4).Draw(t, "rings")}
			m := rapid.SliceOfN(rapid.Float64Range(-scale, scale), 6, 6).Draw(t, "matrix")
			v.Photo = &Place{Matrix: &[9]float64{m[0], m[1], m[2], m[3], m[4], m[5], 0, 0, 1}}
			for range rapid.IntRange(0, 5).Draw(t, "marks") {
				v.Marks = append(v.Marks, Mark{name.Draw(t, "mark"), [2][2]float64{point.Draw(t, "from"), point.Draw(t, "to")}, name.Draw(t, "text")})
				v.Labels = append(v.Labels, Label{name.Draw(t, "label"), point.Draw(t, "at")})
			}
			return v
		})
		req := Request{Paper: rapid.SampledFrom([]string{"A4", "Letter"}).Draw(t, "paper"), Title: name.Draw(t, "title"), Views: rapid.SliceOfN(view, 1, 4).Draw(t, "views")}
		answer, err := Make(req, files{"photo": photo})
		if e, ok := errors.AsType[*fault.Error](err); ok && (e.Code == fault.TooMany || e.Code == fault.OutOfRange && strings.Contains(e.Text, " 0 mm big")) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.HasSuffix(answer.Bytes(), []byte("%%EOF\n")) || len(answer.Views) != len(req.Views) {
			t.Fatalf("%d bytes, %+v", len(answer.Bytes()), answer.Views)
		}
		for _, v := range answer.Views {
			if v.FirstPage < 2 || v.FirstPage > answer.Pages {
				t.Fatalf("%+v of %d pages", v, answer.Pages)
			}
		}
	})
}

// A photo as high as the frame of a page is put on one page.
func TestAPhotoThatJustFits(t *testing.T) {
	req := small()
	req.Views = req.Views[1:]
	req.Views[0].Photo = &Place{WidthMM: 190, HeightMM: 240}
	if answer, err := Make(req, files{"photo": grey(t)}); err != nil || answer.Pages != 2 {
		t.Errorf("%d pages, %v", answer.Pages, err)
	}
}
