package server

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"needlesight/sync/change"
	"needlesight/sync/peer"
	"needlesight/sync/stamp"
)

// served is a home that is served on loopback, plain or with TLS, and what a test knows of it.
type served struct {
	home  *Home
	base  string // http://127.0.0.1:port
	wsURL string
	tls   *tls.Config
	stop  func() error
}

// request asks the API with a token and a body in JSON.
func (s *served) request(t testing.TB, method, path, token string, body any) (int, map[string]any) {
	t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.NewRequest(method, s.base+path, bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	client := http.Client{Transport: &http.Transport{TLSClientConfig: s.tls, DisableKeepAlives: true}}
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	var told map[string]any
	_ = json.NewDecoder(response.Body).Decode(&told) // not every answer is JSON; who needs it misses it
	return response.StatusCode, told
}

// pair pairs a device and gives its id and token.
func (s *served) pair(t testing.TB, name string) (id, token string) {
	t.Helper()
	status, told := s.request(t, "POST", "/api/pair", "", map[string]string{"code": s.home.NewCode().Code, "name": name})
	if status != http.StatusOK {
		t.Fatalf("pairing answers %d %v", status, told)
	}
	return told["device"].(string), told["token"].(string)
}

// newID makes an id from a source of chance.
func newID(r *rand.Rand) string {
	id := make([]byte, 16)
	for i := range id {
		id[i] = "abcdefghijklmnopqrstuvwxyz234567"[r.IntN(32)]
	}
	return string(id)
}

// phone is a device with its store in memory, speaking over a real socket. It has one
// goroutine; everything happens there.
type phone struct {
	t      testing.TB
	dialer func() (*websocket.Conn, error)
	events chan func()
	stop   context.CancelFunc
	ended  chan struct{}
	began  time.Time
	chance *rand.Rand

	end  *peer.Device
	conn uint64
	ws   *websocket.Conn

	// What is on its disk.
	id, epoch string
	seen      uint64
	counter   uint64
	row       uint64
	outbox    []peer.Row
	known     map[stamp.Stamp]change.Change
	refused   []peer.Refused

	got     func([]change.Change) // told of what came, on the phone's goroutine
	waiting atomic.Int64
	took    atomic.Uint64 // seen
	bye     atomic.Value  // the last code
}

// header offers the token as a page does.
func header(token string) http.Header {
	return http.Header{"Sec-Websocket-Protocol": {protocol + ", " + tokenPrefix + token}}
}

// newPhone makes a phone; it begins with start.
func newPhone(t testing.TB, s *served, token string, seed uint64) *phone {
	p := &phone{t: t, events: make(chan func(), 64), ended: make(chan struct{}), began: time.Now(), chance: rand.New(rand.NewPCG(seed, 1)), known: map[stamp.Stamp]change.Change{}}
	p.id = newID(p.chance)
	p.dialer = func() (*websocket.Conn, error) {
		d := websocket.Dialer{TLSClientConfig: s.tls, EnableCompression: true, HandshakeTimeout: 5 * time.Second}
		ws, _, err := d.Dial(s.wsURL, header(token))
		return ws, err
	}
	return p
}

func (p *phone) now() int64 { return time.Since(p.began).Milliseconds() }

// start runs the phone until quit.
func (p *phone) start() *phone {
	ctx, stop := context.WithCancel(context.Background())
	p.stop = stop
	p.end = peer.NewDevice(peer.Start{Device: p.id, Epoch: p.epoch, Seen: p.seen, Waiting: uint64(len(p.outbox))})
	go func() {
		defer close(p.ended)
		tick := time.NewTicker(5 * time.Millisecond)
		defer tick.Stop()
		p.end.Tick(p.now())
		p.do()
		for {
			select {
			case <-ctx.Done():
				if p.ws != nil {
					p.ws.Close()
				}
				return
			case f := <-p.events:
				f()
			case <-tick.C:
				if next := p.end.Next(); next >= 0 && p.now() >= next {
					p.end.Tick(p.now())
				} else {
					continue
				}
			}
			p.do()
		}
	}()
	return p
}

// quit stops the phone's program; its disk stays.
func (p *phone) quit() {
	p.stop()
	<-p.ended
}

// on has something done on the phone's goroutine, and waits until it is.
func (p *phone) on(f func()) {
	done := make(chan struct{})
	select {
	case p.events <- func() { f(); close(done) }:
		select {
		case <-done:
		case <-p.ended:
		}
	case <-p.ended:
	}
}

// wait waits until something is true.
func (p *phone) wait(what string, is func() bool) {
	p.t.Helper()
	for deadline := time.Now().Add(60 * time.Second); !is(); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			p.t.Fatalf("the phone waited for %s in vain: %d wait, seen %d, told %v", what, p.waiting.Load(), p.took.Load(), p.bye.Load())
		}
	}
}

// home waits until everything made here is acked.
func (p *phone) home() {
	p.wait("its outbox to be empty", func() bool { return p.waiting.Load() == 0 })
}

