// Package trust makes the devices of a house trust its home computer. Nothing of it
// reaches out of the house.
//
// On first use it makes an authority of two tiers. The root, which a device is asked
// to trust, signs one intermediate, and then its key is forgotten: it is never
// written. The intermediate can vouch for names of the house and private addresses
// only; browsers refuse everything else it could sign. From it this computer's own
// certificate is made, and renewed when it is due or the addresses change, while the
// server runs.
//
// The package also publishes the home's name by multicast DNS (Publisher), serves the
// page that leads a device through trusting (Welcome), and writes what stands in the
// terminal (Greeting).
package trust

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net/netip"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// Options say how a home is trusted. Only Dir is needed.
type Options struct {
	Dir               string                       // the folder of the authority, the certificate and the name; made when it is not there
	Name              string                       // the NAME of NAME.local; empty: the one that was kept, or DefaultName
	Rename            bool                         // take Name even when another was kept: a new home to every device
	CertFile, KeyFile string                       // PEM files to use instead of an authority; both or none
	Hostname          string                       // this computer's own name; empty: what the system says
	Now               func() time.Time             // nil: time.Now
	Addresses         func() ([]netip.Addr, error) // nil: MachineAddresses
	Log               *slog.Logger                 // nil: none
}

// Trust is the trust of one home. Its methods may be used from any goroutine.
type Trust struct {
	o         Options
	name      string
	host      string
	authority *authority // nil with own certificates

	mu          sync.RWMutex
	addresses   []netip.Addr
	serving     *tls.Certificate
	leaf        *leaf    // nil with own certificates
	own         *own     // nil with the authority
	troubles    []string // what Look found
	unpublished string   // what the Publisher found
}

// State is what there is to tell of a home's trust.
type State struct {
	Name        string       // the NAME of NAME.local
	Host        string       // the host of the one origin, https://Host:port
	Addresses   []netip.Addr // of this computer, the best first; private ones only
	Fingerprint string       // SHA-256 of the authority's file, as AA:BB:...; empty with own certificates
	Made, Ends  time.Time    // the authority's; zero with own certificates
	LeafEnds    time.Time    // when the certificate in use ends; it is renewed long before
	Told        []string     // what is wrong, in sentences for a person; empty when all is well
}

// Open makes or reads what a home is trusted by. Its errors are sentences for the
// person at the computer.
func Open(o Options) (*Trust, error) {
	fillIn(&o)
	if err := makeFolder(o.Dir); err != nil {
		return nil, err
	}
	name, err := keepName(o.Dir, o.Name, o.Rename)
	if err != nil {
		return nil, err
	}
	t := &Trust{o: o, name: name, host: name + ".local"}
	switch {
	case (o.CertFile == "") != (o.KeyFile == ""):
		return nil, errors.New("a certificate of your own needs two files, the certificate and its key")
	case o.CertFile != "":
		err = t.openOwn()
	default:
		t.authority, err = openAuthority(o.Dir, t.host, o.Now())
	}
	if err != nil {
		return nil, err
	}
	return t, t.Look()
}

func fillIn(o *Options) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Addresses == nil {
		o.Addresses = MachineAddresses
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Hostname == "" {
		o.Hostname, _ = os.Hostname() // without one there is just no second name
	}
}

func (t *Trust) openOwn() (err error) {
	if t.own, err = readOwn(t.o.CertFile, t.o.KeyFile, t.o.Now()); err != nil {
		return err
	}
	t.serving = t.own.pair
	t.host, err = t.own.host(t.host)
	return err
}

// TLS is the configuration of a server that shows this home's certificate, always
// the newest. Browsers of the last ten years speak TLS 1.2 or better.
func (t *Trust) TLS() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
			t.mu.RLock()
			defer t.mu.RUnlock()
			return t.serving, nil
		},
	}
}

// Authority is the certificate that devices trust, as DER; nil with own certificates.
func (t *Trust) Authority() []byte {
	if t.authority == nil {
		return nil
	}
	return t.authority.root.Raw
}

// State tells how things stand.
func (t *Trust) State() State {
	t.mu.RLock()
	defer t.mu.RUnlock()
	s := State{
		Name: t.name, Host: t.host, Addresses: slices.Clone(t.addresses),
		LeafEnds: t.serving.Leaf.NotAfter, Told: slices.Clone(t.troubles),
	}
	if t.authority != nil {
		s.Fingerprint = t.authority.fingerprint()
		s.Made, s.Ends = t.authority.signer.NotBefore.Add(slack), t.authority.signer.NotAfter
	}
	if t.unpublished != "" {
		s.Told = append(s.Told, t.unpublished)
	}
	return s
}

// Look looks at the clock, the addresses and the files once, and renews what is due.
// What it finds wrong stands in State; it returns an error only when nothing can be
// shown to a browser at all.
func (t *Trust) Look() error {
	now := t.o.Now()
	addresses, err := t.o.Addresses()
	t.mu.Lock()
	defer t.mu.Unlock()
	var troubles []string
	if err != nil {
		troubles = append(troubles, sentence(fmt.Errorf("this computer does not tell its addresses: %w", err)))
	} else {
		t.addresses = addresses
	}
	if t.authority == nil {
		troubles = append(troubles, t.lookAtOwn(now)...)
	} else {
		troubles = append(troubles, t.lookAtLeaf(now)...)
	}
	for _, sentence := range troubles {
		if !slices.Contains(t.troubles, sentence) {
			t.o.Log.Warn(sentence)
		}
	}
	t.troubles = troubles
	if t.serving == nil {
		return errors.New(strings.Join(troubles, " "))
	}
	return nil
}

// Run looks again and again until ctx ends, and has the publisher, which may be nil,
// say the name anew when the addresses have changed. Once every half minute is often
// enough: that is how long a phone is away from home when the router gives the
// computer another address.
func (t *Trust) Run(ctx context.Context, every time.Duration, publisher *Publisher) {
	ticker := time.NewTicker(every)
	defer ticker.Stop()
	if publisher != nil {
		defer publisher.Close()
	}
	for {
		t.publish(ctx, publisher)
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
		if err := t.Look(); err != nil {
			t.o.Log.Error(err.Error())
		}
	}
}

// publish has the name said, and keeps what went wrong with it.
func (t *Trust) publish(ctx context.Context, publisher *Publisher) {
	if publisher == nil || ctx.Err() != nil {
		return
	}
	told := ""
	if err := publisher.Update(ctx, t.State().Addresses); err != nil {
		told = sentence(err)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if told != "" && told != t.unpublished {
		t.o.Log.Warn(told)
	}
	t.unpublished = told
}

// sentence makes an error one that can stand by itself.
func sentence(err error) string {
	text := []rune(err.Error())
	return strings.ToUpper(string(text[:1])) + strings.TrimSuffix(string(text[1:]), ".") + "."
}
