package server

import (
	"errors"
	"io"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"needlesight/data/store"
	"needlesight/sync/change"
	"needlesight/sync/peer"
	"needlesight/sync/wire"
)

// The subprotocols of the websocket. A page cannot send a header of its own, and a
// token has no place in an address, so it comes as the name of a second one.
const (
	protocol    = "needlesight.1"
	tokenPrefix = "token."
)

const (
	writeTime    = 20 * time.Second // for a frame to be taken; then the device is slow beyond use
	tickTime     = 5 * time.Second
	goodbyeTime  = 2 * time.Second // for what is under way when a connection ends
	deflateFrom  = 1 << 10         // bytes of a frame from which on it is worth it
	framesAhead  = 4               // that are read before the first is done
	deflateLevel = 1
)

var upgrader = websocket.Upgrader{
	HandshakeTimeout:  headerTime,
	ReadBufferSize:    4 << 10,
	WriteBufferSize:   4 << 10,
	WriteBufferPool:   &sync.Pool{},
	Subprotocols:      []string{protocol},
	EnableCompression: true,
	CheckOrigin:       func(*http.Request) bool { return true }, // guard has looked
}

// link is one connection of a device.
type link struct {
	home  *Home
	end   *peer.Home
	mail  *mail
	ws    *websocket.Conn
	from  string        // the device's id at home
	heard <-chan []byte // what listen passes on; nil while it does not run
}

// sync is the websocket. Who may not come in is told so by a message, since a page
// cannot read why it was refused otherwise.
func (h *Home) sync(w http.ResponseWriter, r *http.Request) {
	device, err := h.o.Store.Authenticate(tokenIn(r))
	if err != nil && !h.limits.stranger(r) {
		tell(w, http.StatusTooManyRequests, "too-fast", "Too many tries. Wait a minute.")
		return
	}
	ws, failed := upgrader.Upgrade(w, r, nil)
	if failed != nil {
		return // it has answered
	}
	defer ws.Close()
	ws.SetReadLimit(wire.MaxFrame)
	if ws.SetCompressionLevel(deflateLevel) != nil {
		panic("no such level of compression")
	}
	l := &link{home: h, mail: newMail(), ws: ws, from: device.ID}
	if err != nil {
		l.refuse(wire.ByeStruck)
		return
	}
	if code := h.hub.add(l, device.ID); code != "" {
		l.refuse(code)
		return
	}
	defer h.hub.remove(l)
	if _, err := h.o.Store.Authenticate(tokenIn(r)); err != nil { // struck off before it could be told
		l.refuse(wire.ByeStruck)
		return
	}
	if err := h.o.Store.Touch(device.ID, h.o.Now()); err != nil {
		h.o.Log.Warn("it could not be noted that a device was here", "error", err)
	}
	l.run()
}

// tokenIn is the token that a websocket's request offers.
func tokenIn(r *http.Request) string {
	for _, p := range websocket.Subprotocols(r) {
		if token, is := strings.CutPrefix(p, tokenPrefix); is {
			return token
		}
	}
	return ""
}

// refuse says Bye.
func (l *link) refuse(code string) {
	l.end = peer.NewHome(l.home.now(), peer.HomeStart{})
	l.end.Stop(code)
	l.do()
}

// run speaks with the device until the connection is over.
func (l *link) run() {
	h := l.home
	// Only now: what is appended from here on comes by mail.
	l.end = peer.NewHome(h.now(), peer.HomeStart{Epoch: h.o.Store.Epoch(), Last: h.o.Store.Last(), Wall: uint64(h.o.Now().UnixMilli())})
	frames, stop := make(chan []byte, framesAhead), make(chan struct{})
	defer close(stop)
	l.heard = frames
	go l.listen(frames, stop)
	tick := time.NewTicker(tickTime)
	defer tick.Stop()
	greeted := false
	for {
		select {
		case frame, more := <-frames:
			if !more {
				return
			}
			if !greeted {
				greeted = true
				l.greet(frame)
			}
			l.end.Frame(h.now(), frame)
		case <-l.mail.there:
			news, code := l.mail.take()
			for _, n := range news {
				l.end.Grew(n)
			}
			if code != "" {
				l.end.Stop(code)
			}
		case <-tick.C:
			l.end.Tick(h.now())
		}
		if !l.do() {
			return
		}
	}
}

// listen passes frames on until the connection is over.
func (l *link) listen(frames chan<- []byte, stop <-chan struct{}) {
	defer close(frames)
	for {
		kind, frame, err := l.receive()
		if err != nil {
			return
		}
		if kind != websocket.BinaryMessage {
			frame = nil // which is no message, and is told so
		}
		select {
		case frames <- frame:
		case <-stop:
			return
		}
	}
}

