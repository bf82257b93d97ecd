package peer

import (
	"cmp"
	"slices"

	"needlesight/sync/change"
	"needlesight/sync/wire"
)

// Read asks for what stands in home's log after a number up to another, in
// its order: as many of the first of them as weigh no more than Weight
// together (wire.Weigh), and at least one.
type Read struct {
	After, To uint64
	Weight    int
}

// Result is what the store did with a batch: see Home.Appended.
type Result struct {
	Accepted uint64         // changes that got new numbers: Last-Accepted+1 to Last
	Last     uint64         // the last number of the log
	Refused  []wire.Refusal // by their places in the batch
}

// Live is news that has just happened, for every other device: its frame is
// made once. It may be used by several goroutines.
type Live struct {
	from, to uint64
	frame    []byte // nil if it must be read from the log
}

// NewLive makes news of changes that were appended as numbers after from up
// to from+len(changes), in this order.
func NewLive(from uint64, changes []change.Change) *Live {
	l := &Live{from: from, to: from + uint64(len(changes))}
	if frame, err := wire.Encode(&wire.News{From: from, To: l.to, Changes: changes}); err == nil {
		l.frame = frame
	}
	return l
}

// To is the number up to which home's log has grown.
func (l *Live) To() uint64 { return l.to }

// Grown tells that home's log has grown up to a number, where what was
// appended is not at hand; each Home reads it from the log.
func Grown(to uint64) *Live { return &Live{to: to} }

// HomeOut is what home wants done for one connection.
type HomeOut struct {
	Frames [][]byte        // to be sent, in this order
	Append []change.Change // to be appended to the log; Appended or Failed answers. Nil for none
	Read   *Read           // to be read from the log; Log or Failed answers
	Close  bool            // the connection, after the frames are sent
}

// Home is home's end of one connection. After every call, Out must be asked
// for what is to be done.
//
// The server, for every connection: gives it every frame that comes; appends
// and reads as Out asks, no other call of it needing to wait meanwhile; gives
// a Live to every other Home, as soon as something is on the disk, in any
// order; calls Tick every few seconds. When the log begins a new epoch, every
// Home must be closed.
type Home struct {
	epoch  string
	device string // which device may speak here, and once it said Hello, does; "" for any
	wall   uint64
	since  int64

	greeted bool
	over    bool
	heard   int64
	waiting uint64

	last    uint64 // of the log
	sent    uint64 // the device was given what stands up to here, or brought it
	seen    uint64 // and has kept it up to here
	own     []span // what it brought, above sent
	flights []flight
	flying  int // bytes of flights
	window  int // of bytes of flights
	reading *Read

	batch     uint64 // the last that came
	pushes    []*wire.Push
	appending bool

	out HomeOut
}

// span is numbers of the log, both ends belonging to it.
type span struct{ first, last uint64 }

// flight is news under way.
type flight struct {
	to    uint64
	bytes int
}

// HomeStart is what home knows when a device connects.
type HomeStart struct {
	Epoch  string // of the log
	Last   uint64 // the last number of the log; a Live that comes later is for this Home too
	Device string // the device that connects, if it is known: then no other may say Hello; or ""
	Wall   uint64 // the time in milliseconds since 1970 UTC, to be told to the device
}

// NewHome makes home's end of a connection that was just made.
func NewHome(now int64, s HomeStart) *Home {
	return &Home{epoch: s.Epoch, device: s.Device, wall: s.Wall, last: s.Last, since: now, heard: now, window: NewsWindow}
}

// Out gives what is to be done, each thing once.
func (h *Home) Out() HomeOut {
	out := h.out
	h.out = HomeOut{}
	return out
}

// Peer tells which device has said Hello (its id, or ""), how many changes it
// said are waiting there, and up to which number it has kept home's log.
func (h *Home) Peer() (device string, waiting, seen uint64) {
	if !h.greeted {
		return "", 0, 0
	}
	return h.device, h.waiting, h.seen
}

// Frame tells what came.
func (h *Home) Frame(now int64, frame []byte) {
	if h.over {
		return
	}
	h.heard = now
	m, err := wire.Decode(frame)
	if err != nil || !h.take(m) {
		h.end(wire.ByeMessage)
	}
}

// take does what a message asks for, and tells whether it may come now.
func (h *Home) take(m wire.Message) bool {
	switch m := m.(type) {
	case *wire.Bye:
		h.over, h.out.Close = true, true
		return true
	case *wire.Hello:
		return h.hello(m)
	}
	if !h.greeted {
		return false
	}
	switch m := m.(type) {
	case *wire.Push:
		return h.push(m)
	case *wire.Seen:
		return h.saw(m.To)
	case *wire.Ping:
		h.send(&wire.Pong{Mark: m.Mark})
	case *wire.Pong:
	default:
		return false
	}
	return true
}

func (h *Home) hello(m *wire.Hello) bool {
	if h.greeted {
		return false
	}
	version, code := wire.Agree(m.Low, m.High)
	if code == "" && h.device != "" && h.device != m.Device {
		code = wire.ByeStruck
	}
	if code != "" {
		h.end(code)
		return true
	}
	h.greeted, h.device, h.waiting = true, m.Device, m.Waiting
	if m.Epoch == h.epoch && m.After <= h.last { // else the log begins anew for this device
		h.sent, h.seen = m.After, m.After
	}
	h.send(&wire.Welcome{Version: version, Epoch: h.epoch, Last: h.last, Time: h.wall})
	h.read()
	return true
}

