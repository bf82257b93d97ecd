package trust

import (
	"crypto/rsa"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"
)

// own is a certificate that was given instead of ours.
type own struct {
	pair *tls.Certificate
	when time.Time // when its files were last written
}

// readOwn reads the files of a certificate, and refuses with a sentence what browsers
// would refuse without one. A file may hold the whole chain, the leaf first.
func readOwn(certFile, keyFile string, now time.Time) (*own, error) {
	when, err := newest(certFile, keyFile)
	if err != nil {
		return nil, err
	}
	pair, err := tls.LoadX509KeyPair(certFile, keyFile)
	if err != nil {
		return nil, fmt.Errorf("%s and %s cannot be used as certificate and key: %w", certFile, keyFile, err)
	}
	if pair.Leaf == nil {
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return nil, fmt.Errorf("%s: %w", certFile, err)
		}
	}
	if err := fits(pair.Leaf, now); err != nil {
		return nil, fmt.Errorf("%s %w", certFile, err)
	}
	return &own{&pair, when}, nil
}

// newest is when the newer of the files was written.
func newest(files ...string) (when time.Time, err error) {
	for _, name := range files {
		info, err := os.Stat(name)
		if errors.Is(err, fs.ErrNotExist) {
			return when, fmt.Errorf("there is no file %s", name)
		}
		if err != nil {
			return when, err
		}
		when = later(when, info.ModTime())
	}
	return when, nil
}

// fits tells what browsers would have against a certificate. The requirements are
// those that Apple publishes for all its systems (support article 103769).
func fits(c *x509.Certificate, now time.Time) error {
	key, isRSA := c.PublicKey.(*rsa.PublicKey)
	switch {
	case now.Before(c.NotBefore):
		return fmt.Errorf("holds only from %s; this computer's clock says %s", longDay(c.NotBefore), longDay(now))
	case now.After(c.NotAfter):
		return fmt.Errorf("ended on %s; this computer's clock says %s", longDay(c.NotAfter), longDay(now))
	case len(c.DNSNames) == 0:
		return errors.New("names no host: a certificate needs the home's name among its subject alternative names")
	case !slices.Contains(c.ExtKeyUsage, x509.ExtKeyUsageServerAuth):
		return errors.New("is not meant for a server: it lacks the usage serverAuth")
	case isRSA && key.N.BitLen() < 2048:
		return fmt.Errorf("has an RSA key of %d bits; phones want 2048 at least", key.N.BitLen())
	case c.NotAfter.Sub(c.NotBefore) > 825*day:
		return fmt.Errorf("holds for %d days; iPhones and iPads refuse more than 825", int(c.NotAfter.Sub(c.NotBefore)/day))
	}
	return nil
}

// host is the name of the origin: the home's own when the certificate covers it, or
// the first that is no pattern.
func (o *own) host(local string) (string, error) {
	if o.pair.Leaf.VerifyHostname(local) == nil {
		return local, nil
	}
	for _, name := range o.pair.Leaf.DNSNames {
		if !strings.Contains(name, "*") {
			return name, nil
		}
	}
	return "", fmt.Errorf("the certificate covers only %s, and not %s: choose a name that it covers", strings.Join(o.pair.Leaf.DNSNames, ", "), local)
}
