package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"needlesight/data"
	"needlesight/pwa/engine/fault"
	"needlesight/sync/change"
	"needlesight/sync/peer"
	"needlesight/sync/stamp"
	"needlesight/sync/wire"
)

// link is the phone's end of the sync. What happens is told to it in small
// JSON texts; many changes come and go as text that is put together by hand,
// since encoding/json would take longer for them than everything else.
type link struct{ device *peer.Device }

// event is what is told to the link: what happened, when, and to what.
type event struct {
	Do      string `json:"do"`      // a name of events
	Now     int64  `json:"now"`     // ms of a clock that never goes back
	Conn    uint64 `json:"conn"`    // connected, disconnected, frame
	Number  uint64 `json:"number"`  // kept
	Waiting uint64 `json:"waiting"` // start, kept, waiting
	Ask     uint64 `json:"ask"`     // rows
	Device  string `json:"device"`  // start
	Epoch   string `json:"epoch"`   // start
	Seen    uint64 `json:"seen"`    // start
}

// more is what comes with an event besides: the rows of rows, or the frame of
// frame.
type more struct {
	rows  string
	frame []byte
}

// events are what can be told to a device that was started.
var events = map[string]func(d *peer.Device, e event, m more) error{
	"tick":         func(d *peer.Device, e event, _ more) error { d.Tick(e.Now); return nil },
	"woke":         func(d *peer.Device, e event, _ more) error { d.Woke(e.Now); return nil },
	"connected":    func(d *peer.Device, e event, _ more) error { d.Connected(e.Now, e.Conn); return nil },
	"disconnected": func(d *peer.Device, e event, _ more) error { d.Disconnected(e.Now, e.Conn); return nil },
	"frame":        func(d *peer.Device, e event, m more) error { d.Frame(e.Now, e.Conn, m.frame); return nil },
	"kept":         func(d *peer.Device, e event, _ more) error { d.Kept(e.Now, e.Number, e.Waiting); return nil },
	"failed":       func(d *peer.Device, e event, _ more) error { d.Failed(e.Now); return nil },
	"waiting":      func(d *peer.Device, e event, _ more) error { d.Waiting(e.Now, e.Waiting); return nil },
	"rows":         tellRows,
}

func tellRows(d *peer.Device, e event, m more) error {
	rows, err := readRows(m.rows)
	if err == nil {
		d.Rows(e.Now, e.Ask, rows)
	}
	return err
}

// tell tells the link of an event, and gives what is to be done: a JSON text
// (see appendOut) and the frames to be sent. A panic is told as
// engine-crashed; then the link is gone and must be started anew.
func (l *link) tell(request []byte, m more) (answer []byte, frames [][]byte) {
	defer func() {
		if crash := recover(); crash != nil {
			l.device = nil
			answer, frames = told(fault.New(fault.EngineCrashed, "", "The link met a fault of its own: %.200v.", crash)), nil
		}
	}()
	var e event
	d := json.NewDecoder(bytes.NewReader(request))
	d.DisallowUnknownFields()
	if err := d.Decode(&e); err != nil {
		return told(&data.Error{Code: data.CodeNotJSON, Text: "this is not an event of the link: " + err.Error()}), nil
	}
	if e.Do == "start" {
		l.device = peer.NewDevice(peer.Start{Device: e.Device, Epoch: e.Epoch, Seen: e.Seen, Waiting: e.Waiting})
	} else if do, known := events[e.Do]; !known {
		return told(fault.New(fault.UnknownMethod, "do", "The link knows no event %.40q.", e.Do)), nil
	} else if l.device == nil {
		return []byte(`{"gone":true}`), nil
	} else if err := do(l.device, e, m); err != nil {
		return told(err), nil
	}
	out := l.device.Out()
	return appendOut(nil, out, l.device.Next(), l.device.Status()), out.Frames
}

// readRows reads rows of the outbox: a line each, with tabs between its number,
// the kind, the id, the field, the stamp's counter and device, the value as
// JSON, and the base's counter and device (or nothing and nothing). A line
// that is not so becomes a row that home will never be sent, and that is told.
func readRows(text string) ([]peer.Row, error) {
	values := []byte(text)
	rows := make([]peer.Row, 0, strings.Count(text, "\n"))
	for at := 0; at < len(text); {
		end := strings.IndexByte(text[at:], '\n')
		if end < 0 {
			return nil, &data.Error{Code: data.CodeShape, Text: "the rows are cut off"}
		}
		row, err := readRow(text[at:at+end], values[at:at+end])
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
		at += end + 1
	}
	return rows, nil
}