func (h *Home) push(m *wire.Push) bool {
	if m.Batch != h.batch+1 {
		return false
	}
	if len(h.pushes) == MaxPushes {
		h.end(wire.ByeTooFast)
		return true
	}
	h.batch = m.Batch
	h.pushes = append(h.pushes, m)
	h.append()
	return true
}

// append has the next push appended, when the one before is.
func (h *Home) append() {
	if !h.appending && len(h.pushes) > 0 {
		h.appending = true
		h.out.Append = h.pushes[0].Changes
	}
}

// Appended tells that what Out asked to append is on the disk, but for what
// was refused.
func (h *Home) Appended(r Result) {
	if h.over || !h.appending {
		return
	}
	batch := h.pushes[0].Batch
	h.pushes, h.appending = slices.Delete(h.pushes, 0, 1), false
	h.last = max(h.last, r.Last)
	h.owns(r)
	slices.SortFunc(r.Refused, func(a, b wire.Refusal) int { return cmp.Compare(a.Place, b.Place) })
	ack := &wire.Ack{Batch: batch, From: h.sent, Refused: r.Refused}
	if h.reading == nil { // else what is read follows what was sent
		h.skipOwn()
	}
	ack.To = h.sent
	h.send(ack)
	h.append()
	h.read()
}

// owns notes what the device brought itself.
func (h *Home) owns(r Result) {
	first, n := r.Last-r.Accepted+1, len(h.own)
	switch {
	case r.Accepted == 0:
	case n > 0 && h.own[n-1].last+1 == first:
		h.own[n-1].last = r.Last
	default:
		h.own = append(h.own, span{first, r.Last})
	}
}

// skipOwn passes over what the device brought itself. (Some of it may have
// been read from the log and sent, before it was known to be its own.)
func (h *Home) skipOwn() {
	for len(h.own) > 0 && h.own[0].first <= h.sent+1 {
		h.sent = max(h.sent, h.own[0].last)
		h.own = h.own[1:]
	}
}

// Failed tells that the store could not append or read. The code is one of
// wire, such as wire.ByeFull. The connection ends: what was not acked will be
// brought again.
func (h *Home) Failed(code string) { h.end(code) }

// read asks for what the device does not have, as far as it may be given more.
func (h *Home) read() {
	if h.over || !h.greeted || h.reading != nil || h.sent == h.last || h.flying >= h.window {
		return
	}
	to := h.last
	if len(h.own) > 0 {
		to = h.own[0].first - 1
	}
	h.reading = &Read{h.sent, to, wire.MaxWeight}
	h.out.Read = h.reading
}

// Log answers HomeOut.Read. It may give fewer changes than were asked for,
// but not none: that means that the log is broken, and ends the connection.
func (h *Home) Log(changes []change.Change) {
	if h.over || h.reading == nil {
		return
	}
	most := h.reading.To - h.reading.After
	h.reading = nil
	changes = changes[:min(uint64(wire.Fit(changes)), most)]
	if len(changes) == 0 {
		h.end(wire.ByeStopping)
		return
	}
	news := &wire.News{From: h.sent, Changes: changes}
	h.sent += uint64(len(changes))
	h.skipOwn()
	news.To = h.sent
	h.fly(h.send(news))
	h.read()
}

// Grew tells that another connection's changes are in the log.
func (h *Home) Grew(l *Live) {
	if h.over {
		return
	}
	h.last = max(h.last, l.to)
	if h.greeted && h.reading == nil && len(h.own) == 0 && l.frame != nil && l.from == h.sent && h.flying < h.window {
		h.sent = l.to
		h.out.Frames = append(h.out.Frames, l.frame)
		h.fly(len(l.frame))
	}
	h.read()
}

// fly notes news that was just sent.
func (h *Home) fly(bytes int) {
	h.flights = append(h.flights, flight{h.sent, bytes})
	h.flying += bytes
}

// saw notes what the device has kept.
func (h *Home) saw(to uint64) bool {
	if to > h.sent {
		return false
	}
	h.seen = max(h.seen, to)
	for len(h.flights) > 0 && h.flights[0].to <= to {
		h.flying -= h.flights[0].bytes
		h.flights = h.flights[1:]
	}
	h.read()
	return true
}

// Tick tells that time has passed.
func (h *Home) Tick(now int64) {
	if !h.greeted && now >= h.since+Patience || now >= h.heard+HomeWaits {
		h.end(wire.ByeSilent)
	}
}

// Stop ends the connection with a code of wire: because home stops, or the
// device is struck off, or there are too many connections.
func (h *Home) Stop(code string) { h.end(code) }

func (h *Home) end(code string) {
	if h.over {
		return
	}
	h.send(&wire.Bye{Code: code, Low: wire.Oldest, High: wire.Newest})
	h.over, h.out.Close = true, true
	h.pushes, h.flights, h.own = nil, nil, nil
	h.out.Append, h.out.Read = nil, nil
}

// send gives how many bytes it took; 0 if the message could not be written,
// which then ends the connection.
func (h *Home) send(m wire.Message) int {
	frame, err := wire.Encode(m)
	if err != nil {
		h.end(wire.ByeMessage)
		return 0
	}
	h.out.Frames = append(h.out.Frames, frame)
	return len(frame)
}
