package server

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"needlesight/data/store"
	"needlesight/pwa"
	"needlesight/server/trust"
	"needlesight/sync/change"
)

// The figures of the sync, over real sockets, with home in a process of its own whose
// memory and time can be read (Linux). An ack comes after fsync, as always.
//
//	go test -run '^$' -bench . ./server

// childFolder tells a process that it is the home of a benchmark, and where.
const childFolder = "NEEDLESIGHT_BENCH_HOME"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childFolder); dir != "" {
		if err := childHome(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// childHome is the home, until its standard input ends. It tells its ports and its authority's file.
func childHome(dir string) error {
	kept, err := store.Open(dir+"/store", store.Options{Log: quiet})
	if err != nil {
		return err
	}
	here := netip.MustParseAddr(Loopback)
	t, err := trust.Open(trust.Options{Dir: dir + "/trust", Addresses: func() ([]netip.Addr, error) { return []netip.Addr{here}, nil }})
	if err != nil {
		return err
	}
	home := New(Options{Store: kept, Trust: t, Site: func() (*pwa.Site, error) { return nil, pwa.ErrNotBuilt }, Log: quiet})
	l := Listeners{Secret: "secret"}
	if l.Here, err = Listen(Loopback, 0); err == nil {
		l.House, err = Listen(Loopback, 0)
	}
	if err != nil {
		return err
	}
	if err := os.WriteFile(dir+"/authority.der", t.Authority(), 0o600); err != nil {
		return err
	}
	if err := pairChildren(kept, dir); err != nil {
		return err
	}
	if _, err := Announce(dir, Port(l.Here), "secret"); err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(context.Background())
	go func() { bufio.NewReader(os.Stdin).ReadString('\n'); cancel() }() // its end is what is waited for
	fmt.Println(Port(l.Here), Port(l.House))
	if err := home.Serve(ctx, l); err != nil {
		return err
	}
	return kept.Close()
}

// pairChildren lets so many devices in as a benchmark may need: by code it would take too long.
func pairChildren(kept *store.Store, dir string) error {
	if len(kept.Devices()) > 0 {
		return nil
	}
	var tokens []string
	for range 500/maxDeviceLinks + 1 {
		_, token, err := kept.AddDevice("phone", time.Now())
		if err != nil {
			return err
		}
		tokens = append(tokens, token)
	}
	return os.WriteFile(dir+"/tokens", []byte(strings.Join(tokens, "\n")), 0o600)
}

// child is the home of a benchmark, seen from outside.
type child struct {
	served
	dir     string
	process *exec.Cmd
	end     func()
	tokens  []string
	bytes   atomic.Int64 // over the sockets of its phones
}

// startChild starts a home on a folder; secure phones speak TLS.
func startChild(b testing.TB, dir string, secure bool) *child {
	b.Helper()
	c := &child{dir: dir, process: exec.Command(os.Args[0])}
	c.process.Env = append(os.Environ(), childFolder+"="+dir)
	c.process.Stderr = os.Stderr
	in, err := c.process.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := c.process.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := c.process.Start(); err != nil {
		b.Fatal(err)
	}
	var here, house int
	if _, err := fmt.Fscan(out, &here, &house); err != nil {
		b.Fatal(err)
	}
	c.end = sync.OnceFunc(func() { in.Close(); c.process.Wait() })
	b.Cleanup(c.end)
	c.base, c.wsURL = fmt.Sprintf("http://127.0.0.1:%d", here), fmt.Sprintf("ws://127.0.0.1:%d/api/sync", here)
	if secure {
		der, err := os.ReadFile(dir + "/authority.der")
		if err != nil {
			b.Fatal(err)
		}
		authority, err := x509.ParseCertificate(der)
		if err != nil {
			b.Fatal(err)
		}
		// Resuming, as browsers do.
		c.tls = &tls.Config{RootCAs: x509.NewCertPool(), ServerName: "needlesight.local", ClientSessionCache: tls.NewLRUClientSessionCache(0)}
		c.tls.RootCAs.AddCert(authority)
		c.wsURL = fmt.Sprintf("wss://127.0.0.1:%d/api/sync", house)
	}
	text, err := os.ReadFile(dir + "/tokens")
	if err != nil {
		b.Fatal(err)
	}
	c.tokens = strings.Split(string(text), "\n")
	return c
}

// token is that of one more device.
func (c *child) token(b testing.TB) string {
	b.Helper()
	token := c.tokens[0]
	c.tokens = c.tokens[1:]
	return token
}

// counted counts the bytes of a connection.
type counted struct {
	net.Conn
	bytes *atomic.Int64
}

func (c counted) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	c.bytes.Add(int64(n))
	return n, err
}

func (c counted) Write(p []byte) (int, error) {
	n, err := c.Conn.Write(p)
	c.bytes.Add(int64(n))
	return n, err
}

// phone makes a phone of this home whose bytes are counted.
func (c *child) phone(b testing.TB, token string, seed uint64) *phone {
	p := newPhone(b, &c.served, token, seed)
	p.dialer = func() (*websocket.Conn, error) {
		d := websocket.Dialer{TLSClientConfig: c.tls, EnableCompression: true, NetDial: func(network, address string) (net.Conn, error) {
			conn, err := net.Dial(network, address)
			return counted{conn, &c.bytes}, err
		}}
		ws, _, err := d.Dial(c.wsURL, header(token))
		return ws, err
	}
	return p
}

// proc reads a number of its process: resident memory in MB, or CPU time in ms.
func (c *child) rss(b *testing.B) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", c.process.Process.Pid))
	if err != nil {
		b.Skip("memory can be read on Linux only")
	}
	_, rest, _ := strings.Cut(string(text), "VmRSS:")
	kb, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
	if err != nil {
		b.Fatal(err)
	}
	return kb / 1024
}

