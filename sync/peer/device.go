package peer

import (
	"errors"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/wire"
)

// Row is a row of a device's outbox: a change that home has not acked yet.
type Row struct {
	Number uint64 // from 1; a later row has a higher one, and none is given twice
	Change change.Change
}

// Rows asks for rows of the outbox: those after a number, the first of them
// first, at most so many. They must be read as they stand in the store, all
// at one moment. The answer is Device.Rows with the same Ask.
type Rows struct {
	Ask   uint64
	After uint64
	Most  int
}

// Refused is a row that home did not take, and why (a code of data, such as
// data.CodeValue). It stays on the device, but not in the outbox.
type Refused struct {
	Row  uint64
	Code string
}

// Keep is what the device's store must do in one transaction, all of it or
// nothing, in the order in which Keeps come. When it is on the disk,
// Device.Kept says so.
type Keep struct {
	Number uint64 // of this Keep, for Kept
	// Epoch, if not "", is to be kept as the epoch that home is known by.
	Epoch string
	// Again asks that every change ever kept here, whoever made it, be put in
	// the outbox, in place of what is there.
	Again   bool
	Changes []change.Change // to be kept and merged; some may be known already
	Seen    uint64          // to be kept as the number of home's log up to which all is here
	Acked   uint64          // rows up to this number leave the outbox; 0 for none
	Refused []Refused       // of the rows that leave it, those that home did not take
}

// DeviceOut is what a device wants done.
type DeviceOut struct {
	Close  bool     // the connection, after its frames are sent; then nothing more is told of it
	Dial   uint64   // a new connection to home, told of by this number from now on; 0 for none
	Frames [][]byte // to be sent, in this order
	Keep   []Keep   // to be kept, in this order
	Rows   *Rows    // to be read
}

// Phase is how far a device is with home.
type Phase int

// The phases.
const (
	Apart    Phase = iota // no connection; the next is tried when Device.Next says
	Dialling              // a connection is being made
	Greeting              // there is one; home has not answered yet
	Joined                // home has answered
)

// Status is what a screen needs to tell the truth about the sync.
type Status struct {
	Phase   Phase
	Code    string // why the last connection ended, if home or this device said so: a code of wire; "" when joined
	Heard   int64  // when home was last heard, in the clock's milliseconds; 0 for never since the start
	Waiting uint64 // changes that home has not acked
	Brought uint64 // changes that home has acked in this connection
	Seen    uint64 // the number of home's log up to which all is kept here
	Last    uint64 // the last number of home's log, as far as this device has heard
	Again   bool   // everything is being put in the outbox again, for a home that was restored
}

// Start is what a device's store holds when a Device is made.
type Start struct {
	Device  string // its id
	Epoch   string // the epoch that home is known by, or ""
	Seen    uint64 // the number of home's log up to which all is here
	Waiting uint64 // rows in the outbox
}

// Device is the end of a device. After every call, Out must be asked for
// what is to be done.
type Device struct {
	name    string
	epoch   string
	seen    uint64 // kept
	given   uint64 // handed out to be kept
	last    uint64
	waiting uint64
	brought uint64

	phase    Phase
	conn     uint64
	greeted  bool // Hello is sent
	failures int
	dialAt   int64
	barred   bool // not to be called again by itself
	code     string
	since    int64 // the phase began
	heard    int64
	pinged   int64 // when, if nothing was heard since; else 0
	mark     uint64

	keeps    []pending // handed out, not kept yet
	keep     uint64    // number of the last one
	settling bool      // the outbox is being filled again
	unseen   int       // bytes of news kept that home was not told of
	seenAt   int64     // when to tell, or 0

	batch  uint64 // of the last push
	under  []underway
	cursor uint64 // the last row that was read
	rest   []Row  // read, not pushed yet
	more   bool   // there may be rows after cursor
	ask    uint64
	asked  bool
	most   int // rows asked for at once

	out DeviceOut
}

// pending is a Keep that is handed out.
type pending struct {
	number, seen uint64
	bytes        int    // of the frame that brought it
	epoch        string // "" if it is the same still
}

