package trust

import (
	"context"
	"errors"
	"net"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/pion/mdns/v2"
	"golang.org/x/net/dns/dnsmessage"
)

// loopback is the network that stays inside this computer; nothing of these tests
// leaves it.
func loopback(t *testing.T) net.Interface {
	t.Helper()
	all, err := net.Interfaces()
	if err != nil {
		t.Fatal(err)
	}
	for _, link := range all {
		if link.Flags&net.FlagLoopback != 0 {
			return link
		}
	}
	t.Fatal("this computer has no loopback network")
	return net.Interface{}
}

func local(t *testing.T) *net.UDPConn {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return conn
}

// inside makes a publisher that speaks on loopback alone, at a port of its own, and
// announces to the test.
func inside(t *testing.T, host string) (p *Publisher, port func() *net.UDPAddr, heard *net.UDPConn) {
	link := loopback(t)
	heard = local(t)
	var at *net.UDPAddr
	p = NewPublisher(host)
	p.inside, p.probe = true, 0
	p.group = heard.LocalAddr().(*net.UDPAddr)
	p.links = func([]netip.Addr) ([]net.Interface, error) { return []net.Interface{link}, nil }
	p.listen = func() (*net.UDPConn, error) {
		conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
		if err == nil {
			at = conn.LocalAddr().(*net.UDPAddr)
		}
		return conn, err
	}
	t.Cleanup(p.Close)
	return p, func() *net.UDPAddr { return at }, heard
}

// Answers come at once, also on a machine that is busy; silence is not waited for long.
const answer, silence = 5 * time.Second, 200 * time.Millisecond

// ask asks for a name as a phone does, and returns the address or none.
func ask(t *testing.T, at *net.UDPAddr, host string, patience time.Duration) netip.Addr {
	t.Helper()
	question := dnsmessage.Message{Questions: []dnsmessage.Question{{Name: dnsmessage.MustNewName(host + "."), Type: dnsmessage.TypeA, Class: dnsmessage.ClassINET | 1<<15}}}
	packed, err := question.Pack()
	if err != nil {
		t.Fatal(err)
	}
	conn := local(t)
	if _, err := conn.WriteTo(packed, at); err != nil {
		t.Fatal(err)
	}
	found, _ := receive(conn, patience)
	return found
}

// receive reads one answer, and the class it came with.
func receive(conn *net.UDPConn, patience time.Duration) (netip.Addr, dnsmessage.Class) {
	buffer := make([]byte, 1500)
	var message dnsmessage.Message
	if conn.SetReadDeadline(time.Now().Add(patience)) != nil {
		return netip.Addr{}, 0
	}
	n, _, err := conn.ReadFrom(buffer)
	if err != nil || message.Unpack(buffer[:n]) != nil || len(message.Answers) != 1 {
		return netip.Addr{}, 0
	}
	a, ok := message.Answers[0].Body.(*dnsmessage.AResource)
	if !ok {
		return netip.Addr{}, 0
	}
	return netip.AddrFrom4(a.A), message.Answers[0].Header.Class
}

func TestTheNameIsPublished(t *testing.T) {
	p, port, heard := inside(t, "needlesight.local")
	if err := p.Update(t.Context(), addresses("192.168.1.20")); err != nil {
		t.Fatal(err)
	}
	want := netip.MustParseAddr("127.0.0.1")
	for _, host := range []string{"needlesight.local", "Needlesight.LOCAL"} {
		if got := ask(t, port(), host, answer); got != want {
			t.Errorf("%s is at %v", host, got)
		}
	}
	if got := ask(t, port(), "other.local", silence); got.IsValid() {
		t.Errorf("other.local is at %v", got)
	}
	at, class := receive(heard, answer)
	if at != want || class != dnsmessage.ClassINET|1<<15 {
		t.Errorf("announced at %v with class %x", at, class)
	}

	before := port()
	if err := p.Update(t.Context(), addresses("192.168.1.20")); err != nil || port() != before {
		t.Errorf("published anew, though nothing has changed (%v)", err)
	}
	if err := p.Update(t.Context(), addresses("192.168.1.21")); err != nil || port() == before {
		t.Errorf("not published anew at another address (%v)", err)
	}
	if got := ask(t, port(), "needlesight.local", answer); got != want {
		t.Errorf("afterwards it is at %v", got)
	}
	p.Close()
	if got := ask(t, port(), "needlesight.local", silence); got.IsValid() {
		t.Errorf("still answered after Close: %v", got)
	}
}

