package peer

import (
	"encoding/json"
	"fmt"
	"slices"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/merge"
	"needlesight/sync/stamp"
	"needlesight/sync/wire"
)

// The first bytes of some frames, as PROTOCOL.md has them.
const pushKind, ackKind, byeKind = 3, 4, 9

// A world is a home, its devices and the network between them, in which
// everything that can happen is a step, taken in an order that is drawn. What
// is on a disk survives a crash; all else does not. Stores, disks, the network
// and the clock are as slow or as quick as the draw will have it.
type world struct {
	pick    func(n int) int // draws 0 to n-1
	fatal   func(format string, args ...any)
	now     int64
	ids     int
	home    *simHome
	devices []*simDevice
	links   []*link
	made    map[stamp.Stamp]change.Change // every change ever made
	// held are those that some disk holds or held, but for those that went
	// with the last disk that held them.
	held  map[stamp.Stamp]bool
	tally map[string]int // how often what was gone through
}

// simHome is the computer at home: its disk, and backups of it.
type simHome struct {
	epoch   string
	log     []change.Change
	known   map[stamp.Stamp]bool
	backups []int // how long the log was
}

// simDevice is a phone: its disk, and what runs.
type simDevice struct {
	// On its disk.
	id, epoch string
	seen      uint64
	counter   uint64
	known     map[stamp.Stamp]bool
	changes   []change.Change
	outbox    []Row
	row       uint64
	refused   map[stamp.Stamp]bool
	// Running.
	end   *Device
	keeps []Keep
	asks  []*ask
	conn  uint64
	link  *link // nil while there is none
}

// ask is a question for rows of the outbox: it is read at one moment, and
// answered at a later one.
type ask struct {
	Rows
	read bool
	rows []Row
}

// link is a connection, as it is at both its ends.
type link struct {
	device           *simDevice
	conn             uint64
	home             *Home
	deviceUp, homeUp bool
	garbled          bool
	lost             bool // what the device sends reaches nobody, and it has not noticed
	toHome, toDevice [][]byte
	appending        []change.Change
	reading          *Read
	results          []Result
	lives            []*Live
	pushed           map[uint64][]change.Change
}

func newWorld(devices int, pick func(n int) int, fatal func(string, ...any)) *world {
	w := &world{pick: pick, fatal: fatal, made: map[stamp.Stamp]change.Change{}, held: map[stamp.Stamp]bool{}, tally: map[string]int{}}
	w.home = &simHome{epoch: w.id(), known: map[stamp.Stamp]bool{}}
	for range devices {
		w.devices = append(w.devices, w.newDevice())
	}
	return w
}

// id makes an id that is not taken.
func (w *world) id() string {
	w.ids++
	id := []byte("aaaaaaaaaaaaaaaa")
	for n, at := w.ids, 15; n > 0; n, at = n/26, at-1 {
		id[at] += byte(n % 26)
	}
	return string(id)
}

func (w *world) newDevice() *simDevice {
	d := &simDevice{id: w.id(), known: map[stamp.Stamp]bool{}, refused: map[stamp.Stamp]bool{}}
	w.start(d)
	return d
}

// start starts a device's program on what its disk holds.
func (w *world) start(d *simDevice) {
	d.end = NewDevice(Start{d.id, d.epoch, d.seen, uint64(len(d.outbox))})
	d.end.most = 1 + w.pick(4)
	d.keeps, d.asks, d.conn = nil, nil, 0
}

// after does what a device's end asks for.
func (w *world) after(d *simDevice) {
	out := d.end.Out()
	for _, frame := range out.Frames {
		w.checkBye(d.link, frame)
	}
	if d.link == nil && len(out.Frames) > 0 {
		w.fatal("frames without a connection")
	} else if d.link != nil && !d.link.lost {
		d.link.toHome = append(d.link.toHome, out.Frames...)
	}
	if out.Close {
		d.hangUp()
	}
	if out.Dial != 0 {
		d.conn = out.Dial
	}
	d.keeps = append(d.keeps, out.Keep...)
	if out.Rows != nil {
		d.asks = append(d.asks, &ask{Rows: *out.Rows})
	}
}

// hangUp closes a device's connection, or gives up making one.
func (d *simDevice) hangUp() {
	if d.conn = 0; d.link != nil {
		d.link.deviceUp, d.link.toDevice, d.link = false, nil, nil
	}
}