// underway is a push that is not acked.
type underway struct {
	batch   uint64   // 0 if no row of it could be sent
	rows    []uint64 // the numbers of those that were, in their order
	last    uint64   // the last row it settles
	refused []Refused
}

// NewDevice makes the end of a device. It dials at the first Tick.
func NewDevice(s Start) *Device {
	return &Device{name: s.Device, epoch: s.Epoch, seen: s.Seen, given: s.Seen, waiting: s.Waiting, most: rowsAtOnce}
}

// Out gives what is to be done, each thing once.
func (d *Device) Out() DeviceOut {
	out := d.out
	d.out = DeviceOut{}
	return out
}

// Status tells how things stand.
func (d *Device) Status() Status {
	return Status{d.phase, d.code, d.heard, d.waiting, d.brought, d.seen, max(d.last, d.seen), d.settling}
}

// Connected tells that the connection of this number is made.
func (d *Device) Connected(now int64, conn uint64) {
	if conn != d.conn || d.phase != Dialling {
		return
	}
	d.become(now, Greeting)
	d.greet(now)
}

// greet says Hello, as soon as the store has kept all that was handed out:
// so that what Hello says is what the store holds.
func (d *Device) greet(now int64) {
	if d.phase != Greeting || d.greeted || len(d.keeps) > 0 {
		return
	}
	d.greeted, d.given, d.heard, d.pinged = true, d.seen, now, now
	d.unseen, d.seenAt = 0, 0
	d.send(now, &wire.Hello{Low: wire.Oldest, High: wire.Newest, Device: d.name, Epoch: d.epoch, After: d.seen, Waiting: d.waiting})
}

// Disconnected tells that the connection of this number is over, or could
// not be made.
func (d *Device) Disconnected(now int64, conn uint64) {
	if conn == d.conn && d.phase != Apart {
		d.part(now, "")
	}
}

// Frame tells what came over the connection of this number.
func (d *Device) Frame(now int64, conn uint64, frame []byte) {
	if conn != d.conn || !d.greeted {
		return
	}
	d.heard, d.pinged = now, 0
	m, err := wire.Decode(frame)
	if err != nil || !d.take(now, m, len(frame)) {
		d.end(now, wire.ByeMessage)
	}
}

// take does what a message asks for, and tells whether it may come now.
func (d *Device) take(now int64, m wire.Message, size int) bool {
	if bye, ok := m.(*wire.Bye); ok {
		d.dismissed(now, bye.Code)
		return true
	}
	if w, ok := m.(*wire.Welcome); ok {
		return d.welcome(now, w)
	}
	if d.phase != Joined {
		return false
	}
	switch m := m.(type) {
	case *wire.News:
		return d.news(m, size)
	case *wire.Ack:
		return d.ack(now, m)
	case *wire.Ping:
		d.send(now, &wire.Pong{Mark: m.Mark})
	case *wire.Pong:
	default:
		return false
	}
	return true
}

// welcome joins home. When home is in another life than the one this device
// knew, or lacks what it had, the log begins anew and all is brought again.
func (d *Device) welcome(now int64, w *wire.Welcome) bool {
	if d.phase != Greeting {
		return false
	}
	again := d.epoch != "" && (w.Epoch != d.epoch || w.Last < d.seen)
	if again || w.Epoch != d.epoch {
		d.given, d.settling = 0, again
		d.hand(Keep{Epoch: w.Epoch, Again: again}, pending{epoch: w.Epoch})
	}
	d.become(now, Joined)
	d.code, d.last, d.more = "", w.Last, true
	d.pump(now)
	return true
}

func (d *Device) news(m *wire.News, size int) bool {
	if m.From != d.given {
		return false
	}
	d.given, d.last = m.To, max(d.last, m.To)
	d.hand(Keep{Changes: m.Changes, Seen: m.To}, pending{bytes: size})
	return true
}

func (d *Device) ack(now int64, m *wire.Ack) bool {
	if len(d.under) == 0 || m.Batch != d.under[0].batch || m.From != d.given {
		return false
	}
	u := d.under[0]
	for _, r := range m.Refused {
		if r.Place >= uint64(len(u.rows)) {
			return false
		}
		u.refused = append(u.refused, Refused{u.rows[r.Place], r.Code})
	}
	d.under = d.under[1:]
	d.given, d.last = m.To, max(d.last, m.To)
	d.settled(u)
	d.pump(now)
	return true
}

