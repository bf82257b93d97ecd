package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/pwa/engine/fault"
	"needlesight/sync/change"
	"needlesight/sync/peer"
	"needlesight/sync/stamp"
	"needlesight/sync/wire"
)

// toBeDone is what the door says is to be done, as the phone reads it.
type toBeDone struct {
	Close  bool
	Dial   uint64
	Next   int64
	Status struct {
		Phase, Code                  string
		Heard                        int64
		Waiting, Brought, Seen, Last uint64
		Again                        bool
	}
	Rows *struct {
		Ask, After uint64
		Most       int
	}
	Keep []struct {
		Number, Seen, Acked uint64
		Epoch               string
		Again               bool
		Refused             [][2]any
		Changes             [][7]json.RawMessage
	}
	frames [][]byte
}

func tellLink(t *testing.T, l *link, event string, m more) (done toBeDone) {
	t.Helper()
	text, frames := l.tell([]byte(event), m)
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.DisallowUnknownFields()
	if err := d.Decode(&done); err != nil {
		t.Fatalf("%s: told %s: %v", event, text, err)
	}
	done.frames = frames
	return done
}

const device, project = "otterotterotter2", "riverriverriver2"

// joined is a link that home has just answered.
func joined(t *testing.T, waiting int, last uint64) (*link, toBeDone) {
	t.Helper()
	l := &link{}
	if done := tellLink(t, l, fmt.Sprintf(`{"do":"start","now":0,"device":%q,"waiting":%d}`, device, waiting), more{}); done.Next != 0 || done.Status.Phase != "apart" {
		t.Fatalf("started as %+v", done)
	}
	if done := tellLink(t, l, `{"do":"tick","now":0}`, more{}); done.Dial != 1 || done.Next != peer.DialWithin {
		t.Fatalf("dials with %+v", done)
	}
	done := tellLink(t, l, `{"do":"connected","now":5,"conn":1}`, more{})
	m, err := wire.Decode(done.frames[0])
	if hello, ok := m.(*wire.Hello); err != nil || !ok || hello.Device != device || hello.Waiting != uint64(waiting) {
		t.Fatalf("says %+v, %v", m, err)
	}
	return l, tellLink(t, l, `{"do":"frame","now":9,"conn":1}`, more{frame: encoded(t, &wire.Welcome{Version: 1, Epoch: "holtholtholtholt", Last: last})})
}

func encoded(t *testing.T, m wire.Message) []byte {
	t.Helper()
	frame, err := wire.Encode(m)
	if err != nil {
		t.Fatal(err)
	}
	return frame
}

func TestRowsAreBroughtHome(t *testing.T) {
	l, done := joined(t, 4, 0)
	if len(done.Keep) != 1 || done.Keep[0].Epoch != "holtholtholtholt" || done.Rows == nil || done.Status.Phase != "joined" {
		t.Fatalf("on Welcome: %+v", done)
	}
	tellLink(t, l, `{"do":"kept","now":10,"number":1,"waiting":4}`, more{})
	rows := "7\tpart\ttailtailtailtail\tname\t41\t" + device + "\t\"<tail>\"\t\t\n" +
		"8\tpart\ttailtailtailtail\tfact\t42\t" + device + "\t{\"b\":-0.50,\"a\":\"é\"}\t41\t" + project + "\n" +
		"9\tpart\tno id\tname\t43\t" + device + "\t1\t\t\n" +
		"10\tbroken\n"
	done = tellLink(t, l, `{"do":"rows","now":11,"ask":1}`, more{rows: rows})
	m, err := wire.Decode(done.frames[0])
	if err != nil {
		t.Fatal(err)
	}
	want := []change.Change{
		{Where: change.Where{Kind: "part", ID: "tailtailtailtail", Field: "name"}, Value: json.RawMessage(`"\u003ctail\u003e"`), Stamp: stamp.Stamp{Counter: 41, Device: device}},
		{Where: change.Where{Kind: "part", ID: "tailtailtailtail", Field: "fact"}, Value: json.RawMessage(`{"a":"é","b":-0.5}`), Stamp: stamp.Stamp{Counter: 42, Device: device}, Base: stamp.Stamp{Counter: 41, Device: project}},
	}
	push := m.(*wire.Push)
	if len(push.Changes) != 2 || !push.Changes[0].Equal(want[0]) || !push.Changes[1].Equal(want[1]) {
		t.Fatalf("pushes %v", push.Changes)
	}
	done = tellLink(t, l, `{"do":"frame","now":12,"conn":1}`, more{frame: encoded(t, &wire.Ack{Batch: 1, To: 1, Refused: []wire.Refusal{{Place: 0, Code: data.CodeValue}}})})
	k := done.Keep[0]
	if k.Acked != 10 || k.Seen != 1 || fmt.Sprint(k.Refused) != "[[9 change-id] [10 change-kind] [7 change-value]]" {
		t.Errorf("on Ack: %+v", k)
	}
}

