package peer

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
	"needlesight/sync/wire"
)

const phone, tablet, life, otherLife = "phonephonephonep", "tablettablettabl", "lifelifelifelife", "otherlifeotherli"

// records are changes of so many records of 6 small fields, by one device.
func records(device string, n int) (changes []change.Change) {
	project := `"projectprojectpr"`
	for i := range n {
		id := []byte("recordaaaaaaaaaa")
		for rest, at := i*7919+1, 15; rest > 0; rest, at = rest/26, at-1 {
			id[at] += byte(rest % 26)
		}
		for j, field := range []string{"project", "name", "axis", "order", "nailed", "binned"} {
			value := []string{project, fmt.Sprintf(`"part %d"`, i), `"length"`, fmt.Sprint(i % 25), "false", "null"}[j]
			changes = append(changes, change.Change{Where: change.Where{Kind: "part", ID: string(id), Field: field}, Value: json.RawMessage(value),
				Stamp: stamp.Stamp{Counter: uint64(len(changes) + 1), Device: device}})
		}
	}
	return changes
}

func rowsOf(changes []change.Change) (rows []Row) {
	for i, c := range changes {
		rows = append(rows, Row{uint64(i + 1), c})
	}
	return rows
}

func encode(t testing.TB, m wire.Message) []byte {
	t.Helper()
	frame, err := wire.Encode(m)
	if err != nil {
		t.Fatal(err)
	}
	return frame
}