func (c *child) cpu(b *testing.B) float64 {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", c.process.Process.Pid))
	if err != nil {
		b.Skip("CPU time can be read on Linux only")
	}
	fields := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+2:]))
	user, err := strconv.ParseFloat(fields[11], 64)
	if err != nil {
		b.Fatal(err)
	}
	system, err := strconv.ParseFloat(fields[12], 64)
	if err != nil {
		b.Fatal(err)
	}
	return (user + system) * 10 // in ticks of 10 ms
}

// both runs a benchmark plain and with TLS.
func both(b *testing.B, run func(b *testing.B, secure bool)) {
	for _, secure := range []bool{false, true} {
		b.Run(map[bool]string{false: "plain", true: "tls"}[secure], func(b *testing.B) { run(b, secure) })
	}
}

const records, fields = 10_000, 6

// A phone comes home with 10,000 new records; then an empty device takes them; then
// one that has everything looks in, before and after home was started again.
func BenchmarkComingHome(b *testing.B) {
	both(b, func(b *testing.B, secure bool) {
		var push, take, nothing, restarted, up, down, idle []float64
		for i := range b.N {
			dir := b.TempDir()
			c := startChild(b, dir, secure)
			token := c.token(b)
			p := c.phone(b, token, uint64(i))
			p.make(records)
			since := func(from time.Time) float64 { return float64(time.Since(from).Microseconds()) / 1000 }
			from := time.Now()
			p.start()
			p.home()
			push, up = append(push, since(from)), append(up, float64(c.bytes.Swap(0))/(records*fields))

			q := c.phone(b, token, uint64(i)+1000)
			from = time.Now()
			q.start()
			q.wait("everything", func() bool { return q.took.Load() == records*fields })
			take, down = append(take, since(from)), append(down, float64(c.bytes.Swap(0))/(records*fields))
			p.quit()
			q.quit()

			again := func() float64 {
				c.bytes.Store(0)
				from := time.Now()
				ready := make(chan struct{})
				q.end = nil
				q.events, q.ended = make(chan func(), 64), make(chan struct{})
				q.start()
				go func() {
					for { // until the end has heard Welcome
						joined := false
						q.on(func() { joined = q.end.Status().Phase == 3 })
						if joined {
							close(ready)
							return
						}
						time.Sleep(200 * time.Microsecond)
					}
				}()
				<-ready
				took := since(from)
				q.quit()
				return took
			}
			nothing, idle = append(nothing, again()), append(idle, float64(c.bytes.Load()))
			c.end()
			c = startChild(b, dir, secure)
			q.dialer = c.phone(b, token, 1).dialer
			restarted = append(restarted, again())
			c.end()
		}
		b.ReportMetric(median(push), "ms-all-acked")
		b.ReportMetric(median(take), "ms-second-device")
		b.ReportMetric(median(nothing), "ms-nothing-new")
		b.ReportMetric(median(restarted), "ms-after-restart")
		b.ReportMetric(median(idle), "B-nothing-new")
		b.ReportMetric(median(up), "B/value-up")
		b.ReportMetric(median(down), "B/value-down")
	})
}

