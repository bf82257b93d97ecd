package trust

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"time"

	"github.com/pion/mdns/v2"
	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// Publisher says by multicast DNS (RFC 6762) where the home's name is. Only IPv4
// carries the questions and answers: every house network has it, and one is enough.
// It may be used from one goroutine at a time.
type Publisher struct {
	host   string
	listen func() (*net.UDPConn, error)                // the socket of multicast DNS
	links  func([]netip.Addr) ([]net.Interface, error) // the networks that addresses are on
	group  *net.UDPAddr                                // where announcements go
	inside bool                                        // on this computer alone, for tests
	probe  time.Duration                               // how long to ask who else has the name

	conn      *mdns.Conn
	published []netip.Addr
	stop      context.CancelFunc // ends the announcing
}

// NewPublisher makes a publisher of NAME.local; nothing is said before Update.
func NewPublisher(host string) *Publisher {
	group := &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: 5353}
	return &Publisher{
		host:   host,
		listen: func() (*net.UDPConn, error) { return listenMulticast(mdns.DefaultAddressIPv4) },
		links:  linksOf,
		group:  group,
		probe:  700 * time.Millisecond,
	}
}

// Update publishes the name at these addresses; when it is at them already it does
// nothing. Its error is for the person at the computer; home can still be reached by
// its address, and the next Update tries again.
func (p *Publisher) Update(ctx context.Context, addresses []netip.Addr) error {
	if p.conn != nil && slices.Equal(p.published, addresses) {
		return nil
	}
	p.Close()
	if len(addresses) == 0 {
		return errors.New("this computer is on no network of the house, so phones cannot find it")
	}
	links, err := p.links(addresses)
	if err == nil && len(links) == 0 {
		err = errors.New("no network of this computer passes on multicast")
	}
	if err == nil {
		err = p.taken(ctx, links, addresses)
	}
	if err == nil {
		err = p.open(links)
	}
	if err != nil {
		p.Close()
		return fmt.Errorf("phones may not find %s: %w", p.host, err)
	}
	p.published = slices.Clone(addresses)
	return nil
}

// Close says no more.
func (p *Publisher) Close() {
	if p.stop != nil {
		p.stop()
	}
	if p.conn != nil {
		_ = p.conn.Close() // the sockets are gone either way
	}
	p.conn, p.stop, p.published = nil, nil, nil
}

// open answers questions for the name from now on, and announces it.
func (p *Publisher) open(links []net.Interface) error {
	socket, err := p.listen()
	if err != nil {
		return err
	}
	conn, err := mdns.NewServer(ipv4.NewPacketConn(socket), nil,
		mdns.WithLocalNames(p.host), mdns.WithInterfaces(links...), mdns.WithIncludeLoopback(p.inside),
		mdns.WithRecordTypes(dnsmessage.TypeA, dnsmessage.TypeAAAA))
	if err != nil {
		socket.Close()
		return err
	}
	p.conn = conn
	ctx, stop := context.WithCancel(context.Background())
	p.stop = stop
	go p.announce(ctx, ipv4.NewPacketConn(socket), links)
	return nil
}

// taken asks whether another computer of the house answers to the name, which would
// make phones find now the one, now the other (RFC 6762, section 8.1).
func (p *Publisher) taken(ctx context.Context, links []net.Interface, own []netip.Addr) error {
	if p.probe == 0 {
		return nil
	}
	socket, err := p.listen()
	if err != nil {
		return err
	}
	asker, err := mdns.NewServer(ipv4.NewPacketConn(socket), nil,
		mdns.WithInterfaces(links...), mdns.WithIncludeLoopback(p.inside), mdns.WithQueryInterval(p.probe/3))
	if err != nil {
		socket.Close()
		return err
	}
	defer asker.Close()
	ctx, cancel := context.WithTimeout(ctx, p.probe)
	defer cancel()
	_, at, err := asker.QueryAddr(ctx, p.host)
	if err != nil || slices.Contains(own, at.Unmap()) {
		return nil // nobody answered, or this computer itself by another program
	}
	return fmt.Errorf("another computer, at %s, answers to that name already. Give one of them another name, or stop it", at)
}

// announce tells everybody at once, so that nobody goes on using an address from
// before: twice, a second apart (RFC 6762, section 8.3).
func (p *Publisher) announce(ctx context.Context, conn *ipv4.PacketConn, links []net.Interface) {
	for range 2 {
		for _, link := range links {
			if message, err := announcement(p.host, link); err == nil {
				// A network that takes no announcement still gets answers.
				_, _ = conn.WriteTo(message, &ipv4.ControlMessage{IfIndex: link.Index}, p.group)
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(time.Second):
		}
	}
}

// announcement is the answer that nobody asked for: where the name is on this network,
// with the bit that makes others forget what they knew.
func announcement(host string, link net.Interface) ([]byte, error) {
	at, err := privateIPv4(link)
	if err != nil {
		return nil, err
	}
	name, err := dnsmessage.NewName(host + ".")
	if err != nil {
		return nil, err
	}
	const forget, seconds = 1 << 15, 120
	message := dnsmessage.Message{
		Header: dnsmessage.Header{Response: true, Authoritative: true},
		Answers: []dnsmessage.Resource{{
			Header: dnsmessage.ResourceHeader{Name: name, Class: dnsmessage.ClassINET | forget, TTL: seconds},
			Body:   &dnsmessage.AResource{A: at.As4()},
		}},
	}
	return message.Pack()
}

// privateIPv4 is the address that a network knows this computer by.
func privateIPv4(link net.Interface) (netip.Addr, error) {
	all, err := link.Addrs()
	if err != nil {
		return netip.Addr{}, err
	}
	for _, a := range all {
		if network, ok := a.(*net.IPNet); ok {
			if at, ok := netip.AddrFromSlice(network.IP); ok && at.Unmap().Is4() && isPrivate(at.Unmap()) {
				return at.Unmap(), nil
			}
		}
	}
	return netip.Addr{}, fmt.Errorf("%s has no private IPv4 address", link.Name)
}

// linksOf finds the networks that are up, pass on multicast and have one of the addresses.
func linksOf(addresses []netip.Addr) ([]net.Interface, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, err
	}
	var found []net.Interface
	for _, link := range all {
		if link.Flags&(net.FlagUp|net.FlagMulticast|net.FlagLoopback) != net.FlagUp|net.FlagMulticast {
			continue
		}
		if at, err := privateIPv4(link); err == nil && slices.Contains(addresses, at) {
			found = append(found, link)
		}
	}
	return found, nil
}

// listenMulticast opens the port so that others of this computer may have it as well.
func listenMulticast(address string) (*net.UDPConn, error) {
	at, err := net.ResolveUDPAddr("udp4", address)
	if err != nil {
		return nil, err
	}
	socket, err := net.ListenUDP("udp4", at) // for a multicast address Go sets SO_REUSEADDR
	if err != nil {
		return nil, fmt.Errorf("the port of multicast DNS, UDP %d, is not to be had (%w)", at.Port, err)
	}
	return socket, nil
}