func decode(t testing.TB, frame []byte) wire.Message {
	t.Helper()
	m, err := wire.Decode(frame)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// joined is a device that home has just answered.
func joined(t testing.TB, s Start, w wire.Welcome) (*Device, DeviceOut) {
	t.Helper()
	d := NewDevice(s)
	d.Tick(0)
	dial := d.Out().Dial
	if dial == 0 {
		t.Fatal("the device does not dial")
	}
	d.Connected(0, dial)
	if _, ok := decode(t, d.Out().Frames[0]).(*wire.Hello); !ok {
		t.Fatal("the device does not say Hello")
	}
	w.Version = 1
	d.Frame(0, dial, encode(t, &w))
	return d, d.Out()
}

// byeIn is the code of the Bye among frames, or "".
func byeIn(t testing.TB, frames [][]byte) string {
	for _, frame := range frames {
		if bye, ok := decode(t, frame).(*wire.Bye); ok {
			return bye.Code
		}
	}
	return ""
}

func TestADeviceTakesNoGaps(t *testing.T) {
	for name, m := range map[string]wire.Message{
		"news after a gap":      &wire.News{From: 6, To: 7},
		"news once more":        &wire.News{From: 4, To: 5},
		"an ack after a gap":    &wire.Ack{Batch: 1, From: 6, To: 7},
		"an ack of a push not":  &wire.Ack{Batch: 2, From: 5, To: 5},
		"a place not pushed":    &wire.Ack{Batch: 1, From: 5, To: 5, Refused: []wire.Refusal{{Place: 6, Code: data.CodeValue}}},
		"a second welcome":      &wire.Welcome{Version: 1, Epoch: life, Last: 9},
		"what only devices say": &wire.Seen{To: 5},
	} {
		d, out := joined(t, Start{phone, life, 5, 6}, wire.Welcome{Epoch: life, Last: 9})
		d.Rows(0, out.Rows.Ask, rowsOf(records(phone, 1)))
		d.Out()
		d.Frame(0, 1, encode(t, m))
		out = d.Out()
		if !out.Close || byeIn(t, out.Frames) != wire.ByeMessage || len(out.Keep) > 0 {
			t.Errorf("%s: %+v", name, out)
		}
	}
}

func TestADeviceBringsAllToAnotherLife(t *testing.T) {
	for name, test := range map[string]struct {
		start Start
		home  wire.Welcome
		again bool
	}{
		"the same":         {Start{phone, life, 5, 0}, wire.Welcome{Epoch: life, Last: 5}, false},
		"the first":        {Start{phone, "", 0, 0}, wire.Welcome{Epoch: life, Last: 5}, false},
		"restored":         {Start{phone, life, 5, 0}, wire.Welcome{Epoch: otherLife, Last: 9}, true},
		"gone back unsaid": {Start{phone, life, 5, 0}, wire.Welcome{Epoch: life, Last: 4}, true},
	} {
		d, out := joined(t, test.start, test.home)
		again := len(out.Keep) == 1 && out.Keep[0].Again
		if again != test.again || d.Status().Again != test.again || (out.Rows == nil) != test.again {
			t.Errorf("%s: %+v", name, out)
		}
		if !again {
			continue
		}
		d.Kept(0, out.Keep[0].Number, 42)
		if s := d.Status(); s.Again || s.Waiting != 42 || s.Seen != 0 || d.Out().Rows == nil {
			t.Errorf("%s, kept: %+v", name, s)
		}
	}
}

func TestWhatCannotBeSentIsRefusedInItsTurn(t *testing.T) {
	d, out := joined(t, Start{phone, life, 0, 4}, wire.Welcome{Epoch: life})
	rows := rowsOf(records(phone, 1))[:4]
	rows[1].Change.Value = json.RawMessage(`{ }`)
	rows[3].Change.ID = ""
	d.Rows(0, out.Rows.Ask, rows[:3])
	d.Waiting(0, 4)
	out = d.Out()
	d.Rows(0, out.Rows.Ask, rows[3:])
	push := decode(t, out.Frames[0]).(*wire.Push)
	if out = d.Out(); len(push.Changes) != 2 || len(out.Keep) > 0 {
		t.Fatalf("pushed %d, %+v", len(push.Changes), out)
	}
	d.Frame(0, 1, encode(t, &wire.Ack{Batch: 1, To: 1, Refused: []wire.Refusal{{Place: 1, Code: data.CodeFactTwice}}}))
	k := d.Out().Keep
	want := []Refused{{2, data.CodeShape}, {3, data.CodeFactTwice}, {4, data.CodeID}}
	if len(k) != 1 || k[0].Acked != 4 || k[0].Seen != 1 || !slices.Equal(k[0].Refused, want) {
		t.Errorf("%+v", k)
	}
}

func TestAFullDeviceAsksAgain(t *testing.T) {
	d, _ := joined(t, Start{phone, life, 5, 0}, wire.Welcome{Epoch: life, Last: 9})
	d.Frame(0, 1, encode(t, &wire.News{From: 5, To: 9}))
	d.Failed(0)
	if out := d.Out(); !out.Close {
		t.Fatalf("%+v", out)
	}
	d.Tick(d.Next())
	dial := d.Out().Dial
	d.Connected(100, dial)
	if hello := decode(t, d.Out().Frames[0]).(*wire.Hello); hello.After != 5 {
		t.Errorf("%+v", hello)
	}
}

func TestADeviceHearsWhyItIsSentAway(t *testing.T) {
	for code, wait := range map[string]int64{wire.ByeStruck: -1, wire.ByeTooOld: LongWait, wire.ByeTooNew: LongWait, wire.ByeFull: lastWait, wire.ByeBusy: lastWait,
		wire.ByeStopping: Wait(phone, 1), "a_code_to_come": Wait(phone, 1)} {
		d, _ := joined(t, Start{Device: phone, Epoch: life}, wire.Welcome{Epoch: life})
		d.Frame(0, 1, encode(t, &wire.Bye{Code: code, Low: 1, High: 1}))
		if out := d.Out(); !out.Close || d.Status().Code != code || d.Status().Phase != Apart || d.Next() != wait {
			t.Errorf("%s: %+v, %+v, next %d", code, out, d.Status(), d.Next())
		}
		d.Woke(1)
		if d.Out().Dial != 2 {
			t.Errorf("%s: does not try when asked", code)
		}
	}
}

func TestTimes(t *testing.T) {
	last := int64(0)
	for failures := range 20 {
		wait, full := Wait(phone, failures), min(int64(lastWait), firstWait<<max(failures-1, 0))
		if failures == 0 && wait != 0 || failures > 0 && (wait < full/2 || wait > full) {
			t.Errorf("after %d failures %d ms", failures, wait)
		}
		last = max(last, wait)
	}
	if last > lastWait || Wait(phone, 1<<40) > lastWait || Wait(phone, 5) == Wait(tablet, 5) {
		t.Error("the waits are too long, or not spread")
	}

	d, _ := joined(t, Start{Device: phone, Epoch: life}, wire.Welcome{Epoch: life})
	d.Tick(PingAfter - 1)
	if out := d.Out(); len(out.Frames) > 0 || d.Next() != PingAfter {
		t.Errorf("pings early, or is not called in time (%d)", d.Next())
	}
	d.Tick(PingAfter)
	ping, _ := decode(t, d.Out().Frames[0]).(*wire.Ping)
	d.Frame(PingAfter+5, 1, encode(t, &wire.Pong{Mark: ping.Mark}))
	if next := d.Next(); next != 2*PingAfter+5 {
		t.Errorf("next %d", next)
	}
	d.Tick(2*PingAfter + 5)
	d.Tick(2*PingAfter + 5 + Patience - 1)
	if out := d.Out(); out.Close {
		t.Error("is impatient")
	}
	d.Tick(2*PingAfter + 5 + Patience)
	if out := d.Out(); !out.Close || d.Status().Code != wire.ByeSilent || d.Next() != 2*PingAfter+5+Patience {
		t.Errorf("a dead connection: %+v, next %d", out, d.Next())
	}
}

func TestWaking(t *testing.T) {
	d, _ := joined(t, Start{Device: phone, Epoch: life}, wire.Welcome{Epoch: life})
	d.Woke(Patience - 1)
	if out := d.Out(); out.Close || len(out.Frames) != 1 {
		t.Errorf("just heard: %+v", out)
	}
	d.Woke(Patience * 6)
	if out := d.Out(); !out.Close || out.Dial != 2 {
		t.Errorf("after a sleep: %+v", out)
	}
	d.Disconnected(Patience*6+1, 1) // of the old connection, late
	d.Connected(Patience*6+2, 2)
	if out := d.Out(); len(out.Frames) != 1 || d.Status().Phase != Greeting {
		t.Errorf("joins again: %+v", out)
	}
}

func TestAConnectionThatDiesAtOnceIsNotMadeAtOnce(t *testing.T) {
	now := int64(0)
	d := NewDevice(Start{Device: phone, Epoch: life})
	for i := range 8 {
		now = max(now, d.Next())
		d.Tick(now)
		dial := d.Out().Dial
		d.Connected(now, dial)
		d.Frame(now, dial, encode(t, &wire.Welcome{Version: 1, Epoch: life}))
		d.Disconnected(now, dial)
		if wait := d.Next() - now; wait != Wait(phone, i+1) {
			t.Errorf("after %d short connections it waits %d ms", i+1, wait)
		}
	}
}

// greeted is home's end after Hello.
func greeted(t testing.TB, s HomeStart, hello wire.Hello) (*Home, HomeOut) {
	t.Helper()
	h := NewHome(0, s)
	hello.Low, hello.High = 1, 1
	h.Frame(0, encode(t, &hello))
	return h, h.Out()
}

func TestHomeSendsNobodyAwayWithoutAWord(t *testing.T) {
	late := []byte{1, 2, 3}
	for name, test := range map[string]struct {
		code   string
		device string
		frames [][]byte
	}{
		"a later version":     {wire.ByeTooNew, "", [][]byte{late}},
		"another device":      {wire.ByeStruck, tablet, [][]byte{encode(t, &wire.Hello{Low: 1, High: 1, Device: phone})}},
		"no Hello":            {wire.ByeMessage, "", [][]byte{encode(t, &wire.Ping{})}},
		"Hello twice":         {wire.ByeMessage, "", [][]byte{encode(t, &wire.Hello{Low: 1, High: 1, Device: phone}), encode(t, &wire.Hello{Low: 1, High: 1, Device: phone})}},
		"what only home says": {wire.ByeMessage, "", [][]byte{encode(t, &wire.Hello{Low: 1, High: 1, Device: phone}), encode(t, &wire.Ack{Batch: 1})}},
		"not a message":       {wire.ByeMessage, "", [][]byte{{0}}},
		"seen what was not":   {wire.ByeMessage, "", [][]byte{encode(t, &wire.Hello{Low: 1, High: 1, Device: phone}), encode(t, &wire.Seen{To: 1})}},
		"a push left out":     {wire.ByeMessage, "", [][]byte{encode(t, &wire.Hello{Low: 1, High: 1, Device: phone}), encode(t, &wire.Push{Batch: 2, Changes: records(phone, 1)})}},
	} {
		h := NewHome(0, HomeStart{Epoch: life, Device: test.device})
		for _, frame := range test.frames {
			h.Frame(0, frame)
		}
		if out := h.Out(); !out.Close || byeIn(t, out.Frames) != test.code || out.Append != nil || out.Read != nil {
			t.Errorf("%s: %+v", name, out)
		}
		h.Frame(0, test.frames[0])
		h.Grew(Grown(7))
		if out := h.Out(); len(out.Frames) > 0 || out.Read != nil {
			t.Errorf("%s: goes on after Bye", name)
		}
	}
	h := NewHome(0, HomeStart{Epoch: life})
	h.Tick(Patience)
	if byeIn(t, h.Out().Frames) != wire.ByeSilent {
		t.Error("home waits for Hello for ever")
	}
	h, _ = greeted(t, HomeStart{Epoch: life}, wire.Hello{Device: phone})
	h.Tick(HomeWaits - 1)
	if h.Out().Close {
		t.Error("home is impatient")
	}
	h.Tick(HomeWaits)
	if byeIn(t, h.Out().Frames) != wire.ByeSilent {
		t.Error("home waits for ever")
	}
}

func TestHomeHoldsOffWhoIsTooFast(t *testing.T) {
	h, _ := greeted(t, HomeStart{Epoch: life}, wire.Hello{Device: phone})
	for batch := range uint64(MaxPushes) {
		h.Frame(0, encode(t, &wire.Push{Batch: batch + 1, Changes: records(phone, 1)}))
	}
	if out := h.Out(); out.Close || len(out.Append) != 6 {
		t.Fatalf("%+v", out)
	}
	h.Frame(0, encode(t, &wire.Push{Batch: MaxPushes + 1, Changes: records(phone, 1)}))
	if byeIn(t, h.Out().Frames) != wire.ByeTooFast {
		t.Error("home takes any number of pushes")
	}
}

func TestHomeDoesNotSendBackWhatADeviceBrought(t *testing.T) {
	h, _ := greeted(t, HomeStart{Epoch: life, Last: 10}, wire.Hello{Device: phone, Epoch: life, After: 10})
	push := encode(t, &wire.Push{Batch: 1, Changes: records(phone, 1)[:3]})
	h.Frame(0, push)
	h.Out()
	h.Appended(Result{Accepted: 3, Last: 13})
	if ack := decode(t, h.Out().Frames[0]).(*wire.Ack); ack.From != 10 || ack.To != 13 {
		t.Errorf("its numbers do not move with the ack: %+v", ack)
	}
	h.Grew(Grown(15)) // 14 and 15 are another's
	read := h.Out().Read
	h.Frame(0, encode(t, &wire.Push{Batch: 2, Changes: records(phone, 1)[:2]}))
	h.Out()
	h.Appended(Result{Accepted: 2, Last: 17}) // 16 and 17 its own
	if ack := decode(t, h.Out().Frames[0]).(*wire.Ack); ack.From != 13 || ack.To != 13 {
		t.Errorf("it is told to have what it has not: %+v", ack)
	}
	if *read != (Read{13, 15, wire.MaxWeight}) {
		t.Errorf("read %+v", read)
	}
	h.Log(records(tablet, 1)[:2])
	out := h.Out()
	if news := decode(t, out.Frames[0]).(*wire.News); news.From != 13 || news.To != 17 || len(news.Changes) != 2 || out.Read != nil {
		t.Errorf("%+v, read %+v", news, out.Read)
	}
}

func TestHomeReadsPastNothingOfADevicesOwn(t *testing.T) {
	h, out := greeted(t, HomeStart{Epoch: life, Last: 2}, wire.Hello{Device: phone})
	if *out.Read != (Read{0, 2, wire.MaxWeight}) {
		t.Fatalf("%+v", out.Read)
	}
	h.Frame(0, encode(t, &wire.Push{Batch: 1, Changes: records(phone, 1)[:2]}))
	h.Appended(Result{Accepted: 2, Last: 4})
	h.Grew(Grown(6))
	h.Log(records(tablet, 1)[:1])
	if out = h.Out(); *out.Read != (Read{1, 2, wire.MaxWeight}) {
		t.Errorf("reads its own again: %+v", out.Read)
	}
	h.Log(records(tablet, 1)[:1])
	out = h.Out()
	if last := decode(t, out.Frames[len(out.Frames)-1]).(*wire.News); last.From != 1 || last.To != 4 || *out.Read != (Read{4, 6, wire.MaxWeight}) {
		t.Errorf("%+v, then read %+v", last, out.Read)
	}
}

func TestASlowDeviceIsNotServedAhead(t *testing.T) {
	log := records(tablet, 60_000)
	h, out := greeted(t, HomeStart{Epoch: life, Last: uint64(len(log))}, wire.Hello{Device: phone})
	sent, frames := 0, 0
	serve := func() {
		for out.Read != nil {
			r := *out.Read
			h.Log(log[r.After:min(r.To, r.After+2500)])
			out = h.Out()
			for _, frame := range out.Frames {
				sent += len(frame)
			}
			frames += len(out.Frames)
		}
	}
	serve()
	if sent < NewsWindow || sent > NewsWindow+wire.MaxFrame {
		t.Fatalf("%d bytes are under way", sent)
	}
	for i := range 1000 {
		h.Grew(NewLive(uint64(len(log)+i), log[:1]))
	}
	if out = h.Out(); len(out.Frames) > 0 || out.Read != nil || len(h.flights) != frames {
		t.Errorf("a slow device is given what is new: %d frames", len(out.Frames))
	}
	before := sent
	h.Frame(0, encode(t, &wire.Seen{To: h.flights[1].to}))
	out = h.Out()
	serve()
	if sent == before || h.flying > NewsWindow+wire.MaxFrame {
		t.Errorf("%d bytes more after it saw some, %d under way", sent-before, h.flying)
	}
}

func TestLiveNewsIsEncodedOnce(t *testing.T) {
	live := NewLive(4, records(tablet, 1))
	for after, want := range map[uint64]int{4: 1, 3: 0} {
		h, _ := greeted(t, HomeStart{Epoch: life, Last: 4}, wire.Hello{Device: phone, Epoch: life, After: after})
		h.Grew(live)
		out := h.Out()
		if len(out.Frames) != want || want == 1 && &out.Frames[0][0] != &live.frame[0] {
			t.Errorf("after %d: %d frames", after, len(out.Frames))
		}
	}
}

func TestStatusTellsTheTruth(t *testing.T) {
	d, out := joined(t, Start{phone, life, 5, 12}, wire.Welcome{Epoch: life, Last: 9})
	if s := d.Status(); s.Phase != Joined || s.Waiting != 12 || s.Seen != 5 || s.Last != 9 {
		t.Errorf("%+v", s)
	}
	d.Rows(0, out.Rows.Ask, rowsOf(records(phone, 2)))
	d.Frame(7, 1, encode(t, &wire.Ack{Batch: 1, From: 5, To: 5}))
	if s := d.Status(); s.Waiting != 12 || s.Brought != 12 || s.Heard != 7 {
		t.Errorf("acked, but not kept to be: %+v", s)
	}
	d.Kept(0, d.Out().Keep[0].Number, 0)
	if s := d.Status(); s.Waiting != 0 {
		t.Errorf("%+v", s)
	}
	d.Disconnected(8, 1)
	if s := d.Status(); s.Phase != Apart || s.Code != "" {
		t.Errorf("%+v", s)
	}
}

// homecoming brings changes from one device home, and to another, all in
// memory. It tells the bytes that went up and down.
func homecoming(t testing.TB, changes []change.Change) (up, down int) {
	d := NewDevice(Start{Device: phone, Waiting: uint64(len(changes))})
	d.Tick(0)
	d.Connected(0, d.Out().Dial)
	h := NewHome(0, HomeStart{Epoch: life})
	rows, log := rowsOf(changes), []change.Change(nil)
	for {
		out := d.Out()
		for _, k := range out.Keep {
			d.Kept(0, k.Number, uint64(len(changes)-len(log)))
		}
		if out.Rows != nil {
			d.Rows(0, out.Rows.Ask, rows[out.Rows.After:min(len(rows), int(out.Rows.After)+out.Rows.Most)])
		}
		for _, frame := range out.Frames {
			up += len(frame)
			h.Frame(0, frame)
		}
		for home := h.Out(); home.Append != nil || len(home.Frames) > 0; home = h.Out() {
			for _, frame := range home.Frames {
				d.Frame(0, 1, frame)
			}
			if home.Append != nil {
				log = append(log, home.Append...)
				h.Appended(Result{Accepted: uint64(len(home.Append)), Last: uint64(len(log))})
			}
		}
		if s := d.Status(); s.Waiting == 0 && s.Seen == uint64(len(changes)) {
			break
		}
	}
	got := bring(t, log, &down)
	if len(got) != len(changes) || !slices.EqualFunc(got, changes, change.Change.Equal) {
		t.Fatalf("%d changes came of %d", len(got), len(changes))
	}
	return up, down
}

// bring gives a log to an empty device.
func bring(t testing.TB, log []change.Change, down *int) (got []change.Change) {
	d := NewDevice(Start{Device: tablet})
	d.Tick(0)
	d.Connected(0, d.Out().Dial)
	h := NewHome(0, HomeStart{Epoch: life, Last: uint64(len(log))})
	for d.Status().Seen < uint64(len(log)) {
		out := d.Out()
		for _, k := range out.Keep {
			got = append(got, k.Changes...)
			d.Kept(0, k.Number, 0)
		}
		for _, frame := range out.Frames {
			h.Frame(0, frame)
		}
		home := h.Out()
		for _, frame := range home.Frames {
			*down += len(frame)
			d.Frame(0, 1, frame)
		}
		if home.Read != nil {
			h.Log(log[home.Read.After:min(home.Read.To, home.Read.After+2000)])
		}
	}
	return got
}

func TestHomecoming(t *testing.T) {
	changes := records(phone, 10_000)
	up, down := homecoming(t, changes)
	perUp, perDown := float64(up)/float64(len(changes)), float64(down)/float64(len(changes))
	t.Logf("%.2f bytes a value up, %.2f down, before deflate", perUp, perDown)
	if perUp > 10 || perDown > 10 {
		t.Error("more than 10 bytes a value")
	}
	big := records(phone, 20)
	for i := range big {
		big[i].Value = json.RawMessage(`"` + strings.Repeat("w", i*change.MaxValue/len(big)) + `"`)
	}
	homecoming(t, big)
}

func TestNothingNewIsCheap(t *testing.T) {
	h, out := greeted(t, HomeStart{Epoch: life, Last: 60_000, Wall: 1_795_600_000_000}, wire.Hello{Device: phone, Epoch: life, After: 60_000})
	hello := encode(t, &wire.Hello{Low: 1, High: 1, Device: phone, Epoch: life, After: 60_000})
	if total := len(hello) + len(out.Frames[0]); len(out.Frames) != 1 || total > 100 || h.Out().Read != nil {
		t.Errorf("%d frames, %d bytes", len(out.Frames)+1, total)
	}
}

func BenchmarkHomecoming(b *testing.B) {
	changes := records(phone, 10_000)
	for b.Loop() {
		homecoming(b, changes)
	}
}

// BenchmarkLiveNews is one edit until 50 other ends have its frame to send.
func BenchmarkLiveNews(b *testing.B) {
	var homes []*Home
	for range 50 {
		h, _ := greeted(b, HomeStart{Epoch: life}, wire.Hello{Device: phone})
		homes = append(homes, h)
	}
	c := records(tablet, 1)[:1]
	for at := uint64(0); b.Loop(); at++ {
		live := NewLive(at, c)
		seen := encode(b, &wire.Seen{To: at + 1})
		for _, h := range homes {
			h.Grew(live)
			h.Frame(0, seen)
			if len(h.Out().Frames) != 1 {
				b.Fatal("no news")
			}
		}
	}
}

// FuzzHome gives home any frames: each a length and its bytes.
func FuzzHome(f *testing.F) {
	hello := encode(f, &wire.Hello{Low: 1, High: 1, Device: phone})
	for _, m := range []wire.Message{&wire.Push{Batch: 1, Changes: records(phone, 1)}, &wire.Seen{To: 1}, &wire.Ping{Mark: 1}, &wire.Bye{Code: "a", Low: 1, High: 1}} {
		f.Add(slices.Concat([]byte{byte(len(hello))}, hello, []byte{byte(len(encode(f, m)))}, encode(f, m)))
	}
	f.Fuzz(func(t *testing.T, script []byte) {
		h := NewHome(0, HomeStart{Epoch: life, Last: 6})
		each(script, func(frame []byte) {
			h.Frame(0, frame)
			out := h.Out()
			if out.Append != nil {
				h.Appended(Result{Accepted: uint64(len(out.Append)), Last: h.last + uint64(len(out.Append))})
			}
			if out.Read != nil {
				h.Log(records(tablet, 1)[:min(6, out.Read.To-out.Read.After)])
			}
			for _, frame := range out.Frames {
				decode(t, frame)
			}
		})
	})
}

// FuzzDevice gives a device any frames.
func FuzzDevice(f *testing.F) {
	welcome := encode(f, &wire.Welcome{Version: 1, Epoch: otherLife, Last: 9})
	for _, m := range []wire.Message{&wire.News{From: 0, To: 6, Changes: records(tablet, 1)}, &wire.Ack{Batch: 1}, &wire.Ping{Mark: 1}, &wire.Bye{Code: "a", Low: 1, High: 1}} {
		f.Add(slices.Concat([]byte{byte(len(welcome))}, welcome, []byte{byte(len(encode(f, m)))}, encode(f, m)))
	}
	f.Fuzz(func(t *testing.T, script []byte) {
		d := NewDevice(Start{phone, life, 3, 6})
		d.Tick(0)
		d.Connected(0, 1)
		each(script, func(frame []byte) {
			d.Frame(0, 1, frame)
			out := d.Out()
			for _, k := range out.Keep {
				d.Kept(0, k.Number, 6)
			}
			if out.Rows != nil {
				d.Rows(0, out.Rows.Ask, rowsOf(records(phone, 1)))
			}
			for _, frame := range out.Frames {
				decode(t, frame)
			}
		})
	})
}

func each(script []byte, do func(frame []byte)) {
	for len(script) > 0 {
		n := min(int(script[0]), len(script)-1)
		do(script[1 : 1+n])
		script = script[1+n:]
	}
}