// settled takes rows out of the outbox, and those that wait behind them and
// could not be sent.
func (d *Device) settled(u underway) {
	d.brought += uint64(len(u.rows))
	for len(d.under) > 0 && d.under[0].batch == 0 {
		next := d.under[0]
		d.under = d.under[1:]
		u.last, u.refused = next.last, append(u.refused, next.refused...)
	}
	d.hand(Keep{Seen: d.given, Acked: u.last, Refused: u.refused}, pending{})
}

// hand gives the store something to keep.
func (d *Device) hand(k Keep, p pending) {
	d.keep++
	k.Number, p.number, p.seen = d.keep, d.keep, k.Seen
	d.keeps = append(d.keeps, p)
	d.out.Keep = append(d.out.Keep, k)
}

// Kept tells that everything up to this Keep is on the disk, and how many
// rows the outbox held in that transaction.
func (d *Device) Kept(now int64, number, waiting uint64) {
	d.waiting = waiting
	for len(d.keeps) > 0 && d.keeps[0].number <= number {
		k := d.keeps[0]
		d.keeps = d.keeps[1:]
		d.seen = k.seen
		d.unseen += k.bytes
		if k.bytes > 0 && d.seenAt == 0 {
			d.seenAt = now + SeenAfter
		}
		if k.epoch != "" {
			d.epoch, d.settling, d.more = k.epoch, false, true
		}
	}
	d.tellSeen(now)
	d.greet(now)
	d.pump(now)
}

// tellSeen tells home what is kept: at once if it is much, else soon.
func (d *Device) tellSeen(now int64) {
	if d.phase != Joined || d.seenAt == 0 || d.unseen < seenEvery && now < d.seenAt {
		return
	}
	d.unseen, d.seenAt = 0, 0
	d.send(now, &wire.Seen{To: d.seen})
}

// Failed tells that the store could not keep the first Keep that Kept has not
// told of (it may be full), and has kept none after it. The device calls home
// again later, and home will send it all again.
func (d *Device) Failed(now int64) {
	d.keeps, d.settling = nil, false
	d.end(now, "")
}

// Waiting tells how many rows the outbox held in the transaction in which
// changes were made. Such calls, and Kept, come in the order in which the
// transactions were done.
func (d *Device) Waiting(now int64, rows uint64) {
	d.waiting, d.more = rows, true
	d.pump(now)
}

// Rows answers DeviceOut.Rows. Fewer than asked for means that there are no
// more.
func (d *Device) Rows(now int64, ask uint64, rows []Row) {
	if !d.asked || ask != d.ask {
		return
	}
	d.asked = false
	if len(rows) > 0 {
		d.cursor = rows[len(rows)-1].Number
		d.more = d.more || len(rows) >= d.most
		d.rest = rows
	}
	d.pump(now)
}

// rowsAtOnce are as many as one message can take.
const rowsAtOnce = wire.MaxWeight / 130

// pump pushes what there is to push, as far as home may be given more.
func (d *Device) pump(now int64) {
	for d.phase == Joined && !d.settling && len(d.under) < MaxPushes {
		if len(d.rest) == 0 {
			d.askForRows()
			return
		}
		d.push(now)
	}
}

func (d *Device) askForRows() {
	if !d.more || d.asked {
		return
	}
	d.ask++
	d.asked, d.more = true, false
	d.out.Rows = &Rows{d.ask, d.cursor, d.most}
}

// push sends as many rows as one message takes. Rows that no message can
// carry are refused here.
func (d *Device) push(now int64) {
	u := underway{}
	var changes []change.Change
	weight := 0
	for len(d.rest) > 0 {
		row := d.rest[0]
		err := wire.Sound(row.Change)
		if err == nil {
			if weight += wire.Weigh(row.Change); weight > wire.MaxWeight {
				break
			}
			changes, u.rows = append(changes, row.Change), append(u.rows, row.Number)
		} else {
			u.refused = append(u.refused, Refused{row.Number, codeOf(err)})
		}
		d.rest, u.last = d.rest[1:], row.Number
	}
	if len(changes) > 0 {
		d.batch++
		u.batch = d.batch
		if !d.send(now, &wire.Push{Batch: u.batch, Changes: changes}) {
			return
		}
	} else if len(d.under) == 0 {
		d.settled(u)
		return
	}
	d.under = append(d.under, u)
}

