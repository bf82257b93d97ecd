package data

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const (
	one = `"aaaaaaaaaaaaaaaa"`
	two = `"bbbbbbbbbbbbbb27"`
)

var (
	full  = `"sha256:` + strings.Repeat("0123456789abcdef", 4) + `"`
	thumb = `"sha256:` + strings.Repeat("f0", 32) + `"`
)

// samples is for each kind and field what is taken and what is refused, by
// JSON; a refused value is followed by where its fault lies.
var samples = map[string]struct{ taken, refused []string }{
	"project.name":      {[]string{`"otter"`, `"é"`, `"` + strings.Repeat("x", 200) + `"`}, []string{`""`, "", `" "`, "", `null`, "", `3`, "", `"a\nb"`, "", `"\u0085"`, "", `"` + strings.Repeat("é", 101) + `"`, ""}},
	"project.animal":    {[]string{`"otter"`, `""`}, []string{`null`, ""}},
	"project.size":      {[]string{`null`, `{"part":` + one + `,"mm":180,"typed":"18 cm"}`, `{"part":` + one + `,"mm":0.1}`}, []string{`{}`, ".part", `{"part":` + one + `,"mm":0}`, ".mm", `{"part":` + one + `,"mm":10000001}`, ".mm", `{"part":` + one + `,"mm":1,"cm":1}`, ".cm", `[]`, "", `{"part":"x","mm":1}`, ".part"}},
	"project.unit":      {[]string{`null`, one, two}, []string{`"subject"`, "", `"AAAAAAAAAAAAAAAA"`, "", `"aaaaaaaaaaaaaaa1"`, "", `"aaaaaaaaaaaaaaaaa"`, ""}},
	"project.tolerance": {[]string{`null`, `0.04`}, []string{`0`, "", `1`, "", `-0.1`, "", `"0.04"`, ""}},
	"project.made":      {[]string{`"2026-11-25"`, `"2028-02-29"`}, []string{`"2026-02-29"`, "", `"2026-1-2"`, "", `"2026-13-01"`, "", `null`, "", `"25.11.2026"`, ""}},
	"project.binned":    {[]string{`"2026-11-25"`, `null`}, []string{`true`, ""}},
	"project.demo":      {[]string{`true`, `false`}, []string{`null`, "", `1`, ""}},
	"part.project":      {[]string{`null`, one}, []string{`""`, ""}},
	"part.name":         {[]string{`"tail"`}, []string{`""`, ""}},
	"part.axis":         {[]string{`"length"`, `"width"`}, []string{`"depth"`, "", `null`, ""}},
	"part.order":        {[]string{`1`, `-2.5`, `0`}, []string{`1e8`, "", `"1"`, "", `null`, ""}},
	"part.nailed":       {[]string{`true`}, []string{`"yes"`, ""}},
	"part.binned":       {[]string{`null`}, []string{`""`, ""}},
	"part.as":           {[]string{`null`, one}, []string{`1`, ""}},
	"place.project":     {[]string{`null`, one}, []string{`false`, ""}},
	"place.name":        {[]string{`"eye"`}, []string{`""`, ""}},
	"place.part":        {[]string{one}, []string{`null`, ""}},
	"place.from":        {[]string{`"nose"`, `""`}, []string{`null`, ""}},
	"place.binned":      {[]string{`null`}, []string{`0`, ""}},
	"piece.project":     {[]string{`null`, one}, []string{`false`, ""}},
	"piece.name":        {[]string{`"first"`}, []string{`""`, ""}},
	"piece.made":        {[]string{`"2026-11-25"`}, []string{`"2026-11-25T10:00"`, ""}},
	"piece.binned":      {[]string{`null`}, []string{`0`, ""}},
	"sitting.project":   {[]string{`null`, one}, []string{`false`, ""}},
	"sitting.fact": {[]string{
		`{"of":"subject","method":"sight","unit":` + one + `,"view":"side","denominator":4,"arm_mm":600,"made":"2026-11-25T10:00"}`,
		`{"of":` + one + `,"method":"ruler","unit":null,"view":null,"denominator":null,"arm_mm":null,"made":"2026-11-25T10:00"}`,
		`{"of":` + one + `,"method":"marks","denominator":0,"made":"2026-11-25T23:59"}`,
		`{"of":` + one + `,"method":"photo","view":"side","picture":` + two + `,"made":"2026-11-25T23:59"}`,
		`{"of":"subject","method":"photo","picture":null,"made":"2026-11-25T23:59"}`,
	}, []string{
		`{"of":"piece","method":"sight","made":"2026-11-25T10:00"}`, ".of",
		`{"of":"subject","method":"photo","picture":"otter","made":"2026-11-25T10:00"}`, ".picture",
		`{"of":"subject","method":"guess","made":"2026-11-25T10:00"}`, ".method",
		`{"of":"subject","method":"sight"}`, ".made",
		`{"of":"subject","method":"sight","made":"2026-11-25T1:00"}`, ".made",
		`{"of":"subject","method":"sight","made":"2026-11-25T24:00"}`, ".made",
		`{"of":"subject","method":"sight","made":"2026-11-25T10:00","view":"back"}`, ".view",
		`{"of":"subject","method":"sight","made":"2026-11-25T10:00","denominator":5}`, ".denominator",
		`{"of":"subject","method":"sight","made":"2026-11-25T10:00","denominator":2.5}`, ".denominator",
		`{"of":"subject","method":"sight","made":"2026-11-25T10:00","arm_mm":0}`, ".arm_mm",
		`{"of":"subject","method":"sight","made":"2026-11-25T10:00","arm":1}`, ".arm",
	}},
	"sitting.struck":  {[]string{`true`, `false`}, []string{`null`, ""}},
	"reading.project": {[]string{`null`, one}, []string{`false`, ""}},
	"reading.fact": {[]string{
		`{"sitting":` + one + `,"part":` + two + `,"place":null,"value":3.25,"denominator":4,"typed":null}`,
		`{"sitting":` + one + `,"part":` + two + `,"place":` + one + `,"value":0,"denominator":null,"typed":"0"}`,
		`{"sitting":` + one + `,"part":` + two + `,"value":30.1625,"typed":"1 3/16 in"}`,
		`{"sitting":` + one + `,"part":` + two + `,"value":812.4,"pins":[[10,20.5],[810,161.9]],"pin_px":0.7,"off_mm":-12}`,
		`{"sitting":` + one + `,"part":` + two + `,"value":812.4,"pins":null,"pin_px":null,"off_mm":null}`,
	}, []string{
		`{"sitting":` + one + `,"part":` + two + `,"value":0}`, ".value",
		`{"sitting":` + one + `,"part":` + two + `,"place":null,"value":0}`, ".value",
		`{"sitting":` + one + `,"part":` + two + `,"value":-3}`, ".value",
		`{"sitting":` + one + `,"part":` + two + `,"value":"3"}`, ".value",
		`{"sitting":` + one + `,"part":` + two + `}`, ".value",
		`{"sitting":` + one + `,"value":1}`, ".part",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"typed":"\u0000"}`, ".typed",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"place":"eye"}`, ".place",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"pins":[[1,2]]}`, ".pins",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"pins":[[1,2],[1,2,3]]}`, ".pins[1]",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"pins":[[1,2],[1,true]]}`, ".pins[1][1]",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"pin_px":0}`, ".pin_px",
		`{"sitting":` + one + `,"part":` + two + `,"value":1,"off_mm":"3"}`, ".off_mm",
		`null`, "",
	}},
	"reading.struck": {[]string{`true`, `false`}, []string{`null`, ""}},
	"check.project":  {[]string{`null`, one}, []string{`false`, ""}},
	"check.fact": {[]string{
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"size","part":` + two + `,"mm":180},"tolerance":0.04,"sittings":[]}`,
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep","part":` + two + `},"tolerance":0.04,"sittings":[` + one + `,` + two + `]}`,
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"least-work","cost":3},"tolerance":0.04,"sittings":[]}`,
	}, []string{
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"most-work"},"tolerance":0.04,"sittings":[]}`, ".scale.mode",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":null,"tolerance":0.04,"sittings":[]}`, ".scale",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep","to":1},"tolerance":0.04,"sittings":[]}`, ".scale.to",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep"},"tolerance":4,"sittings":[]}`, ".tolerance",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep"},"tolerance":0.04,"sittings":[` + one + `,7]}`, ".sittings[1]",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep"},"tolerance":0.04,"sittings":null}`, ".sittings",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep"},"tolerance":0.04}`, ".sittings",
		`{"piece":` + one + `,"made":"2026-11-25T10:00","scale":{"mode":"keep"},"tolerance":0.04,"sittings":[` + strings.Repeat(one+",", MaxListed) + one + `]}`, ".sittings",
	}},
	"check.struck":    {[]string{`true`, `false`}, []string{`null`, ""}},
	"picture.project": {[]string{`null`, one}, []string{`false`, ""}},
	"picture.fact": {[]string{
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":4000,"height":3000,"bytes":3145728,"made":"2026-11-25T10:00"}`,
		`{"full":` + full + `,"thumb":` + full + `,"type":"image/webp","width":1,"height":65535,"bytes":67108864,"made":"2026-11-25T10:00"}`,
	}, []string{
		`{"thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".full",
		`{"full":` + full + `,"type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".thumb",
		`{"full":"sha256:` + strings.Repeat("A", 64) + `","thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".full",
		`{"full":"` + strings.Repeat("a", 64) + `","thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".full",
		`{"full":` + full + `,"thumb":"sha256:` + strings.Repeat("a", 63) + `","type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".thumb",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/svg+xml","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".type",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":0,"height":3,"bytes":9,"made":"2026-11-25T10:00"}`, ".width",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":65536,"bytes":9,"made":"2026-11-25T10:00"}`, ".height",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":67108865,"made":"2026-11-25T10:00"}`, ".bytes",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":9}`, ".made",
		`{"full":` + full + `,"thumb":` + thumb + `,"type":"image/jpeg","width":4,"height":3,"bytes":9,"made":"2026-11-25T10:00","where":"home"}`, ".where",
	}},
	"picture.view":  {[]string{`"side"`, `"front"`, `"top"`, `"other"`, `null`}, []string{`"back"`, ""}},
	"picture.name":  {[]string{`""`, `"on the bank"`}, []string{`null`, ""}},
	"picture.of":    {[]string{`"subject"`, one}, []string{`null`, "", `"piece"`, ""}},
	"picture.whose": {[]string{`""`, `"my own"`}, []string{`null`, "", `"` + strings.Repeat("x", 201) + `"`, ""}},
	"picture.drawn": {[]string{`true`, `false`}, []string{`null`, "", `"yes"`, ""}},
	"picture.plane": {[]string{
		`null`,
		`{"kind":"rectangle","corners":[[10,10],[866.5,12],[860,550],[-8,548.2]],"width_mm":85.6,"height_mm":53.98,"name":"id-1"}`,
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":210,"height_mm":297,"name":"other","corner_px":1,"distance_mm":600}`,
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":210,"height_mm":297,"name":null,"corner_px":null,"distance_mm":null}`,
		`{"kind":"length","ends":[[1,2],[3,4]],"mm":120,"typed":"120 mm","end_px":1.5}`,
		`{"kind":"length","ends":[[1,2],[3,4]],"mm":0.5}`,
	}, []string{
		`{}`, "", `7`, "", `[]`, "", `{"kind":"circle"}`, "", `{"kind":["length"]}`, "",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1]],"width_mm":85.6,"height_mm":53.98}`, ".corners",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1],[0,0]],"width_mm":85.6,"height_mm":53.98}`, ".corners",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1],[0,1]],"width_mm":85.6,"height_mm":53.98}`, ".corners[2]",
		`{"kind":"rectangle","corners":[[0,0],[1,"0"],[1,1],[0,1]],"width_mm":85.6,"height_mm":53.98}`, ".corners[1][1]",
		`{"kind":"rectangle","corners":[[0,0],[1e6,0],[1,1],[0,1]],"width_mm":85.6,"height_mm":53.98}`, ".corners[1][0]",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":0,"height_mm":53.98}`, ".width_mm",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":85.6}`, ".height_mm",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":85.6,"height_mm":53.98,"name":"id-2"}`, ".name",
		`{"kind":"rectangle","corners":[[0,0],[1,0],[1,1],[0,1]],"width_mm":85.6,"height_mm":53.98,"mm":3}`, ".mm",
		`{"kind":"length","ends":[[1,2],[3,4]]}`, ".mm",
		`{"kind":"length","ends":[[1,2]],"mm":3}`, ".ends",
		`{"kind":"length","ends":[[1,2],[3,4]],"mm":3,"end_px":0}`, ".end_px",
		`{"kind":"length","ends":[[1,2],[3,4]],"mm":3,"corners":[]}`, ".corners",
	}},
	"picture.binned":  {[]string{`null`, `"2026-11-25"`}, []string{`0`, ""}},
	"outline.project": {[]string{`null`, one}, []string{`false`, ""}},
	"outline.picture": {[]string{one}, []string{`null`, "", `"subject"`, ""}},
	"outline.name":    {[]string{`""`, `"the body"`}, []string{`null`, ""}},
	"outline.rings": {[]string{
		`[[0,0,10,0,10.5,9.9]]`, `[[0,0,100,0,100,100,0,100],[-3,20,30,20,30,30]]`,
		`[[` + strings.Repeat("0,1,", MaxPoints-1) + `2,2]]`,
	}, []string{
		`null`, "", `[]`, "", `[7]`, "", `[[]]`, "", `[[0,0,1,1]]`, "", `[[0,0,1,0,1,1,0]]`, "", `{}`, "", `[[[0,0],[1,0],[1,1]]]`, "",
		`[[0,0,1,0,1,1],[0,0,1,0,1,null]]`, "[1][5]", `[[0,0,1,"0",1,1]]`, "[0][3]", `[[0,0,1e6,0,1,1]]`, "[0][2]",
		`[[` + strings.Repeat("0,1,", MaxPoints) + `2,2]]`, "",
		`[[0,0,1,0,1,1],[` + strings.Repeat("0,1,", MaxPoints-3) + `2,2]]`, "",
	}},
	"outline.binned": {[]string{`null`, `"2026-11-25"`}, []string{`0`, ""}},
	"outline.facing": {[]string{`null`, `"left"`, `"right"`}, []string{`"up"`, ""}},
	"form.project":   {[]string{`null`, one}, []string{`false`, ""}},
	"form.name":      {[]string{`"tail"`}, []string{`""`, ""}},
	"form.shape":     {[]string{`"ball"`, `"ring"`, `"turned"`}, []string{`"cube"`, "", `null`, ""}},
	"form.sizes": {[]string{
		`{}`, `{"length":{"mm":62,"typed":"62 mm"},"width":{"part":` + one + `},"depth":null}`, `{"end":{"part":` + one + `,"times":0.5},"thickness":{"mm":4}}`,
	}, []string{
		`null`, "", `{"length":62}`, ".length", `{"length":{"mm":0}}`, ".length", `{"height":{"mm":3}}`, ".height", `{"width":{"part":"tail"}}`, ".width", `{"width":{"mm":3,"part":` + one + `}}`, ".width",
	}},
	"form.rings":       {[]string{`null`, `[[0,3,10,4,20,0]]`}, []string{`[[0,3]]`, ""}},
	"form.count":       {[]string{`1`, `4`}, []string{`0`, "", `101`, "", `null`, ""}},
	"form.mirrored":    {[]string{`true`, `false`}, []string{`null`, ""}},
	"form.stands":      {[]string{`"body"`, `"leg"`, `"other"`}, []string{`"wing"`, "", `null`, ""}},
	"form.place":       {[]string{`null`, `{"x":-12.5,"y":40,"turn":-1.57}`, `{"x":0,"y":0,"turn":0,"front_x":12}`}, []string{`{}`, ".x", `{"x":0,"y":0,"turn":11}`, ".turn", `{"x":0,"y":0,"turn":0,"z":1}`, ".z"}},
	"form.firm":        {[]string{`"soft"`, `"medium"`, `"firm"`}, []string{`"hard"`, "", `null`, ""}},
	"form.core":        {[]string{`null`, one}, []string{`"core"`, ""}},
	"form.coat":        {[]string{`[]`, `[{"wool":` + one + `,"parts":3},{"wool":` + two + `,"parts":0.5}]`}, []string{`null`, "", `[{"wool":` + one + `}]`, "[0].parts", `[{"wool":` + one + `,"parts":0}]`, "[0].parts"}},
	"form.coat_mm":     {[]string{`null`, `2`}, []string{`0`, "", `101`, ""}},
	"form.order":       {[]string{`1`, `-2.5`}, []string{`null`, ""}},
	"form.binned":      {[]string{`null`, `"2026-11-25"`}, []string{`0`, ""}},
	"wool.project":     {[]string{`null`, one}, []string{`false`, ""}},
	"wool.name":        {[]string{`"core wool"`}, []string{`""`, ""}},
	"wool.use":         {[]string{`"core"`, `"coat"`}, []string{`"wire"`, ""}},
	"wool.colour":      {[]string{`null`, `"#a0522d"`}, []string{`"brown"`, "", `"#A0522D"`, "", `"#a0522"`, ""}},
	"wool.price":       {[]string{`null`, `0`, `4.5`}, []string{`-1`, "", `"4.50"`, ""}},
	"wool.price_g":     {[]string{`null`, `50`}, []string{`0`, ""}},
	"wool.pack_g":      {[]string{`null`, `50`}, []string{`0`, ""}},
	"wool.stock_g":     {[]string{`null`, `0`, `120`}, []string{`-1`, ""}},
	"wool.layer_g_m2":  {[]string{`null`, `100`}, []string{`0`, ""}},
	"wool.binned":      {[]string{`null`, `"2026-11-25"`}, []string{`0`, ""}},
	"weighing.project": {[]string{`null`, one}, []string{`false`, ""}},
	"weighing.fact": {[]string{
		`{"form":` + one + `,"piece":` + two + `,"grams":3.4,"shape":"cone","sizes":{"length":62,"width":17},"start_mm":83,"finish_mm":62,"made":"2026-11-25T10:00"}`,
		`{"form":` + one + `,"grams":3.4,"shape":"ball","sizes":{"width":30},"made":"2026-11-25T10:00"}`,
	}, []string{
		`{"form":` + one + `,"grams":0,"shape":"ball","sizes":{"width":30},"made":"2026-11-25T10:00"}`, ".grams",
		`{"form":` + one + `,"grams":3,"shape":"ball","sizes":{"width":0},"made":"2026-11-25T10:00"}`, ".sizes.width",
		`{"form":` + one + `,"grams":3,"shape":"ball","sizes":{"width":3}}`, ".made",
	}},
	"weighing.struck": {[]string{`true`, `false`}, []string{`null`, ""}},
	"group.project":   {[]string{`null`, one}, []string{`false`, ""}},
	"group.name":      {[]string{`"Saturday"`}, []string{`""`, ""}},
	"group.day":       {[]string{`null`, `"2026-12-05"`}, []string{`"soon"`, ""}},
	"group.makers":    {[]string{`1`, `8`, `200`}, []string{`0`, "", `10000`, ""}},
	"group.spare":     {[]string{`0`, `2`}, []string{`-1`, "", `51`, ""}},
	"group.allowance": {[]string{`0`, `0.25`}, []string{`-0.1`, "", `3`, ""}},
	"group.needles":   {[]string{`[]`, `[{"gauge":"38","each":2}]`}, []string{`null`, "", `[{"gauge":"","each":2}]`, "[0].gauge", `[{"gauge":"38","each":101}]`, "[0].each"}},
	"group.out":       {[]string{`null`, `0`, `56`}, []string{`-1`, ""}},
	"group.back":      {[]string{`null`, `55`}, []string{`-1`, ""}},
	"group.binned":    {[]string{`null`, `"2026-11-25"`}, []string{`0`, ""}},
	"step.project":    {[]string{`null`, one}, []string{`false`, ""}},
	"step.piece":      {[]string{`null`, one}, []string{`"piece"`, ""}},
	"step.form":       {[]string{`null`, one}, []string{`"form"`, ""}},
	"step.stage":      {[]string{`"roll"`, `"finish"`}, []string{`"wash"`, ""}},
	"step.done":       {[]string{`true`, `false`}, []string{`null`, ""}},
}

func TestEveryFieldTakesAndRefuses(t *testing.T) {
	seen := 0
	for _, kind := range Kinds() {
		for _, field := range kind.Fields {
			seen++
			sample, ok := samples[kind.Name+"."+field.Name]
			if !ok || len(sample.taken) == 0 || len(sample.refused) == 0 {
				t.Errorf("%s.%s is not tried here", kind.Name, field.Name)
			}
			for _, text := range sample.taken {
				if err := Check(kind.Name, field.Name, value(t, text)); err != nil {
					t.Errorf("%s.%s refused %s: %v", kind.Name, field.Name, text, err)
				}
			}
			for i := 0; i < len(sample.refused); i += 2 {
				refused(t, kind.Name, field.Name, sample.refused[i], sample.refused[i+1])
			}
		}
	}
	if seen != len(samples) {
		t.Errorf("%d fields are there, %d are tried", seen, len(samples))
	}
}

func refused(t *testing.T, kind, field, text, at string) {
	var e *Error
	if err := Check(kind, field, value(t, text)); !errors.As(err, &e) || e.Code != CodeValue {
		t.Errorf("%s.%s took %s: %v", kind, field, text, err)
		return
	}
	if e.At != "value"+at || !strings.HasPrefix(e.Text, field+at+" ") || len(e.Text) > 300 {
		t.Errorf("%s.%s, %s: told at %q: %s", kind, field, text, e.At, e.Text)
	}
}

func value(t *testing.T, text string) any {
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return v
}

func TestSentences(t *testing.T) {
	for _, test := range []struct{ kind, field, text, want string }{
		{"reading", "fact", `{"sitting":` + one + `,"part":` + two + `,"value":-3}`, "fact.value is -3; it must be a number from 0 to 10000000"},
		{"project", "tolerance", `7`, "tolerance is 7; it must be a number above 0 and below 1, or null"},
		{"project", "size", `{"part":` + one + `}`, "size.mm is missing"},
		{"project", "size", `{"part":` + one + `,"mm":1,"<b>":1}`, `size.<b> is not known here`},
		{"project", "name", `"` + strings.Repeat("ä", 150) + `"`, `name is "` + strings.Repeat("ä", 19) + `... (302 bytes); it must be a text of 1 to 200 bytes without control characters`},
		{"picture", "plane", `{"kind":"circle"}`, `plane is {"kind":"circle"}; it must be a plane of kind rectangle or length, or null`},
		{"reading", "fact", `{"sitting":` + one + `,"part":` + two + `,"value":1,"pins":[[1,2]]}`, "fact.pins is [[1,2]]; it must be a list of 2, or null"},
		{"outline", "rings", `[[0,0,1,1]]`, "rings is [[0,0,1,1]]; it must be a list of rings, each of 3 points or more as x, y, x, y and so on, 600 points in all at most"},
		{"weight", "name", `1`, `there is no kind of record called "weight"`},
		{"part", "colour", `1`, `a part has no field called "colour"`},
	} {
		err := Check(test.kind, test.field, value(t, test.text))
		if err == nil || strings.ReplaceAll(err.Error(), `\u003cb\u003e`, "<b>") != test.want {
			t.Errorf("%s.%s %s:\n got %v\nwant %s", test.kind, test.field, test.text, err, test.want)
		}
	}
}

