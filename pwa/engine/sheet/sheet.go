// Package sheet makes the PDF that a maker prints and lays her wool on: every view at
// exactly the finished size, in as many pages as it takes, with what is needed to put
// them together and to see that the printer kept the size.
package sheet

import (
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// What a request may ask for.
const (
	MaxPages  = 60    // pages of drawings in one document
	MaxViews  = 60    // views of one document
	MaxParts  = 200   // rows of proportions
	MaxNotes  = 100   // marks or labels of a view, and cautions
	MaxPoints = 20000 // points of all outlines together
)

// MarginMM and OverlapMM hold where a request says nothing: the white that a printer
// leaves at a paper's edge, and by how much two pages show the same.
const (
	MarginMM  = 10
	OverlapMM = 10
)

// The limits of margin and overlap in mm. A narrower overlap has no room for the
// match marks, and a wider margin none for the check bars.
const (
	MinMarginMM, MaxMarginMM   = 5, 20
	MinOverlapMM, MaxOverlapMM = 8, 40
)

// Request is one document.
type Request struct {
	// Paper is "A4" or "Letter".
	Paper string `json:"paper"`
	// Title is the project's name, and Size its finished size in words; Size and Date
	// are printed as they are, where they are given.
	Title string `json:"title"`
	Size  string `json:"size,omitempty"`
	Date  string `json:"date,omitempty"`
	// Language of the texts, as "en" or "pt-BR"; left out it is "en".
	Language string `json:"language,omitempty"`
	// Views are drawn at true size, in this order.
	Views []View `json:"views,omitempty"`
	// Parts are the rows of the table of proportions.
	Parts []Part `json:"parts,omitempty"`
	// Cautions are sentences, printed one below the other.
	Cautions []string `json:"cautions,omitempty"`
	// Texts are the other words printed.
	Texts Texts `json:"texts,omitempty"`
	// MarginMM is left white all round, MinMarginMM to MaxMarginMM mm; left out it is MarginMM.
	MarginMM *float64 `json:"margin_mm,omitempty"`
	// OverlapMM is what neighbouring pages share, MinOverlapMM to MaxOverlapMM mm; left out it is OverlapMM.
	OverlapMM *float64 `json:"overlap_mm,omitempty"`
}

// View is one drawing. Its lengths are mm at the finished size, with y downwards
// and the origin anywhere.
type View struct {
	Name string `json:"name"`
	// What is "photo", "outline" or "both".
	What string `json:"what"`
	// Image names the picture, and Photo says where it lies; an outline needs neither.
	Image string `json:"image,omitempty"`
	Photo *Place `json:"photo,omitempty"`
	// RingsMM are outer rings and holes of the outline, each of 3 points or more, in
	// mm. A photo is cropped to what lies around them.
	RingsMM [][][2]float64 `json:"rings_mm,omitempty"`
	// Marks are named lengths drawn over it, Labels words.
	Marks  []Mark  `json:"marks,omitempty"`
	Labels []Label `json:"labels,omitempty"`
}

// Place is where a whole picture lies, in one of two ways.
type Place struct {
	// Matrix takes the picture's px to mm, row by row; its last row is 0 0 1, since a
	// tilted photo is straightened before it is printed.
	Matrix *[9]float64 `json:"matrix,omitempty"`
	// Or where its top-left corner lies, in mm, and its size.
	LeftMM   float64 `json:"left_mm,omitempty"`   // of the corner
	TopMM    float64 `json:"top_mm,omitempty"`    // of the corner
	WidthMM  float64 `json:"width_mm,omitempty"`  // above 0
	HeightMM float64 `json:"height_mm,omitempty"` // above 0
}

// Mark is a named length between two points.
type Mark struct {
	Name string `json:"name"`
	// Ends are its two ends in mm.
	Ends [2][2]float64 `json:"ends"`
	// Text is how long it is, in words.
	Text string `json:"text,omitempty"`
}

// Label is a word at a point.
type Label struct {
	Text string `json:"text"`
	// At is the middle of the text in mm.
	At [2]float64 `json:"at"`
}

// Part is a row of the table of proportions, in words.
type Part struct {
	Part  string `json:"part"`
	Units string `json:"units,omitempty"`
	Size  string `json:"size,omitempty"`
}

// Response says what was made; Bytes gives the document.
type Response struct {
	// Pages is how many there are.
	Pages int `json:"pages"`
	// Views says where each view of the request lies, in its order.
	Views []Laid `json:"views"`
	// Notes are what the maker should know of it.
	Notes []Note `json:"notes"`

	pdf []byte
}

// Bytes is the PDF.
func (r Response) Bytes() []byte { return r.pdf }

// Laid is how a view was laid on pages.
type Laid struct {
	Name    string `json:"name"`
	Columns int    `json:"columns"` // how many pages it takes across
	Rows    int    `json:"rows"`    // and down
	// Landscape tells whether its pages lie.
	Landscape bool `json:"landscape"`
	// FirstPage is the page of the document on which it begins, from 1.
	FirstPage int `json:"first_page"`
	// Shared tells whether it stands on a page with others.
	Shared bool `json:"shared"`
	// Drawing is all that is drawn, as left, top, width and height in mm of the view.
	Drawing [4]float64 `json:"drawing"`
	// Windows are what each of its pages shows of it, row by row, likewise; none
	// where the page is shared.
	Windows [][4]float64 `json:"windows"`
}

// LettersReplaced is the code of the note that some letters could not be printed.
const LettersReplaced = "letters-replaced"

// Note is something to know: a code for the machine, a sentence for a person.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Make makes the document. The same request and pictures give the same bytes. Its
// errors are those of the source; TooMany where the drawings would take more
// than MaxPages pages or a list is longer than its limit; TooFew, MissingField, NotOneOf,
// OutOfRange, ConflictingFields and BadName for what else a request can have wrong.
func Make(req Request, from raster.Source) (Response, error) {
	paper, err := check(&req)
	if err != nil {
		return Response{}, err
	}
	photos, err := load(req.Views, from)
	if err != nil {
		return Response{}, err
	}
	plan, err := lay(req, paper, photos)
	if err != nil {
		return Response{}, err
	}
	doc := newDocument(req, paper, plan)
	doc.first()
	for _, p := range plan.sheets {
		doc.sheet(p)
	}
	pdf, err := doc.finish(photos)
	if err != nil {
		return Response{}, fault.New(fault.EngineCrashed, "", "The document could not be written down: %v.", err)
	}
	return Response{doc.pages(), doc.laid(), doc.notes(), pdf}, nil
}