// readRow reads one line, given as text and as the same bytes.
func readRow(line string, same []byte) (row peer.Row, err error) {
	var parts [9]string
	n, at, value := 0, 0, 0
	for ; n < len(parts); n++ {
		end := strings.IndexByte(line[at:], '\t')
		if end < 0 {
			parts[n] = line[at:]
			n++
			break
		}
		if parts[n] = line[at : at+end]; n == 6 {
			value = at
		}
		at += end + 1
	}
	if row.Number, err = strconv.ParseUint(parts[0], 10, 53); err != nil {
		return row, &data.Error{Code: data.CodeShape, Text: fmt.Sprintf("a row has no number: %.40q", line)}
	}
	if n != len(parts) {
		return row, nil // its change is none: Device refuses it
	}
	row.Change = change.Change{
		Where: change.Where{Kind: parts[1], ID: parts[2], Field: parts[3]},
		Stamp: stampOf(parts[4], parts[5]), Base: stampOf(parts[7], parts[8]),
		Value: same[value : value+len(parts[6]) : value+len(parts[6])],
	}
	if wire.Sound(row.Change) != nil {
		row.Change.Value = canonical(row.Change.Value)
	}
	return row, nil
}

// stampOf is a stamp, none if there is nothing, or one that is no stamp.
func stampOf(counter, device string) stamp.Stamp {
	n, err := strconv.ParseUint(counter, 10, 53)
	if err != nil && counter != "" {
		return stamp.Stamp{Device: "none"}
	}
	return stamp.Stamp{Counter: n, Device: device}
}

// canonical writes a value as it must be sent, if it can be read at all.
func canonical(text []byte) []byte {
	var value any
	if json.Unmarshal(text, &value) != nil {
		return text
	}
	if again, err := change.Canonical(value); err == nil {
		return again
	}
	return text
}

var phases = [...]string{peer.Apart: "apart", peer.Dialling: "dialling", peer.Greeting: "greeting", peer.Joined: "joined"}

// appendOut writes what is to be done, and how things stand, as JSON:
//
//	{"close":false,"dial":0,"next":0,"status":{...},"rows":null or {"ask":1,"after":0,"most":9},"keep":[...]}
//
// Names, ids and codes hold nothing that JSON would escape, and values are
// JSON already.
func appendOut(b []byte, o peer.DeviceOut, next int64, s peer.Status) []byte {
	b = fmt.Appendf(b, `{"close":%t,"dial":%d,"next":%d,"status":{"phase":%q,"code":%q,"heard":%d,"waiting":%d,"brought":%d,"seen":%d,"last":%d,"again":%t},"rows":`,
		o.Close, o.Dial, next, phases[s.Phase], s.Code, s.Heard, s.Waiting, s.Brought, s.Seen, s.Last, s.Again)
	if o.Rows == nil {
		b = append(b, "null"...)
	} else {
		b = fmt.Appendf(b, `{"ask":%d,"after":%d,"most":%d}`, o.Rows.Ask, o.Rows.After, o.Rows.Most)
	}
	b = append(b, `,"keep":[`...)
	for i, k := range o.Keep {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendKeep(b, k)
	}
	return append(b, "]}"...)
}

func appendKeep(b []byte, k peer.Keep) []byte {
	b = fmt.Appendf(b, `{"number":%d,"epoch":%q,"again":%t,"seen":%d,"acked":%d,"refused":[`, k.Number, k.Epoch, k.Again, k.Seen, k.Acked)
	for i, r := range k.Refused {
		if i > 0 {
			b = append(b, ',')
		}
		b = fmt.Appendf(b, `[%d,%q]`, r.Row, r.Code)
	}
	b = append(b, `],"changes":[`...)
	for i, c := range k.Changes {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendChange(b, c)
	}
	return append(b, "]}"...)
}

// appendChange writes [kind, id, field, counter, device, value, base].
func appendChange(b []byte, c change.Change) []byte {
	b = append(append(b, `["`...), c.Kind...)
	b = append(append(b, `","`...), c.ID...)
	b = append(append(b, `","`...), c.Field...)
	b = strconv.AppendUint(append(b, `",`...), c.Stamp.Counter, 10)
	b = append(append(b, `,"`...), c.Stamp.Device...)
	b = append(append(b, `",`...), c.Value...)
	if c.Base.IsNone() {
		return append(b, ",null]"...)
	}
	b = strconv.AppendUint(append(b, ",["...), c.Base.Counter, 10)
	b = append(append(b, `,"`...), c.Base.Device...)
	return append(b, `"]]`...)
}