func median(v []float64) float64 { return quantile(v, 0.5) }

func quantile(v []float64, q float64) float64 {
	v = slices.Sorted(slices.Values(v))
	return v[int(q*float64(len(v)-1)+0.5)]
}

// Fifty devices are connected; one edits 20 times a second, 200 times.
func BenchmarkFiftyDevicesLive(b *testing.B) {
	both(b, func(b *testing.B, secure bool) {
		const devices, edits = 50, 200
		for range b.N {
			c := startChild(b, b.TempDir(), secure)
			editor := c.phone(b, c.token(b), 1)
			editor.start()
			var mu sync.Mutex
			var times []float64
			sent := map[uint64]time.Time{}
			phones := []*phone{}
			var token string
			for i := range devices {
				if i%6 == 0 {
					token = c.token(b)
				}
				p := c.phone(b, token, uint64(i)+10)
				p.got = func(changes []change.Change) {
					now := time.Now()
					mu.Lock()
					defer mu.Unlock()
					for _, change := range changes {
						times = append(times, float64(now.Sub(sent[change.Stamp.Counter]).Microseconds())/1000)
					}
				}
				phones = append(phones, p.start())
			}
			for _, p := range append(phones, editor) {
				p.wait("Welcome", func() bool { j := false; p.on(func() { j = p.end.Status().Phase == 3 }); return j })
			}
			idle := c.rss(b)
			cpu := c.cpu(b)
			for range edits {
				editor.on(func() {
					mu.Lock()
					sent[editor.counter+1] = time.Now()
					mu.Unlock()
					editor.edit()
				})
				time.Sleep(50 * time.Millisecond)
			}
			for _, p := range phones {
				p.wait("all edits", func() bool { return p.took.Load() == edits })
			}
			b.ReportMetric(median(times), "ms-median")
			b.ReportMetric(quantile(times, 0.99), "ms-p99")
			b.ReportMetric(c.cpu(b)-cpu, "ms-CPU")
			b.ReportMetric(idle, "MB-connected")
			b.ReportMetric(c.rss(b), "MB-after")
			for _, p := range append(phones, editor) {
				p.quit()
			}
			c.end()
		}
	})
}

// edit changes one field.
func (p *phone) edit() {
	p.make(1)
	last := p.outbox[len(p.outbox)-1]
	p.outbox = append(p.outbox[:len(p.outbox)-6], last)
	p.counter = last.Change.Stamp.Counter - 5
	p.outbox[len(p.outbox)-1].Change.Stamp.Counter = p.counter
	p.waiting.Store(int64(len(p.outbox)))
	p.end.Waiting(p.now(), uint64(len(p.outbox)))
}