// afterHome does what home asks for on a link.
func (w *world) afterHome(l *link) {
	out := l.home.Out()
	for _, frame := range out.Frames {
		w.checkBye(l, frame)
		w.checkAck(l, frame)
		if l.deviceUp && !l.lost {
			l.toDevice = append(l.toDevice, frame)
		}
	}
	if out.Append != nil {
		l.appending = out.Append
	}
	if out.Read != nil {
		l.reading = out.Read
	}
	if out.Close {
		l.homeUp = false
	}
}

// checkBye fails if an end finds fault with what came, on a link that was
// not garbled.
func (w *world) checkBye(l *link, frame []byte) {
	if frame[0] != byeKind {
		return
	}
	m, _ := wire.Decode(frame)
	if bye, ok := m.(*wire.Bye); ok && !l.garbled && bye.Code != wire.ByeFull && bye.Code != wire.ByeSilent {
		w.fatal("an honest link ended with %s", bye.Code)
	}
}

// checkAck fails if home acks what is not on its disk.
func (w *world) checkAck(l *link, frame []byte) {
	if frame[0] != ackKind {
		return
	}
	m, _ := wire.Decode(frame)
	ack := m.(*wire.Ack)
	for i, c := range l.pushed[ack.Batch] {
		refused := slices.ContainsFunc(ack.Refused, func(r wire.Refusal) bool { return r.Place == uint64(i) })
		if refused == w.home.known[c.Stamp] {
			w.fatal("home acked %v (refused: %v), on its disk: %v", c, refused, !refused)
		}
	}
}

// change makes a change on a device; its store keeps it at once.
func (w *world) change(d *simDevice) {
	where := change.Where{Kind: "part", ID: "recordrecordreco", Field: []string{"name", "order", "axis"}[w.pick(3)]}
	value := map[string][]string{"name": {`"tail"`, `"head"`}, "order": {"1", "2.5"}, "axis": {`"length"`, `"width"`}}[where.Field][w.pick(2)]
	switch w.pick(30) {
	case 0:
		where.Kind = "shoe" // home does not know it
	case 1:
		value = `{"b":0, "a":0}` // no message can carry it
	}
	d.counter++
	c := change.Change{Where: where, Value: json.RawMessage(value), Stamp: stamp.Stamp{Counter: d.counter, Device: d.id}}
	for _, before := range d.changes { // in sight of the latest
		if before.Where == where && c.Base.Before(before.Stamp) {
			c.Base = before.Stamp
		}
	}
	w.made[c.Stamp] = c
	w.keepChange(d, c)
	d.row++
	d.outbox = append(d.outbox, Row{d.row, c})
	d.end.Waiting(w.now, uint64(len(d.outbox)))
	w.after(d)
}

func (w *world) keepChange(d *simDevice, c change.Change) {
	w.held[c.Stamp] = true
	d.counter = max(d.counter, c.Stamp.Counter)
	if !d.known[c.Stamp] {
		d.known[c.Stamp] = true
		d.changes = append(d.changes, c)
	}
}

// keep has a device's store do the next transaction.
func (w *world) keep(d *simDevice) {
	if len(d.keeps) == 0 {
		return
	}
	k := d.keeps[0]
	d.keeps = d.keeps[1:]
	if k.Epoch != "" {
		d.epoch = k.Epoch
	}
	if k.Again {
		d.outbox = nil
		for _, c := range d.changes {
			d.row++
			d.outbox = append(d.outbox, Row{d.row, c})
		}
		w.tally["again"]++
	}
	for _, c := range k.Changes {
		if known, ok := w.made[c.Stamp]; ok && !known.Equal(c) {
			w.fatal("%v came as %+v", known, c)
		}
		w.keepChange(d, c)
	}
	for len(d.outbox) > 0 && d.outbox[0].Number <= k.Acked {
		row := d.outbox[0]
		if slices.ContainsFunc(k.Refused, func(r Refused) bool { return r.Row == row.Number }) {
			d.refused[row.Change.Stamp] = true
		}
		d.outbox = d.outbox[1:]
	}
	w.checkSeen(d, k.Seen)
	d.seen = k.Seen
	d.end.Kept(w.now, k.Number, uint64(len(d.outbox)))
	w.after(d)
}

