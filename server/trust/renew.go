package trust

import (
	"crypto/tls"
	"fmt"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// lookAtLeaf renews the leaf when it is due, and tells what is wrong. The lock is held.
func (t *Trust) lookAtLeaf(now time.Time) (troubles []string) {
	a := t.authority
	if t.leaf == nil {
		t.leaf, _ = readLeaf(t.o.Dir) // one that cannot be read is made again
	}
	names, addresses := t.names(), t.named()
	if why := a.due(t.leaf, names, addresses, now); why != "" {
		made, err := a.makeLeaf(t.o.Dir, names, addresses, now)
		if err != nil {
			troubles = append(troubles, fmt.Sprintf("This computer's certificate could not be renewed and kept: %v.", err))
		}
		if made != nil {
			t.o.Log.Info("this computer has a new certificate", "why", why, "until", longDay(made.certificate.NotAfter))
			t.leaf = made
		}
	}
	if t.leaf != nil {
		t.serving = &tls.Certificate{
			Certificate: [][]byte{t.leaf.certificate.Raw, a.signer.Raw},
			PrivateKey:  t.leaf.key,
			Leaf:        t.leaf.certificate,
		}
	}
	return append(troubles, a.clockTroubles(now)...)
}

// names are what the leaf vouches for.
func (t *Trust) names() []string {
	names := []string{t.host, "localhost"}
	own, _, _ := strings.Cut(strings.ToLower(t.o.Hostname), ".")
	if CheckName(own) == nil && own != t.name {
		names = append(names, own+".local")
	}
	return names
}

// named are the addresses of the leaf: this computer's, and its own to itself.
func (t *Trust) named() []netip.Addr {
	own := []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("::1")}
	for _, a := range t.addresses {
		if isPrivate(a) { // another could not be vouched for, and would spoil the rest
			own = append(own, a)
		}
	}
	slices.SortFunc(own, netip.Addr.Compare)
	return slices.Compact(own)
}

// due tells why a leaf has to be made anew, or nothing. A clock that says less than
// when the authority began is not believed: it renews nothing by itself.
func (a *authority) due(l *leaf, names []string, addresses []netip.Addr, now time.Time) string {
	if l == nil {
		return "there was none"
	}
	c := l.certificate
	switch {
	case c.CheckSignatureFrom(a.signer) != nil:
		return "the old one was of another authority"
	case !slices.Equal(c.DNSNames, names):
		return "the names have changed"
	case !slices.Equal(addressesOf(l), addresses):
		return "the addresses have changed"
	case now.Before(a.signer.NotBefore):
		return ""
	case c.NotBefore.After(now):
		return "the old one was made when the clock was wrong"
	case c.NotAfter.Sub(now) < leafDueDays*day && c.NotAfter.Before(a.signer.NotAfter):
		return "the old one was about to end"
	}
	return ""
}

func addressesOf(l *leaf) []netip.Addr {
	var found []netip.Addr
	for _, ip := range l.certificate.IPAddresses {
		if a, ok := netip.AddrFromSlice(ip); ok {
			found = append(found, a.Unmap())
		}
	}
	return found
}

// clockTroubles tells of a clock or an authority that devices will not agree with.
func (a *authority) clockTroubles(now time.Time) []string {
	made := a.signer.NotBefore.Add(slack)
	switch left := a.signer.NotAfter.Sub(now); {
	case now.Before(a.signer.NotBefore):
		return []string{fmt.Sprintf("This computer's clock says %s, but its authority was made on %s. Please set the clock right. Should %[1]s be right, then the clock was wrong that day: take away the trust folder, start again, and let every device trust anew.", longDay(now), longDay(made))}
	case left < 0:
		return []string{fmt.Sprintf("The authority of this home ended on %s; this computer's clock says %s. If the clock is right, take away the trust folder, start again, and let every device trust anew.", longDay(a.signer.NotAfter), longDay(now))}
	case left < leafDays*day:
		return []string{fmt.Sprintf("The authority of this home ends on %s. Before then, take away the trust folder, start again, and let every device trust anew.", longDay(a.signer.NotAfter))}
	}
	return nil
}

// lookAtOwn reads own files again when they were written, and tells what is wrong
// with them. The one in use stays until a better one fits. The lock is held.
func (t *Trust) lookAtOwn(now time.Time) []string {
	when, err := newest(t.o.CertFile, t.o.KeyFile)
	if err == nil && !when.Equal(t.own.when) {
		var next *own
		if next, err = readOwn(t.o.CertFile, t.o.KeyFile, now); err == nil {
			err = next.pair.Leaf.VerifyHostname(t.host)
		}
		if err == nil {
			t.own, t.serving = next, next.pair
			t.o.Log.Info("the new certificate is in use", "file", t.o.CertFile, "until", longDay(next.pair.Leaf.NotAfter))
		}
	}
	if err != nil {
		return []string{fmt.Sprintf("The certificate's files no longer fit, and the one before them is still in use: %v.", err)}
	}
	if err := fits(t.own.pair.Leaf, now); err != nil {
		return []string{fmt.Sprintf("%s %v.", t.o.CertFile, err)}
	}
	if left := t.own.pair.Leaf.NotAfter.Sub(now); left < 14*day {
		return []string{fmt.Sprintf("%s ends on %s. Put a newer one in its place; it is taken up without a restart.", t.o.CertFile, longDay(t.own.pair.Leaf.NotAfter))}
	}
	return nil
}

// longDay is a day as a person reads it.
func longDay(t time.Time) string { return t.Format("2 January 2006") }
