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
		{name: "facing", rule: orNull{oneOf{"left", "right"}}}, // where the animal looks to; never set: right
		{name: "binned", rule: orNull{day{}}},
	}},
	{"form", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "name", rule: text(1)},
		{name: "shape", rule: solid},
		{name: "sizes", rule: sizes},
		{name: "rings", rule: orNull{rings{}}}, // the profile of a turned form as x, r, or the outline of an ear; mm
		{name: "count", rule: from{1, 100}},
		{name: "mirrored", rule: flag{}}, // they lie left and right
		{name: "stands", rule: oneOf{"body", "head", "neck", "leg", "tail", "other"}},
		{name: "place", rule: orNull{placed}},
		{name: "firm", rule: oneOf{"soft", "medium", "firm"}},
		{name: "core", rule: orNull{id{}}}, // the wool of the core
		{name: "coat", rule: list{blend}},
		{name: "coat_mm", rule: orNull{above(100)}},
		{name: "order", rule: from{-MaxNumber, MaxNumber}},
		{name: "binned", rule: orNull{day{}}},
	}},
	{"wool", []field{
		{name: "project", rule: orNull{id{}}}, // null: the maker's bag is for all projects
		{name: "name", rule: text(1)},
		{name: "use", rule: oneOf{"core", "coat"}},
		{name: "colour", rule: orNull{colour{}}},
		{name: "price", rule: orNull{from{0, MaxNumber}}}, // of so many grams:
		{name: "price_g", rule: orNull{above(MaxNumber)}},
		{name: "pack_g", rule: orNull{above(MaxNumber)}},
		{name: "stock_g", rule: orNull{from{0, MaxNumber}}},
		{name: "layer_g_m2", rule: orNull{above(MaxNumber)}}, // of one carded layer
		{name: "binned", rule: orNull{day{}}},
	}},
	{"weighing", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "fact", rule: weighing, once: true},
		{name: "struck", rule: flag{}},
	}},
	{"group", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "name", rule: text(1)},
		{name: "day", rule: orNull{day{}}},
		{name: "makers", rule: from{1, 200}},
		{name: "spare", rule: from{0, 50}},    // needles for each maker, of each gauge
		{name: "allowance", rule: from{0, 2}}, // of wool, as a share
		{name: "needles", rule: list{needles}},
		{name: "out", rule: orNull{from{0, MaxNumber}}}, // needles given out, and come back
		{name: "back", rule: orNull{from{0, MaxNumber}}},
		{name: "binned", rule: orNull{day{}}},
	}},
	{"step", []field{
		{name: "project", rule: orNull{id{}}},
		{name: "piece", rule: orNull{id{}}},
		{name: "form", rule: orNull{id{}}}, // null: of the whole piece
		{name: "stage", rule: oneOf{"roll", "felt", "join", "shape", "coat", "smooth", "finish"}},
		{name: "done", rule: flag{}},
	}},
}

// solid is the kind of a form.
var solid = oneOf{"ball", "egg", "cylinder", "rounded", "cone", "frustum", "teardrop", "block", "disc", "ring", "ear", "turned"}

// sizes are those that a kind of form has: typed, or bound to a part.
var sizes = object{
	{"length", orNull{size}}, {"width", orNull{size}}, {"depth", orNull{size}}, {"end", orNull{size}}, {"thickness", orNull{size}},
}

// size is a length in mm, or that of a part, as often as times says.
var size = or{
	object{{"mm", above(MaxNumber)}, {"typed", orNull{text(0)}}},
	object{{"part", id{}}, {"times", orNull{above(1000)}}},
}

// placed is where the root of a form lies in the views, in mm at the finished size with y
// up, and how far its axis is turned, in radians.
var placed = object{
	{"x", from{-MaxNumber, MaxNumber}}, {"y", from{-MaxNumber, MaxNumber}}, {"turn", from{-10, 10}},
	{"front_x", orNull{from{-MaxNumber, MaxNumber}}},
}

// blend is so many parts of a wool.
var blend = object{{"wool", id{}}, {"parts", above(1000)}}

// needles are so many needles of a gauge for each maker.
var needles = object{{"gauge", text(1)}, {"each", from{0, 100}}}

// weighing is the fact of a form that was felted, weighed and measured.
var weighing = object{
	{"form", id{}},
	{"piece", orNull{id{}}},
	{"grams", above(MaxNumber)},
	{"shape", solid},
	{"sizes", object{
		{"length", orNull{above(MaxNumber)}}, {"width", orNull{above(MaxNumber)}}, {"depth", orNull{above(MaxNumber)}},
		{"end", orNull{above(MaxNumber)}}, {"thickness", orNull{above(MaxNumber)}},
	}},
	{"start_mm", orNull{above(MaxNumber)}}, // one length as rolled, and the same as felted
	{"finish_mm", orNull{above(MaxNumber)}},
	{"made", minute{}},
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
