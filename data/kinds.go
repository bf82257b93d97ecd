package data

import "slices"

// Kind is one kind of record.
type Kind struct {
	Name   string  `json:"name"`
	Fields []Field `json:"fields"`
}

// Field is one field of a kind. A change sets the whole of one field.
type Field struct {
	Name string `json:"name"`
	Says string `json:"says"` // what its value must be, in words
	Once bool   `json:"once"` // written once: a fact, never edited afterwards
	rule rule
}

// Kinds lists every kind and its fields, in the order in which a person
// would tell them.
func Kinds() []Kind {
	copied := slices.Clone(kinds)
	for i := range copied {
		copied[i].Fields = slices.Clone(copied[i].Fields)
	}
	return copied
}

// kinds is the one table. Each kind but the project itself belongs to a
// project by its field project, or to none yet (null): then it is loose.
var kinds = []Kind{
	{"project", []Field{
		field("name", text(1)),
		field("animal", text(0)),
		field("size", orNull(object(nil, // the finished size: this part is to be so long
			member{"part", id()},
			member{"mm", above(MaxNumber)},
			member{"typed", orNull(text(0))}))),
		field("unit", orNull(id())), // the part the strips are drawn in
		field("tolerance", orNull(share())),
		field("made", day()),
		field("binned", orNull(day())),
		field("demo", flag()),
	}},
	{"part", []Field{
		field("project", orNull(id())),
		field("name", text(1)),
		field("axis", oneOf("length", "width")),
		field("order", from(-MaxNumber, MaxNumber)),
		field("nailed", flag()),
		field("binned", orNull(day())),
		field("as", orNull(id())), // this part is the same as that one
	}},
	{"place", []Field{
		field("project", orNull(id())),
		field("name", text(1)),
		field("part", id()),    // the part along which it lies
		field("from", text(0)), // the end it is measured from
		field("binned", orNull(day())),
	}},
	{"piece", []Field{
		field("project", orNull(id())),
		field("name", text(1)),
		field("made", day()),
		field("binned", orNull(day())),
	}},
	{"sitting", []Field{
		field("project", orNull(id())),
		once("fact", object(nil,
			member{"of", or(oneOf("subject"), id())}, // or the id of a piece
			member{"method", oneOf("sight", "marks", "ruler")},
			member{"unit", orNull(id())}, // the part marked with the thumb
			member{"view", orNull(oneOf("side", "front", "top", "other"))},
			member{"denominator", orNull(steps())},
			member{"arm_mm", orNull(above(MaxNumber))},
			member{"made", minute()})),
		field("struck", flag()),
	}},
	{"reading", []Field{
		field("project", orNull(id())),
		once("fact", object(zeroOnlyForPlace,
			member{"sitting", id()},
			member{"part", id()},
			member{"place", orNull(id())},
			member{"value", from(0, MaxNumber)}, // in the sitting's scale: units, CSS px, or mm for a ruler
			member{"denominator", orNull(steps())},
			member{"typed", orNull(text(0))})),
		field("struck", flag()),
	}},
	{"check", []Field{
		field("project", orNull(id())),
		once("fact", object(nil,
			member{"piece", id()},
			member{"made", minute()},
			member{"scale", object(nil,
				member{"mode", oneOf("size", "keep", "least-work")},
				member{"part", orNull(id())},
				member{"mm", orNull(above(MaxNumber))},
				member{"cost", orNull(above(MaxNumber))})},
			member{"tolerance", share()},
			member{"sittings", list(id())})), // the sittings it covers
		field("struck", flag()),
	}},
}

func field(name string, r rule) Field { return Field{Name: name, Says: r.says, rule: r} }
func once(name string, r rule) Field  { return Field{Name: name, Says: r.says, Once: true, rule: r} }

// zeroOnlyForPlace refuses a part of length zero; a place may lie at the
// very start of its part.
func zeroOnlyForPlace(fact map[string]any) *wrong {
	if fact["value"] == 0.0 && fact["place"] == nil {
		return &wrong{".value", "is 0; only a place can lie at 0, a part cannot be so short"}
	}
	return nil
}
