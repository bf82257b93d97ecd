package server

import (
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// places are the ports at which home is, 0 for none.
type places struct{ here, house, welcome int }

func placesOf(l Listeners) *places {
	p := &places{here: Port(l.Here)}
	if l.House != nil {
		p.house = Port(l.House)
	}
	if l.Welcome != nil {
		p.welcome = Port(l.Welcome)
	}
	return p
}

// loopbacks are the names of this computer for itself.
var loopbacks = []string{"localhost", "127.0.0.1", "::1"}

// isHere tells whether a Host header names this computer as it names itself.
func (p *places) isHere(host string) bool {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port = strings.Trim(host, "[]"), "80"
	}
	return slices.Contains(loopbacks, strings.ToLower(name)) && port == strconv.Itoa(p.here)
}

// origins are all origins of pages that are home's own.
func (h *Home) origins() []string {
	p := h.places.Load()
	var list []string
	if p.house != 0 {
		for _, host := range h.hosts() {
			list = append(list, "https://"+address(host, p.house))
		}
	}
	for _, host := range loopbacks {
		list = append(list, "http://"+address(host, p.here))
	}
	return list
}

// hosts are the names and addresses at which the house finds home, the lasting one first.
func (h *Home) hosts() []string {
	if h.o.Trust == nil {
		return nil
	}
	state := h.o.Trust.State()
	hosts := []string{state.Host}
	for _, a := range state.Addresses {
		hosts = append(hosts, a.String())
	}
	return append(hosts, loopbacks...)
}

// addresses are those at which the house finds home when its name does not lead there.
func (h *Home) addresses() []string {
	list := []string{}
	if h.o.Trust == nil {
		return list
	}
	for _, a := range h.o.Trust.State().Addresses {
		list = append(list, a.String())
	}
	return list
}

// sources are what a page may connect to besides where it came from: home by its addresses.
func (h *Home) sources() []string {
	p := h.places.Load()
	var list []string
	for _, a := range h.addresses() {
		if p.house != 0 {
			list = append(list, "https://"+address(a, p.house), "wss://"+address(a, p.house))
		}
	}
	return list
}

// address joins a host and a port as they stand in an origin, where the port of the scheme is left out.
func address(host string, port int) string {
	if port == 443 {
		if a, err := netip.ParseAddr(host); err == nil && a.Is6() {
			return "[" + host + "]"
		}
		return host
	}
	return net.JoinHostPort(host, strconv.Itoa(port))
}

// Links are the addresses that a person opens, "" where there is none.
type Links struct{ Here, App, Welcome string }

// Links are those of a home that is being served.
func (h *Home) Links() Links {
	p := h.places.Load()
	l := Links{Here: "http://" + address("localhost", p.here) + "/"}
	if p.house == 0 {
		return l
	}
	l.App = "https://" + address(h.hosts()[0], p.house) + "/"
	if list := h.addresses(); p.welcome != 0 && len(list) > 0 {
		l.Welcome = "http://" + net.JoinHostPort(list[0], strconv.Itoa(p.welcome)) + "/"
	}
	return l
}