// receive reads a frame. The websocket's own limit counts what comes; unpacked that
// may be a thousand times as much.
func (l *link) receive() (kind int, frame []byte, err error) {
	kind, r, err := l.ws.NextReader()
	if err != nil {
		return 0, nil, err
	}
	frame, err = io.ReadAll(io.LimitReader(r, wire.MaxFrame+1))
	if err == nil && len(frame) > wire.MaxFrame {
		err = websocket.ErrReadLimit
	}
	return kind, frame, err
}

// greet looks at a device's first message before its turn: under which id it makes
// stamps, and whether it knows more of home than home does. Then this home has lost
// what it had said was kept (an old copy of its folder was put back), and every
// device has to bring everything again.
func (l *link) greet(frame []byte) {
	m, err := wire.Decode(frame)
	hello, is := m.(*wire.Hello)
	if err != nil || !is {
		return
	}
	s := l.home.o.Store
	if hello.Epoch == s.Epoch() && hello.After > s.Last() && l.home.limits.epochs.Allow() {
		l.home.o.Log.Warn("a device knows more than this home does, which is as after a restore: every device is asked for everything it has")
		if err := s.NewEpoch(); err != nil {
			l.end.Failed(l.failed(err))
			return
		}
		l.home.hub.stop("", wire.ByeStopping)
	}
	if hello.Device != "" {
		if err := s.Made(l.from, hello.Device); err != nil {
			l.home.o.Log.Warn("a device's id could not be noted", "error", err)
		}
	}
}

// do does what the machine asks for, until it asks for nothing more. It is false
// when the connection is over.
func (l *link) do() bool {
	for {
		out := l.end.Out()
		for _, frame := range out.Frames {
			if !l.send(frame) {
				return false
			}
		}
		switch {
		case out.Close:
			l.goodbye()
			return false
		case out.Append == nil && out.Read == nil:
			return true
		}
		if out.Append != nil {
			l.append(out.Append)
		}
		if out.Read != nil {
			l.read(*out.Read)
		}
	}
}

func (l *link) send(frame []byte) bool {
	l.ws.EnableWriteCompression(len(frame) >= deflateFrom)
	if l.ws.SetWriteDeadline(time.Now().Add(writeTime)) != nil {
		return false
	}
	return l.ws.WriteMessage(websocket.BinaryMessage, frame) == nil
}

// goodbye ends the websocket as its protocol wants (RFC 6455, 5.5.1), and reads what
// is still under way: a socket that is closed with bytes unread may take back what
// was just sent, Bye too. Whether the device hears it does not matter.
func (l *link) goodbye() {
	_ = l.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseNormalClosure, ""), time.Now().Add(time.Second))
	_ = l.ws.NetConn().SetReadDeadline(time.Now().Add(goodbyeTime))
	if l.heard != nil {
		for range l.heard { // until listen ends it
		}
		return
	}
	for err := error(nil); err == nil; {
		_, _, err = l.ws.NextReader()
	}
}

// append has the store take what the device brought, and tells the others.
func (l *link) append(batch []change.Change) {
	r, err := l.home.o.Store.Append(batch)
	if r.Accepted > 0 {
		l.home.hub.tell(l, newsOf(r, batch))
	}
	if err != nil {
		l.end.Failed(l.failed(err))
		return
	}
	result := peer.Result{Accepted: uint64(r.Accepted), Last: r.Last}
	for _, refusal := range r.Refused {
		result.Refused = append(result.Refused, wire.Refusal{Place: uint64(refusal.Index), Code: refusal.Code})
	}
	l.end.Appended(result)
}

// newsOf is what the others are told of a batch: the changes themselves if all of
// them are new, else to look into the log.
func newsOf(r store.AppendResult, batch []change.Change) *peer.Live {
	if r.Accepted == len(batch) {
		return peer.NewLive(r.Last-uint64(r.Accepted), batch)
	}
	return peer.Grown(r.Last)
}

// errEnough ends a reading of the log.
var errEnough = errors.New("enough was read")

// read reads the log for the device.
func (l *link) read(want peer.Read) {
	var changes []change.Change
	weight := 0
	err := l.home.o.Store.After(want.After, 0, func(number uint64, c change.Change) error {
		weight += wire.Weigh(c)
		if number > want.To || weight > want.Weight && len(changes) > 0 {
			return errEnough
		}
		changes = append(changes, c)
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		l.end.Failed(l.failed(err))
		return
	}
	l.end.Log(changes)
}

// failed is the code of wire for an error of the store.
func (l *link) failed(err error) string {
	if errors.Is(err, store.ErrFull) {
		return wire.ByeFull
	}
	l.home.o.Log.Error("the store did not do as asked", "error", err)
	if errors.Is(err, store.ErrFailed) {
		l.home.fail(err)
	}
	return wire.ByeStopping
}