// checkSeen fails if a device believes that it has what it has not.
func (w *world) checkSeen(d *simDevice, seen uint64) {
	if d.epoch != w.home.epoch {
		return // home was restored meanwhile
	}
	for n := d.seen; n < seen; n++ {
		if c := w.home.log[n]; !d.known[c.Stamp] {
			w.fatal("%s believes it has all up to %d, but not %v", d.id, seen, c)
		}
	}
}

// read has a device's store read the rows that were asked for first, or
// answer, if it has read them.
func (w *world) read(d *simDevice) {
	if len(d.asks) == 0 {
		return
	}
	a := d.asks[0]
	if !a.read {
		a.read = true
		for _, row := range d.outbox {
			if row.Number > a.After && len(a.rows) < a.Most {
				a.rows = append(a.rows, row)
			}
		}
		return
	}
	d.asks = d.asks[1:]
	d.end.Rows(w.now, a.Ask, a.rows)
	w.after(d)
}

// answerDial makes the connection that a device asks for, or not.
func (w *world) answerDial(d *simDevice, ok bool) {
	if d.conn == 0 {
		return
	}
	conn := d.conn
	d.conn = 0
	if !ok {
		d.end.Disconnected(w.now, conn)
		w.after(d)
		return
	}
	l := &link{device: d, conn: conn, deviceUp: true, homeUp: true, pushed: map[uint64][]change.Change{}}
	l.home = NewHome(w.now, HomeStart{Epoch: w.home.epoch, Last: uint64(len(w.home.log)), Device: d.id})
	l.home.window = 1 + w.pick(300)*(1+w.pick(8))
	d.link = l
	w.links = append(w.links, l)
	d.end.Connected(w.now, conn)
	w.after(d)
}

// deliver brings the next frame of a link to home or to the device.
func (w *world) deliver(l *link, toHome bool) {
	if toHome && len(l.toHome) > 0 && l.homeUp {
		frame := l.toHome[0]
		l.toHome = l.toHome[1:]
		if frame[0] == pushKind {
			m, _ := wire.Decode(frame)
			p := m.(*wire.Push)
			l.pushed[p.Batch] = p.Changes
		}
		l.home.Frame(w.now, frame)
		w.afterHome(l)
	}
	if !toHome && len(l.toDevice) > 0 && l.deviceUp {
		frame := l.toDevice[0]
		l.toDevice = l.toDevice[1:]
		l.device.end.Frame(w.now, l.conn, frame)
		w.after(l.device)
	}
}

// append has home's disk take a batch, as data/store does.
func (w *world) append(l *link) {
	if l.appending == nil || !l.homeUp {
		return
	}
	var r Result
	var fresh []change.Change
	for i, c := range l.appending {
		if c.Check() != nil {
			r.Refused = append(r.Refused, wire.Refusal{Place: uint64(i), Code: data.CodeKind})
		} else if !w.home.known[c.Stamp] {
			w.home.known[c.Stamp], w.held[c.Stamp] = true, true
			fresh = append(fresh, c)
		}
	}
	from := uint64(len(w.home.log))
	w.home.log = append(w.home.log, fresh...)
	r.Accepted, r.Last = uint64(len(fresh)), uint64(len(w.home.log))
	l.appending = nil
	l.results = append(l.results, r)
	if len(fresh) == 0 {
		return
	}
	live := NewLive(from, fresh)
	if w.pick(4) == 0 {
		live = Grown(r.Last)
	}
	for _, other := range w.links {
		if other != l && other.homeUp {
			other.lives = append(other.lives, live)
		}
	}
}

// tellHome tells a Home the next thing that it waits to hear.
func (w *world) tellHome(l *link) {
	if !l.homeUp {
		return
	}
	switch which := w.pick(3); {
	case which == 0 && len(l.results) > 0:
		l.home.Appended(l.results[0])
		l.results = l.results[1:]
	case which == 1 && len(l.lives) > 0:
		i := w.pick(len(l.lives)) // in any order
		l.home.Grew(l.lives[i])
		l.lives = slices.Delete(l.lives, i, i+1)
	case which == 2 && l.reading != nil:
		log := w.home.log[l.reading.After:l.reading.To]
		l.reading = nil
		l.home.Log(log[:1+w.pick(len(log))])
	}
	w.afterHome(l)
}

