package data

// Kind is one kind of record.
type Kind struct {
	Name   string  `json:"name"`   // as a change says it: project, part, ...
	Fields []Field `json:"fields"` // in the order in which a person would tell them
}

// Field is one field of a kind. A change sets the whole of one field.
type Field struct {
	Name string `json:"name"` // as a change says it
	Says string `json:"says"` // what its value must be, in words
	Once bool   `json:"once"` // written once: a fact, never edited afterwards
}

// Kinds lists every kind and its fields, in the order in which a person
// would tell them.
func Kinds() []Kind {
	told := make([]Kind, len(kinds))
	for i, k := range kinds {
		told[i].Name = k.name
		for _, f := range k.fields {
			told[i].Fields = append(told[i].Fields, Field{f.name, f.rule.says(), f.once})
		}
	}
	return told
}

type (
	kind struct {
		name   string
		fields []field
	}
	field struct {
		name string
		rule rule
		once bool
	}
)

// kinds is the one table. Each kind but the project itself belongs to a
// project by its field project, or to none yet (null): then it is loose.
var kinds = []kind{
	{"project", []field{
		{name: "name", rule: text(1)},
		{name: "animal", rule: text(0)},
		{name: "size", rule: orNull{finished}},
		{name: "unit", rule: orNull{id{}}}, // the part the strips are drawn in
		{name: "tolerance", rule: orNull{share{}}},
		{name: "made", rule: day{}},
		{name: "binned", rule: orNull{day{}}},
		{name: "demo", rule: flag{}},
	}},
	{"part", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "name", rule: text(1)},
		{name: "axis", rule: oneOf{"length", "width"}},
		{name: "order", rule: from{-MaxNumber, MaxNumber}},
		{name: "nailed", rule: flag{}},
		{name: "binned", rule: orNull{day{}}},
		{name: "as", rule: orNull{id{}}}, // this part is the same as that one
	}},
	{"place", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "name", rule: text(1)},
		{name: "part", rule: id{}},    // the part along which it lies
		{name: "from", rule: text(0)}, // the end it is measured from
		{name: "binned", rule: orNull{day{}}},
	}},
	{"piece", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "name", rule: text(1)},
		{name: "made", rule: day{}},
		{name: "binned", rule: orNull{day{}}},
	}},
	{"sitting", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "fact", rule: sitting, once: true},
		{name: "struck", rule: flag{}},
	}},
	{"reading", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "fact", rule: measured{reading}, once: true},
		{name: "struck", rule: flag{}},
	}},
	{"check", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "fact", rule: check, once: true},
		{name: "struck", rule: flag{}},
	}},
	{"picture", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "fact", rule: picture, once: true},
		{name: "view", rule: orNull{oneOf{"side", "front", "top", "other"}}},
		{name: "name", rule: text(0)},
		{name: "of", rule: whom},       // never set: the subject
		{name: "whose", rule: text(0)}, // who took it
		{name: "drawn", rule: flag{}},  // by hand: a drawing, not a photo
		{name: "plane", rule: orNull{plane{}}},
		{name: "binned", rule: orNull{day{}}},
	}},
	{"outline", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "picture", rule: id{}}, // on which it was traced
		{name: "name", rule: text(0)},
		{name: "rings", rule: rings{}},
		{name: "binned", rule: orNull{day{}}},
	}},
}

// whom something is of: the subject, or the piece of that id.
var whom = or{oneOf{"subject"}, id{}}

// finished is the size a project is to have: this part is to be so long.
var finished = object{
	{"part", id{}},
	{"mm", above(MaxNumber)},
	{"typed", orNull{text(0)}},
}

// sitting is the fact of a sitting.
var sitting = object{
	{"of", whom},
	{"method", oneOf{"sight", "marks", "ruler", "photo"}},
	{"unit", orNull{id{}}}, // the part marked with the thumb
	{"view", orNull{oneOf{"side", "front", "top", "other"}}},
	{"denominator", orNull{steps}},
	{"arm_mm", orNull{above(MaxNumber)}},
	{"picture", orNull{id{}}}, // on which the pins were set
	{"made", minute{}},
}

// reading is the fact of a reading.
var reading = object{
	{"sitting", id{}},
	{"part", id{}},
	{"place", orNull{id{}}},
	{"value", from{0, MaxNumber}}, // in the sitting's scale: units, CSS px, mm for a ruler, or px of the picture between the pins
	{"denominator", orNull{steps}},
	{"typed", orNull{text(0)}},
	{"pins", orNull{exactly{2, point}}},             // in px of the picture; of a place, the first stands at the start of its part
	{"pin_px", orNull{above(MaxSide)}},              // the standard uncertainty of a pin
	{"off_mm", orNull{from{-MaxNumber, MaxNumber}}}, // how far it stood off the plane, towards the lens
}

// check is the fact of a check.
var check = object{
	{"piece", id{}},
	{"made", minute{}},
	{"scale", scale},
	{"tolerance", share{}},
	{"sittings", list{id{}}}, // the sittings it covers
}

// scale is how the size of the piece was fixed against the subject's.
var scale = object{
	{"mode", oneOf{"size", "keep", "least-work"}},
	{"part", orNull{id{}}},
	{"mm", orNull{above(MaxNumber)}},
	{"cost", orNull{above(MaxNumber)}}, // of taking away, where adding costs 1
}

// picture is the fact of a picture: the bytes themselves are kept beside the
// records, under their hash.
var picture = object{
	{"full", hash{}},
	{"thumb", hash{}}, // the same, small
	{"type", oneOf{"image/jpeg", "image/png", "image/webp"}},
	{"width", from{1, MaxSide}},
	{"height", from{1, MaxSide}},
	{"bytes", from{1, MaxPicture}}, // of the full one
	{"made", minute{}},
}

// point is a place on a picture, or not far beside it: [x, y] in px, from
// the outer corner of the first pixel.
var point = exactly{2, from{-MaxSide, 2 * MaxSide}}

// planes are what gives a picture its scale, by their kinds: something of
// known size that lies in one plane with what is measured.
var planes = map[string]object{
	"rectangle": {
		{"kind", oneOf{"rectangle"}},
		{"corners", exactly{4, point}}, // in order round; the first edge is the width
		{"width_mm", above(MaxNumber)},
		{"height_mm", above(MaxNumber)},
		{"name", orNull{oneOf{"id-1", "other"}}},
		{"corner_px", orNull{above(MaxSide)}},     // the standard uncertainty of a corner
		{"distance_mm", orNull{above(MaxNumber)}}, // from the lens
	},
	"length": {
		{"kind", oneOf{"length"}},
		{"ends", exactly{2, point}},
		{"mm", above(MaxNumber)},
		{"typed", orNull{text(0)}},
		{"end_px", orNull{above(MaxSide)}},
		{"distance_mm", orNull{above(MaxNumber)}},
	},
}

// steps is into how many a unit or an inch is divided; 0 is a free slide.
var steps = oneOf{0.0, 2.0, 3.0, 4.0, 8.0, 16.0, 32.0}