func TestAPortThatIsTakenIsTold(t *testing.T) {
	taken := local(t)
	h := newHome(t, nil)
	p, _, _ := inside(t, "needlesight.local")
	free := p.listen
	p.listen = func() (*net.UDPConn, error) {
		return listenMulticast(taken.LocalAddr().String()) // no multicast address, so it is not shared
	}
	h.publish(t.Context(), p)
	told := h.State().Told
	if len(told) != 1 || !strings.HasPrefix(told[0], "Phones may not find needlesight.local: the port of multicast DNS") {
		t.Errorf("told: %q", told)
	}
	p.listen = free
	h.publish(t.Context(), p) // as the next look does
	if told := h.State().Told; len(told) != 0 {
		t.Errorf("still told: %q", told)
	}
}

// Two homes of one name in one house; both speak multicast, on loopback alone.
func TestANameThatIsTakenIsTold(t *testing.T) {
	on := func(host string) *Publisher {
		p, _, _ := inside(t, host)
		p.listen = func() (*net.UDPConn, error) { return listenMulticast(mdns.DefaultAddressIPv4) }
		return p
	}
	if err := on("wool.local").Update(t.Context(), addresses("192.168.1.20")); err != nil {
		t.Fatal(err)
	}
	second := on("wool.local")
	second.probe = 2 * time.Second
	if err := second.Update(t.Context(), addresses("192.168.1.21")); err == nil || !strings.Contains(err.Error(), "another computer, at 127.0.0.1, answers to that name") {
		t.Errorf("the same name: %v", err)
	}
	second.probe = 300 * time.Millisecond
	if err := second.Update(t.Context(), addresses("127.0.0.1")); err != nil {
		t.Errorf("the same computer by another program: %v", err)
	}
	other := on("fleece.local")
	other.probe = 300 * time.Millisecond
	if err := other.Update(t.Context(), addresses("192.168.1.21")); err != nil {
		t.Errorf("another name: %v", err)
	}
}

func TestNoNetworkIsTold(t *testing.T) {
	p, _, _ := inside(t, "needlesight.local")
	if err := p.Update(t.Context(), nil); err == nil || !strings.Contains(err.Error(), "on no network") {
		t.Error(err)
	}
	p.links = func([]netip.Addr) ([]net.Interface, error) { return nil, nil }
	if err := p.Update(t.Context(), addresses("10.0.0.1")); err == nil || !strings.Contains(err.Error(), "multicast") {
		t.Error(err)
	}
	p.links = func([]netip.Addr) ([]net.Interface, error) { return nil, errors.New("no permission") }
	if err := p.Update(t.Context(), addresses("10.0.0.1")); err == nil || !strings.Contains(err.Error(), "no permission") {
		t.Error(err)
	}
}

func TestRunPublishesAndStops(t *testing.T) {
	h := newHome(t, nil)
	p, port, heard := inside(t, "needlesight.local")
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { h.Run(ctx, time.Hour, p); close(done) }()
	if at, _ := receive(heard, answer); !at.IsValid() {
		t.Error("nothing was announced")
	}
	stop()
	<-done
	if p.conn != nil {
		t.Error("not closed")
	}
	if at := port(); at != nil && ask(t, at, "needlesight.local", silence).IsValid() {
		t.Error("still answered")
	}
}

func TestLinksLeaveOutLoopback(t *testing.T) {
	links, err := linksOf(addresses("127.0.0.1"))
	if err != nil || len(links) != 0 {
		t.Errorf("%v, %v", links, err)
	}
}
