package sheet

import (
	"reflect"
	"strings"
)

// Texts are the words printed, each in English where it is left out. A word in braces
// stands for a number or a name.
type Texts struct {
	Page     string `json:"page,omitempty"`     // page {page} of {pages}
	Place    string `json:"place,omitempty"`    // column {column}, row {row}
	Check    string `json:"check,omitempty"`    // how to print, and to hold a ruler to the bars
	BarMM    string `json:"bar_mm,omitempty"`   // 100 mm
	BarIn    string `json:"bar_in,omitempty"`   // 4 in
	First    string `json:"first,omitempty"`    // why this page is printed first
	Join     string `json:"join,omitempty"`     // how pages are put together
	Squares  string `json:"squares,omitempty"`  // how big the squares behind an outline are
	Whose    string `json:"whose,omitempty"`    // before the line for a name
	Part     string `json:"part,omitempty"`     // over the table's columns
	Units    string `json:"units,omitempty"`    //
	Finished string `json:"finished,omitempty"` //
	Yours    string `json:"yours,omitempty"`    // over the column she fills in
	Care     string `json:"care,omitempty"`     // over the cautions
	More     string `json:"more,omitempty"`     // {title}, continued
}

// English holds where a request gives no words of its own.
func English() Texts {
	return Texts{
		Page: "page {page} of {pages}", Place: "column {column}, row {row}",
		Check: "Print at 100 % (actual size). Hold a ruler to both bars before you use the sheet.",
		BarMM: "100 mm", BarIn: "4 in",
		First:   "Print this page first. If both bars are right, the other pages will be, too.",
		Join:    "Cut each page at its dashed lines, lay it on its neighbour’s plain line so that the diamonds meet, and tape it.",
		Squares: "One square is 10 mm.",
		Whose:   "Name",
		Part:    "Part", Units: "Units", Finished: "Finished", Yours: "Yours",
		Care: "Take care", More: "{title}, continued",
	}
}

// orEnglish fills in what is left out.
func (t Texts) orEnglish() Texts {
	given, english := reflect.ValueOf(&t).Elem(), reflect.ValueOf(English())
	for i := range given.NumField() {
		if given.Field(i).String() == "" {
			given.Field(i).SetString(english.Field(i).String())
		}
	}
	return t
}

// fill puts values in the place of the words in braces: word, value, word, value.
func fill(text string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.NewReplacer(pairs...).Replace(text)
}