// tick lets time pass.
func (w *world) tick(by int64) {
	w.now += by
	for _, d := range w.devices {
		if next := d.end.Next(); next >= 0 && next <= w.now {
			d.end.Tick(w.now)
			w.after(d)
		}
	}
	for _, l := range w.links {
		if l.homeUp {
			l.home.Tick(w.now)
			w.afterHome(l)
		}
	}
}

// cut cuts a connection: of the bytes under way each way, some arrive, and of
// a frame of which not all bytes arrive, none. Either end hears of it at once,
// or never.
func (w *world) cut(l *link) {
	l.toHome, l.toDevice = w.prefix(l.toHome), w.prefix(l.toDevice)
	for len(l.toDevice) > 0 && l.deviceUp {
		w.deliver(l, false)
	}
	if d := l.device; d.link == l && w.pick(2) == 0 {
		d.link, l.deviceUp = nil, false
		d.end.Disconnected(w.now, l.conn)
		w.after(d)
	}
	l.lost = true
	if w.pick(2) == 0 {
		for len(l.toHome) > 0 && l.homeUp {
			w.deliver(l, true)
		}
		l.homeUp = false
	} // else what is under way may still come much later
}

// prefix is what arrives of frames that are cut at some byte.
func (w *world) prefix(frames [][]byte) [][]byte {
	total := 0
	for _, f := range frames {
		total += len(f)
	}
	cut := w.pick(total + 1)
	for i, f := range frames {
		if cut -= len(f); cut < 0 {
			return frames[:i]
		}
	}
	return frames
}

// garble spoils a link as no honest network does: a frame comes twice, or two
// change places, or a byte changes.
func (w *world) garble(l *link) {
	way := &l.toDevice
	if len(*way) < 2 || w.pick(4) == 0 {
		way = &l.toHome
	}
	if len(*way) < 2 {
		return
	}
	i := w.pick(len(*way))
	switch w.pick(3) {
	case 0:
		*way = slices.Insert(*way, i, (*way)[i])
	case 1:
		j := w.pick(len(*way))
		(*way)[i], (*way)[j] = (*way)[j], (*way)[i]
	default:
		*way = (*way)[:i] // the rest is lost, though the connection stays
	}
	l.garbled = true
	w.tally["garbled"]++
}

// crash stops a device's program, or home's, and starts it again.
func (w *world) crash(d *simDevice) {
	d.hangUp()
	w.start(d)
}

func (w *world) crashHome() {
	for _, l := range w.links {
		l.homeUp, l.appending, l.reading, l.results, l.lives = false, nil, nil, nil, nil
	}
}

// restore puts an older backup in place of what home has.
func (w *world) restore() {
	if len(w.home.backups) == 0 {
		return
	}
	w.crashHome()
	w.home.log = slices.Clone(w.home.log[:w.home.backups[w.pick(len(w.home.backups))]])
	w.home.epoch = w.id()
	w.home.known = map[stamp.Stamp]bool{}
	for _, c := range w.home.log {
		w.home.known[c.Stamp] = true
	}
	w.home.backups = nil
	w.forget()
}

// empty takes everything from a device; it begins as a new one.
func (w *world) empty(i int) {
	w.crash(w.devices[i])
	w.devices[i] = w.newDevice()
	w.forget()
}

// forget drops what no disk holds any more from what is held. (It may still
// be under way, and be held again.)
func (w *world) forget() {
	for at := range w.held {
		still := w.home.known[at]
		for _, d := range w.devices {
			still = still || d.known[at]
		}
		if !still {
			w.tally["forgotten"]++
			delete(w.held, at)
		}
	}
}

// step lets one thing happen.
func (w *world) step() {
	i := w.pick(len(w.devices))
	d := w.devices[i]
	switch what := w.pick(100); {
	case what < 14:
		w.change(d)
	case what < 22:
		w.answerDial(d, w.pick(8) > 0)
	case what < 36:
		w.keep(d)
	case what < 44:
		w.read(d)
	case what < 50:
		w.tick(int64(w.pick(4)) * int64(w.pick(20_000)))
	case what < 51:
		d.end.Woke(w.now)
		w.after(d)
	case what < 52:
		w.crash(d)
	case what < 53 && w.pick(4) == 0:
		w.crashHome()
	case what < 54:
		w.home.backups = append(w.home.backups, len(w.home.log))
	case what < 55 && w.pick(3) == 0:
		w.restore()
	case what < 56 && w.pick(3) == 0:
		w.empty(i)
	case what < 57 && len(d.keeps) > 0: // the device's store is full
		d.keeps = nil
		d.end.Failed(w.now)
		w.after(d)
	default:
		w.stepLink(what)
	}
}