func TestNewsIsGivenAsJSON(t *testing.T) {
	l, _ := joined(t, 0, 2)
	tellLink(t, l, `{"do":"kept","now":10,"number":1,"waiting":0}`, more{})
	news := &wire.News{From: 0, To: 2, Changes: []change.Change{
		{Where: change.Where{Kind: "part", ID: "tailtailtailtail", Field: "name"}, Value: json.RawMessage(`"a \"tail\"\n"`), Stamp: stamp.Stamp{Counter: 41, Device: project}},
		{Where: change.Where{Kind: "part", ID: "tailtailtailtail", Field: "name"}, Value: json.RawMessage(`null`), Stamp: stamp.Stamp{Counter: 1 << 52, Device: project}, Base: stamp.Stamp{Counter: 41, Device: project}},
	}}
	done := tellLink(t, l, `{"do":"frame","now":20,"conn":1}`, more{frame: encoded(t, news)})
	got, err := json.Marshal(done.Keep[0].Changes)
	want := `[["part","tailtailtailtail","name",41,"riverriverriver2","a \"tail\"\n",null],["part","tailtailtailtail","name",4503599627370496,"riverriverriver2",null,[41,"riverriverriver2"]]]`
	if err != nil || string(got) != want || done.Keep[0].Seen != 2 {
		t.Errorf("keeps %s, %v", got, err)
	}
}

func TestNonsenseIsToldToTheLink(t *testing.T) {
	l, _ := joined(t, 0, 0)
	for event, code := range map[string]string{
		``: data.CodeNotJSON, `[]`: data.CodeNotJSON, `{"do":1}`: data.CodeNotJSON, `{"do":"tick","more":1}`: data.CodeNotJSON,
		`{"do":"dance"}`: fault.UnknownMethod, `{}`: fault.UnknownMethod,
	} {
		text, _ := l.tell([]byte(event), more{})
		if e := errorOf(t, text); e.Code != code {
			t.Errorf("%s: told %+v", event, e)
		}
	}
	for _, rows := range []string{"1\tpart", "x\tpart\n", "\n", "-1\t\n"} {
		text, _ := l.tell([]byte(`{"do":"rows","now":11,"ask":1}`), more{rows: rows})
		if e := errorOf(t, text); e.Code != data.CodeShape {
			t.Errorf("%q: told %+v", rows, e)
		}
	}
	done := tellLink(t, l, `{"do":"frame","now":20,"conn":1}`, more{frame: []byte("nonsense")})
	if bye, err := wire.Decode(done.frames[0]); err != nil || bye.(*wire.Bye).Code != wire.ByeMessage || !done.Close {
		t.Errorf("a frame of nonsense: %+v, %v", done, err)
	}
}

func TestAnEventBeforeTheStartIsToldAndACrashEndsTheLink(t *testing.T) {
	l := &link{}
	if text, _ := l.tell([]byte(`{"do":"tick","now":1}`), more{}); string(text) != `{"gone":true}` {
		t.Errorf("told %s", text)
	}
	events["crash"] = func(*peer.Device, event, more) error { panic("out of wool") }
	defer delete(events, "crash")
	l, _ = joined(t, 0, 0)
	if text, _ := l.tell([]byte(`{"do":"crash"}`), more{}); errorOf(t, text).Code != fault.EngineCrashed || l.device != nil {
		t.Errorf("told %s", text)
	}
}