func TestOnlyFactsAreWrittenOnce(t *testing.T) {
	for _, kind := range Kinds() {
		for _, field := range kind.Fields {
			if got := WrittenOnce(kind.Name, field.Name); got != (field.Name == "fact") || got != field.Once {
				t.Errorf("%s.%s written once: %t", kind.Name, field.Name, got)
			}
		}
	}
	if WrittenOnce("nothing", "fact") || WrittenOnce("part", "fact") {
		t.Error("what is not there is written once")
	}
}

func TestKindsIsACopy(t *testing.T) {
	Kinds()[0].Fields[0].Name = "changed"
	Kinds()[1].Name = "changed"
	if Kinds()[0].Fields[0].Name != "name" || Kinds()[1].Name != "part" {
		t.Error("the table was changed from outside")
	}
}

func TestCodesAreSortedAndApart(t *testing.T) {
	codes := Codes()
	if !slices.IsSorted(codes) || len(slices.Compact(slices.Clone(codes))) != len(codes) {
		t.Errorf("%v", codes)
	}
}

// TestNoValuePanics gives every field whatever JSON can be.
func TestNoValuePanics(t *testing.T) {
	leaf := rapid.OneOf(rapid.Just[any](nil), rapid.Float64().AsAny(), rapid.String().AsAny(), rapid.Bool().AsAny())
	deep := rapid.Deferred(func() *rapid.Generator[any] {
		names := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"part", "mm", "sitting", "value", "scale", "of", "made"}))
		return rapid.OneOf(leaf, rapid.SliceOfN(leaf, 0, 3).AsAny(), rapid.MapOfN(names, leaf, 0, 5).AsAny())
	})
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(Kinds()).Draw(t, "kind")
		field := rapid.SampledFrom(kind.Fields).Draw(t, "field")
		err := Check(kind.Name, field.Name, deep.Draw(t, "value"))
		if e, ok := err.(*Error); err != nil && (!ok || e.Text == "" || !strings.HasPrefix(e.At, "value")) {
			t.Fatalf("%v", err)
		}
	})
}
