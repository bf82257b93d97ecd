package sheet

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"unicode"
	"unicode/utf8"

	"needlesight/pwa/engine/fault"
)

// maxMM is the furthest a point may lie from the origin, in mm: a kilometre.
const maxMM = 1e6

// maxText is the most bytes of a sentence.
const maxText = 600

var language = regexp.MustCompile(`^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}$`)

// check refuses what cannot be printed, and fills in what was left out.
func check(req *Request) (paper, error) {
	p, ok := papers[req.Paper]
	if !ok {
		return p, fault.New(fault.NotOneOf, "paper", "paper is %.40q, and must be A4 or Letter.", req.Paper)
	}
	if err := fault.Name("title", req.Title); err != nil {
		return p, err
	}
	if req.Language == "" {
		req.Language = "en"
	}
	if !language.MatchString(req.Language) {
		return p, fault.New(fault.NotOneOf, "language", "language is %.40q, and must be a tag like en or pt-BR.", req.Language)
	}
	if err := checkEdges(req); err != nil {
		return p, err
	}
	if err := checkTexts(req); err != nil {
		return p, err
	}
	req.Texts = req.Texts.orEnglish()
	if len(req.Views)+len(req.Parts) == 0 {
		return p, fault.New(fault.TooFew, "views", "There is neither a view nor a part, so there is nothing to print.")
	}
	return p, checkViews(req.Views)
}

func checkEdges(req *Request) error {
	margin, overlap := float64(MarginMM), float64(OverlapMM)
	if req.MarginMM != nil {
		margin = *req.MarginMM
	}
	if req.OverlapMM != nil {
		overlap = *req.OverlapMM
	}
	req.MarginMM, req.OverlapMM = &margin, &overlap
	if err := fault.Between("margin_mm", margin, MinMarginMM, MaxMarginMM); err != nil {
		return err
	}
	return fault.Between("overlap_mm", overlap, MinOverlapMM, MaxOverlapMM)
}

func checkTexts(req *Request) error {
	if err := most("parts", len(req.Parts), MaxParts); err != nil {
		return err
	}
	if err := most("cautions", len(req.Cautions), MaxNotes); err != nil {
		return err
	}
	for i, p := range req.Parts {
		at := fmt.Sprintf("parts[%d]", i)
		if err := fault.Name(at+".part", p.Part); err != nil {
			return err
		}
		if err := sentences(at, p.Units, p.Size); err != nil {
			return err
		}
	}
	if err := sentences("cautions", req.Cautions...); err != nil {
		return err
	}
	words := reflect.ValueOf(req.Texts)
	for i := range words.NumField() {
		if err := sentences("texts", words.Field(i).String()); err != nil {
			return err
		}
	}
	return sentences("title", req.Size, req.Date)
}

// sentences refuses texts that are too long, not UTF-8 or hold control characters.
func sentences(at string, texts ...string) error {
	for _, text := range texts {
		if len(text) > maxText || !utf8.ValidString(text) {
			return fault.New(fault.BadName, at, "A text in %s is longer than %d bytes, or not written in UTF-8.", at, maxText)
		}
		for _, r := range text {
			if unicode.IsControl(r) {
				return fault.New(fault.BadName, at, "A text in %s holds a control character, which cannot be printed.", at)
			}
		}
	}
	return nil
}

func most(at string, number, limit int) error {
	if number > limit {
		return fault.New(fault.TooMany, at, "%s holds %d, and at most %d are printed.", at, number, limit)
	}
	return nil
}

func checkViews(views []View) error {
	if err := most("views", len(views), MaxViews); err != nil {
		return err
	}
	points := 0
	for i := range views {
		v, at := &views[i], fmt.Sprintf("views[%d]", i)
		if err := fault.Name(at+".name", v.Name); err != nil {
			return err
		}
		if err := v.checkWhat(at); err != nil {
			return err
		}
		if err := v.checkRings(at, &points); err != nil {
			return err
		}
		if err := v.checkWords(at); err != nil {
			return err
		}
	}
	return nil
}