// stepLink lets one thing happen on a link.
func (w *world) stepLink(what int) {
	if len(w.links) == 0 {
		return
	}
	at := w.pick(len(w.links))
	l := w.links[at]
	switch {
	case what < 70:
		w.deliver(l, true)
	case what < 79:
		w.deliver(l, false)
	case what < 84:
		w.append(l)
	case what < 94:
		w.tellHome(l)
	case what < 95:
		w.cut(l)
	case what < 99:
		w.garble(l)
	default: // home's store fails
		if l.appending != nil || l.reading != nil {
			l.appending, l.reading = nil, nil
			l.home.Failed(wire.ByeFull)
			w.afterHome(l)
		}
	}
	if !l.homeUp && !l.deviceUp {
		w.links = slices.Delete(w.links, at, at+1)
	}
}

// settle lets all faults end, and all that is under way arrive. Home takes
// the long-lost frames of old connections first.
func (w *world) settle() {
	for round := 0; !w.quiet(); round++ {
		if round > 2000 {
			w.fatal("no peace after %d rounds: %s", round, w.describe())
			return
		}
		for _, d := range w.devices {
			w.answerDial(d, true)
			w.read(d)
			w.read(d)
			for len(d.keeps) > 0 {
				w.keep(d)
			}
		}
		for _, l := range w.links {
			for l.homeUp && len(l.toHome) > 0 {
				w.deliver(l, true)
			}
			w.append(l)
			for range 3 {
				w.tellHome(l)
			}
			for l.deviceUp && len(l.toDevice) > 0 {
				w.deliver(l, false)
			}
			if l.deviceUp && !l.homeUp && !l.lost { // the device hears that home closed
				l.device.end.Disconnected(w.now, l.conn)
				l.deviceUp, l.device.link = false, nil
				w.after(l.device)
			}
		}
		w.links = slices.DeleteFunc(w.links, func(l *link) bool { return !l.homeUp && !l.deviceUp })
		w.tick(1000)
	}
}

// quiet tells whether every device says that it has all and home has all.
func (w *world) quiet() bool {
	for _, d := range w.devices {
		s := d.end.Status()
		if s.Phase != Joined || s.Waiting > 0 || s.Again || s.Seen != uint64(len(w.home.log)) || len(d.keeps) > 0 {
			return false
		}
	}
	return true
}

func (w *world) describe() string {
	text := fmt.Sprintf("home has %d", len(w.home.log))
	for _, d := range w.devices {
		text += fmt.Sprintf("; %s %+v keeps %d outbox %d", d.id, d.end.Status(), len(d.keeps), len(d.outbox))
	}
	return text
}

// check asks whether nothing is lost and all are equal.
func (w *world) check() {
	for at := range w.held {
		c := w.made[at]
		if !w.home.known[at] && wire.Sound(c) == nil && c.Check() == nil {
			w.fatal("home has lost %v", c)
		}
	}
	for _, c := range w.home.log {
		if !w.made[c.Stamp].Equal(c) {
			w.fatal("home has what nobody made: %v", c)
		}
	}
	want, err := merge.Fields(w.home.log)
	if err != nil {
		w.fatal("home's log does not agree: %v", err)
	}
	for _, d := range w.devices {
		var shared []change.Change
		for _, c := range d.changes {
			if w.home.known[c.Stamp] {
				shared = append(shared, c)
			} else if !d.refused[c.Stamp] {
				w.fatal("%s has %v, which home has not and did not refuse", d.id, c)
			}
		}
		got, err := merge.Fields(shared)
		if err != nil || !slices.EqualFunc(got, want, sameState) {
			w.fatal("%s is not equal to home (%v)", d.id, err)
		}
	}
}

func sameState(a, b merge.State) bool {
	return slices.EqualFunc(a.History, b.History, change.Change.Equal) && len(a.Apart) == len(b.Apart)
}

// run is one story from beginning to end.
func (w *world) run(steps int) {
	for range steps {
		w.step()
	}
	w.settle()
	w.check()
}