func codeOf(err error) string {
	if e, ok := errors.AsType[*data.Error](err); ok {
		return e.Code
	}
	return data.CodeShape
}

// Tick tells that time has passed. It is called when Next says, or more often.
func (d *Device) Tick(now int64) {
	switch d.phase {
	case Apart:
		if !d.barred && now >= d.dialAt {
			d.dial(now)
		}
	case Dialling:
		if now >= d.since+DialWithin {
			d.end(now, "")
		}
	default:
		if d.pinged != 0 && now >= d.pinged+Patience {
			d.end(now, wire.ByeSilent)
		} else if d.greeted && d.pinged == 0 && now >= d.heard+PingAfter {
			d.ping(now)
		}
		d.tellSeen(now)
	}
}

// Next is when Tick is to be called at the latest; -1 for never.
func (d *Device) Next() int64 {
	switch {
	case d.phase == Apart && d.barred:
		return -1
	case d.phase == Apart:
		return d.dialAt
	case d.phase == Dialling:
		return d.since + DialWithin
	case !d.greeted:
		return -1
	}
	next := d.heard + PingAfter
	if d.pinged != 0 {
		next = d.pinged + Patience
	}
	if d.seenAt != 0 {
		next = min(next, d.seenAt)
	}
	return next
}

// Woke tells that the device was woken, that the network came back, or that
// a person asks to try now: home is called at once, unless it was just heard.
func (d *Device) Woke(now int64) {
	fresh := now < max(d.heard, d.since)+Patience
	switch {
	case d.phase == Joined && fresh:
		d.ping(now)
		return
	case d.phase != Apart && fresh:
		return
	}
	d.end(now, wire.ByeSilent)
	d.failures, d.barred, d.dialAt = 0, false, now
	d.dial(now)
}

func (d *Device) ping(now int64) {
	d.mark++
	d.pinged = now
	d.send(now, &wire.Ping{Mark: d.mark})
}

func (d *Device) dial(now int64) {
	d.conn++
	d.become(now, Dialling)
	d.out.Dial = d.conn
}

func (d *Device) become(now int64, phase Phase) { d.phase, d.since = phase, now }

// send tells whether the message could be written, as every one here can.
func (d *Device) send(now int64, m wire.Message) bool {
	frame, err := wire.Encode(m)
	if err != nil {
		d.end(now, wire.ByeMessage)
		return false
	}
	d.out.Frames = append(d.out.Frames, frame)
	return true
}

// end closes the connection, and says why if the code is one of wire.
func (d *Device) end(now int64, code string) {
	if d.phase == Apart {
		return
	}
	if d.greeted && code != "" {
		if frame, err := wire.Encode(&wire.Bye{Code: code, Low: wire.Oldest, High: wire.Newest}); err == nil {
			d.out.Frames = append(d.out.Frames, frame)
		}
	}
	d.out.Close = true
	d.part(now, code)
}

// dismissed is what follows home's Bye.
func (d *Device) dismissed(now int64, code string) {
	d.out.Close = true
	d.part(now, code)
	switch code {
	case wire.ByeStruck:
		d.barred = true
	case wire.ByeTooOld, wire.ByeTooNew:
		d.dialAt = now + LongWait
	case wire.ByeFull, wire.ByeBusy:
		d.dialAt = now + lastWait
	}
}

// part forgets the connection. What was handed out to be kept stays so.
func (d *Device) part(now int64, code string) {
	d.failures++
	if d.phase == Joined && now >= d.since+Patience && code != wire.ByeMessage {
		d.failures = 0
	}
	d.become(now, Apart)
	d.dialAt = now + Wait(d.name, d.failures)
	d.code, d.greeted, d.pinged = code, false, 0
	d.batch, d.under, d.brought, d.settling = 0, nil, 0, false
	d.cursor, d.rest, d.more, d.asked = 0, nil, false, false
	d.unseen, d.seenAt = 0, 0
}