// The memory of a home that does nothing, and of one to which phones bring 10,000 records
// each at once.
func BenchmarkMemory(b *testing.B) {
	for _, n := range []int{1, 10} {
		b.Run(fmt.Sprintf("%d phones", n), func(b *testing.B) {
			for range b.N {
				c := startChild(b, b.TempDir(), true)
				b.ReportMetric(c.rss(b), "MB-idle")
				var phones []*phone
				for i := range n {
					p := c.phone(b, c.token(b), uint64(i))
					p.make(records)
					phones = append(phones, p.start())
				}
				most := 0.0
				for _, p := range phones {
					p.wait("an empty outbox", func() bool { most = max(most, c.rss(b)); return p.waiting.Load() == 0 })
				}
				for _, p := range phones {
					p.wait("everything", func() bool { most = max(most, c.rss(b)); return p.took.Load() == uint64(n*records*fields) })
					p.quit()
				}
				b.ReportMetric(most, "MB-load")
				c.end()
			}
		})
	}
}

// Five hundred devices are connected and do nothing but ping each 25 s, for 30 s.
func BenchmarkFiveHundredIdleDevices(b *testing.B) {
	for range b.N {
		c := startChild(b, b.TempDir(), false)
		var phones []*phone
		for i := range 500 {
			phones = append(phones, c.phone(b, c.tokens[i/maxDeviceLinks], uint64(i)).start())
		}
		for _, p := range phones {
			p.wait("Welcome", func() bool { j := false; p.on(func() { j = p.end.Status().Phase == 3 }); return j })
		}
		cpu := c.cpu(b)
		time.Sleep(30 * time.Second)
		b.ReportMetric((c.cpu(b)-cpu)/300, "%-of-a-CPU")
		b.ReportMetric(c.rss(b), "MB")
		for _, p := range phones {
			p.quit()
		}
		c.end()
	}
}

// A picture of 3 MB, in pieces of 256 KB, up and down again.
func BenchmarkPicture(b *testing.B) {
	both(b, func(b *testing.B, secure bool) {
		c := startChild(b, b.TempDir(), secure)
		bearer := "Bearer " + c.token(b)
		if secure {
			c.base = strings.TrimSuffix("https"+strings.TrimPrefix(c.wsURL, "wss"), "/api/sync")
		}
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: c.tls}}
		send := func(method, hash string, body []byte, header ...string) []byte {
			r, err := http.NewRequest(method, c.base+"/api/pictures/"+hash, bytes.NewReader(body))
			if err != nil {
				b.Fatal(err)
			}
			r.Header.Set("Authorization", bearer)
			for i := 0; i < len(header); i += 2 {
				r.Header.Set(header[i], header[i+1])
			}
			response, err := client.Do(r)
			if err != nil {
				b.Fatal(err)
			}
			defer response.Body.Close()
			text, err := io.ReadAll(response.Body)
			if err != nil || response.StatusCode >= 300 {
				b.Fatal(response.Status, err)
			}
			return text
		}
		picture := make([]byte, 3<<20)
		var up, down time.Duration
		for i := range b.N {
			copy(picture, strconv.Itoa(i))
			hash := hashOf(picture)
			from := time.Now()
			for at := 0; at < len(picture); at += 256 << 10 {
				last := "?0"
				if at+256<<10 >= len(picture) {
					last = "?1"
				}
				send("PATCH", hash, picture[at:at+256<<10], "Upload-Offset", strconv.Itoa(at), "Upload-Complete", last)
			}
			up += time.Since(from)
			from = time.Now()
			if got := send("GET", hash, nil); len(got) != len(picture) {
				b.Fatal(len(got))
			}
			down += time.Since(from)
		}
		b.ReportMetric(float64(up.Microseconds())/1000/float64(b.N), "ms-up")
		b.ReportMetric(float64(down.Microseconds())/1000/float64(b.N), "ms-down")
	})
}