func (v *View) checkWhat(at string) error {
	switch v.What {
	case "photo", "outline", "both":
	default:
		return fault.New(fault.NotOneOf, at+".what", "%s.what is %.40q, and must be photo, outline or both.", at, v.What)
	}
	if v.What != "photo" && len(v.RingsMM) == 0 {
		return fault.New(fault.MissingField, at+".rings_mm", "%.60s has no outline to print: trace one, or print the photo.", v.Name)
	}
	if v.What == "outline" {
		return nil
	}
	if v.Image == "" {
		return fault.New(fault.MissingField, at+".image", "%.60s has no photo to print: choose one, or print the outline only.", v.Name)
	}
	if v.Photo == nil {
		return fault.New(fault.MissingField, at+".photo", "%s.photo does not say where the photo lies.", at)
	}
	return v.Photo.check(at + ".photo")
}

func (p *Place) check(at string) error {
	if p.Matrix == nil {
		if err := near(at, [2]float64{p.LeftMM, p.TopMM}); err != nil {
			return err
		}
		if err := sized(at+".width_mm", p.WidthMM); err != nil {
			return err
		}
		return sized(at+".height_mm", p.HeightMM)
	}
	if *p != (Place{Matrix: p.Matrix}) {
		return fault.New(fault.ConflictingFields, at, "%s has both a matrix and a place in mm, and either is enough.", at)
	}
	m := *p.Matrix
	for i, value := range m {
		if err := fault.Between(fmt.Sprintf("%s.matrix[%d]", at, i), value, -maxMM, maxMM); err != nil {
			return err
		}
	}
	// A px of the largest picture may move by a ten thousandth of a mm.
	if math.Abs(m[6]) > 1e-12 || math.Abs(m[7]) > 1e-12 || m[8] != 1 {
		return fault.New(fault.OutOfRange, at+".matrix", "%s.matrix is that of a tilted photo, which is straightened before it is printed.", at)
	}
	if size := math.Abs(float64(m[0]*m[4]) - float64(m[1]*m[3])); !(size > 1e-12) {
		return fault.New(fault.OutOfRange, at+".matrix", "%s.matrix makes the photo 0 mm big.", at)
	}
	return nil
}

// sized refuses a size that is nothing, or beyond all bounds.
func sized(at string, mm float64) error {
	if mm > 0 && mm <= maxMM {
		return nil
	}
	return fault.New(fault.OutOfRange, at, "%s is %s mm, and must be more than 0 and at most %s.", at, fault.Number(mm), fault.Number(maxMM))
}

func (v *View) checkRings(at string, points *int) error {
	for i, ring := range v.RingsMM {
		at := fmt.Sprintf("%s.rings_mm[%d]", at, i)
		if len(ring) < 3 {
			return fault.New(fault.TooFew, at, "%s has %d points, and an outline needs 3 at least.", at, len(ring))
		}
		*points += len(ring)
		if err := most("rings_mm", *points, MaxPoints); err != nil {
			return err
		}
		if err := near(at, ring...); err != nil {
			return err
		}
		if b := nowhere().add(ring...); !(b.width() > 0 && b.height() > 0) {
			return fault.New(fault.OutOfRange, at, "%s is 0 mm big.", at)
		}
	}
	return nil
}

func near(at string, points ...[2]float64) error {
	for _, p := range points {
		for _, value := range p {
			if err := fault.Between(at, value, -maxMM, maxMM); err != nil {
				return err
			}
		}
	}
	return nil
}

func (v *View) checkWords(at string) error {
	if err := most(at+".marks", len(v.Marks), MaxNotes); err != nil {
		return err
	}
	if err := most(at+".labels", len(v.Labels), MaxNotes); err != nil {
		return err
	}
	for i, m := range v.Marks {
		at := fmt.Sprintf("%s.marks[%d]", at, i)
		if err := fault.Name(at+".name", m.Name); err != nil {
			return err
		}
		if err := sentences(at, m.Text); err != nil {
			return err
		}
		if err := near(at+".ends", m.Ends[:]...); err != nil {
			return err
		}
	}
	for i, l := range v.Labels {
		at := fmt.Sprintf("%s.labels[%d]", at, i)
		if err := fault.Name(at+".text", l.Text); err != nil {
			return err
		}
		if err := near(at+".at", l.At); err != nil {
			return err
		}
	}
	return nil
}
