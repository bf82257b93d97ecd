package wire

import (
	"encoding/hex"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// example is the conversation that PROTOCOL.md shows byte by byte.
func example() []Message {
	const phone, tablet, holt = "otterotterotter2", "barnowlbarnowl22", "holtholtholtholt"
	tail, head := "tailtailtailtail", "headheadheadhead"
	at := func(id, field, value string, s, base stamp.Stamp) change.Change {
		return change.Change{Where: change.Where{Kind: "part", ID: id, Field: field}, Value: json.RawMessage(value), Stamp: s, Base: base}
	}
	none := stamp.Stamp{}
	return []Message{
		&Hello{1, 1, phone, holt, 7, 5},
		&Welcome{1, holt, 9, 1_795_600_800_000},
		&Push{1, []change.Change{
			at(tail, "project", `"riverriverriver2"`, stamp.Stamp{Counter: 41, Device: phone}, none),
			at(tail, "name", `"tail"`, stamp.Stamp{Counter: 42, Device: phone}, none),
			at(head, "project", `"riverriverriver2"`, stamp.Stamp{Counter: 43, Device: phone}, none),
			at(head, "name", `"head"`, stamp.Stamp{Counter: 44, Device: phone}, none),
			at(tail, "nailed", `7`, stamp.Stamp{Counter: 45, Device: phone}, stamp.Stamp{Counter: 39, Device: tablet}),
		}},
		&News{7, 9, []change.Change{
			at(tail, "order", `3`, stamp.Stamp{Counter: 38, Device: tablet}, none),
			at(tail, "nailed", `true`, stamp.Stamp{Counter: 39, Device: tablet}, none),
		}},
		&Ack{1, 9, 13, []Refusal{{4, data.CodeValue}}},
		&Seen{13},
		&Ping{3},
		&Pong{3},
		&Bye{ByeStopping, 1, 1},
	}
}

// TestTheProtocolPaperIsRight reads the bytes in PROTOCOL.md: of every line
// of a hex block, what stands before two spaces.
func TestTheProtocolPaperIsRight(t *testing.T) {
	paper, err := os.ReadFile("../PROTOCOL.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := strings.Split(string(paper), "```hex\n")[1:]
	if len(blocks) != len(example()) {
		t.Fatalf("the paper shows %d messages, not %d", len(blocks), len(example()))
	}
	for i, m := range example() {
		block, _, _ := strings.Cut(blocks[i], "```")
		digits := ""
		for line := range strings.Lines(block) {
			bytes, _, _ := strings.Cut(strings.TrimSpace(line), "  ")
			digits += strings.ReplaceAll(bytes, " ", "")
		}
		shown, err := hex.DecodeString(digits)
		if err != nil {
			t.Fatalf("%T: %v", m, err)
		}
		written, err := Encode(m)
		if err != nil || string(written) != string(shown) {
			t.Errorf("%T is written as\n% x\n, the paper shows\n% x\n(%v)", m, written, shown, err)
		}
		if read, err := Decode(shown); err != nil || !reflect.DeepEqual(read, m) {
			t.Errorf("the paper's %T is read as %+v, %v", m, read, err)
		}
	}
}