// make keeps changes of a new record with so many fields, as a local edit does.
func (p *phone) make(records int) {
	var rows []peer.Row
	for range records {
		id, project := newID(p.chance), newID(p.chance)
		for field, value := range map[string]string{"project": fmt.Sprintf("%q", project), "name": `"tail"`, "axis": `"length"`, "order": fmt.Sprint(p.chance.IntN(40)), "nailed": "false", "binned": "null"} {
			p.counter++
			c := change.Change{Where: change.Where{Kind: "part", ID: id, Field: field}, Value: json.RawMessage(value), Stamp: stamp.Stamp{Counter: p.counter, Device: p.id}}
			p.row++
			rows = append(rows, peer.Row{Number: p.row, Change: c})
			p.known[c.Stamp] = c
		}
	}
	p.outbox = append(p.outbox, rows...)
	p.waiting.Store(int64(len(p.outbox)))
	if p.end != nil {
		p.end.Waiting(p.now(), uint64(len(p.outbox)))
	}
}

// do does what the machine asks for.
func (p *phone) do() {
	for {
		out := p.end.Out()
		for _, frame := range out.Frames {
			if p.ws != nil && p.ws.WriteMessage(websocket.BinaryMessage, frame) != nil {
				p.hangUp()
			}
		}
		if out.Close {
			p.hangUp()
		}
		if out.Dial != 0 {
			p.dial(out.Dial)
		}
		for _, k := range out.Keep {
			p.keep(k)
		}
		if out.Rows != nil {
			from, _ := slices.BinarySearchFunc(p.outbox, out.Rows.After+1, func(r peer.Row, n uint64) int { return int(int64(r.Number) - int64(n)) })
			p.end.Rows(p.now(), out.Rows.Ask, slices.Clone(p.outbox[from:min(len(p.outbox), from+out.Rows.Most)]))
		}
		if len(out.Keep) == 0 && out.Rows == nil {
			p.bye.Store(p.end.Status().Code)
			return
		}
	}
}

func (p *phone) hangUp() {
	if p.ws == nil {
		return
	}
	p.ws.Close()
	p.ws = nil
}

// dial calls home, and reads what comes.
func (p *phone) dial(number uint64) {
	p.hangUp()
	p.conn = number
	post, dialer := p.poster(), p.dialer
	go func() {
		ws, err := dialer()
		post(func() {
			if err != nil || p.conn != number {
				p.end.Disconnected(p.now(), number)
				if ws != nil {
					ws.Close()
				}
				return
			}
			p.ws = ws
			p.end.Connected(p.now(), number)
		})
		for failed := err; failed == nil; {
			var frame []byte
			if _, frame, failed = ws.ReadMessage(); failed == nil {
				post(func() { p.end.Frame(p.now(), number, frame) })
			}
		}
		post(func() { p.end.Disconnected(p.now(), number) })
	}()
}

// poster has things done on the goroutine of this run of the phone, not of a later one.
func (p *phone) poster() func(f func()) {
	events, ended := p.events, p.ended
	return func(f func()) {
		select {
		case events <- f:
		case <-ended:
		}
	}
}

// keep does what one transaction of the store does.
func (p *phone) keep(k peer.Keep) {
	if k.Epoch != "" {
		p.epoch = k.Epoch
	}
	for _, c := range k.Changes {
		p.known[c.Stamp] = c
		p.counter = max(p.counter, c.Stamp.Counter)
	}
	if k.Again {
		p.outbox = nil
		for _, c := range p.known {
			p.row++
			p.outbox = append(p.outbox, peer.Row{Number: p.row, Change: c})
		}
	}
	for k.Acked > 0 && len(p.outbox) > 0 && p.outbox[0].Number <= k.Acked {
		p.outbox = p.outbox[1:]
	}
	p.refused = append(p.refused, k.Refused...)
	p.seen = k.Seen
	p.end.Kept(p.now(), k.Number, uint64(len(p.outbox)))
	p.waiting.Store(int64(len(p.outbox)))
	p.took.Store(k.Seen)
	if p.got != nil && len(k.Changes) > 0 {
		p.got(k.Changes)
	}
}

// stamps are all it knows.
func (p *phone) stamps() (all []stamp.Stamp) {
	p.on(func() {
		for s := range p.known {
			all = append(all, s)
		}
	})
	slices.SortFunc(all, stamp.Compare)
	return all
}

// cutting is a listener whose connections are cut after a drawn number of bytes.
type cutting struct {
	net.Listener
	mu     sync.Mutex
	chance *rand.Rand
	most   int // bytes; 0 for uncut
}

func (c *cutting) Accept() (net.Conn, error) {
	conn, err := c.Listener.Accept()
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.most == 0 {
		return conn, nil
	}
	return &cutConn{Conn: conn, left: 1 + c.chance.IntN(c.most)}, nil
}

func (c *cutting) calm() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.most = 0
}

type cutConn struct {
	net.Conn
	mu   sync.Mutex
	left int
}

func (c *cutConn) spend(b []byte) ([]byte, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(b) > c.left {
		b = b[:c.left]
	}
	c.left -= len(b)
	return b, c.left > 0
}

func (c *cutConn) Write(b []byte) (int, error) {
	part, more := c.spend(b)
	n, err := c.Conn.Write(part)
	if !more {
		c.Close()
		return n, net.ErrClosed
	}
	return n, err
}

func (c *cutConn) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	if _, more := c.spend(b[:n]); !more {
		c.Close()
		return 0, net.ErrClosed
	}
	return n, err
}

// cutListener keeps the port known while connections are cut.
type cutListener struct {
	*cutting
	plain net.Listener
}

func (c cutListener) Addr() net.Addr { return c.plain.Addr() }

// text is an answer as JSON.
func text(what any) string {
	b, err := json.Marshal(what)
	if err != nil {
		return err.Error()
	}
	return string(b)
}
