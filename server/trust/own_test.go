package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// certificate writes a certificate of somebody else, and its key.
func certificate(t *testing.T, dir string, bits int, change func(*x509.Certificate)) (certFile, keyFile string) {
	t.Helper()
	template := &x509.Certificate{
		NotBefore: begin.Add(-day), NotAfter: begin.Add(90 * day), DNSNames: []string{"home.example.org"},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	if change != nil {
		change(template)
	}
	var public, private any
	if bits > 0 {
		key, err := rsa.GenerateKey(rand.Reader, bits)
		if err != nil {
			t.Fatal(err)
		}
		public, private = &key.PublicKey, key
	} else {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		public, private = &key.PublicKey, key
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, public, private)
	if err != nil {
		t.Fatal(err)
	}
	keyDER, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	certFile, keyFile = filepath.Join(dir, "own.crt"), filepath.Join(dir, "own.key")
	for name, block := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: der}, keyFile: {Type: "PRIVATE KEY", Bytes: keyDER}} {
		if err := os.WriteFile(name, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return certFile, keyFile
}

func TestOwnCertificate(t *testing.T) {
	dir := t.TempDir()
	h := newHome(t, func(o *Options) { o.CertFile, o.KeyFile = certificate(t, dir, 0, nil) })
	s := h.State()
	if s.Host != "home.example.org" || s.Fingerprint != "" || h.Authority() != nil || len(s.Told) != 0 {
		t.Errorf("%+v", s)
	}
	if _, err := os.Stat(filepath.Join(h.options.Dir, signerFile)); err == nil {
		t.Error("an authority was made all the same")
	}

	// A newer one is taken up without a restart; one that does not fit is told.
	before := h.serving.Leaf
	certificate(t, dir, 0, func(c *x509.Certificate) { c.NotAfter = begin.Add(300 * day) })
	touch(t, dir, begin)
	if err := h.Look(); err != nil || h.serving.Leaf.Equal(before) || len(h.State().Told) != 0 {
		t.Errorf("%v, %v", err, h.State().Told)
	}
	before = h.serving.Leaf
	certificate(t, dir, 0, func(c *x509.Certificate) { c.DNSNames = []string{"other.example.org"} })
	touch(t, dir, begin.Add(time.Minute))
	if err := h.Look(); err != nil || !h.serving.Leaf.Equal(before) || len(h.State().Told) != 1 {
		t.Errorf("%v, %v", err, h.State().Told)
	}
	certificate(t, dir, 0, func(c *x509.Certificate) { c.NotAfter = begin.Add(300 * day) })
	touch(t, dir, begin.Add(2*time.Minute))
	h.now = begin.Add(290 * day)
	if err := h.Look(); err != nil || len(h.State().Told) != 1 || !strings.Contains(h.State().Told[0], "ends on") {
		t.Errorf("%v, %v", err, h.State().Told)
	}
}

// touch gives both files a time, for file systems whose clocks are coarse.
func touch(t *testing.T, dir string, when time.Time) {
	t.Helper()
	for _, name := range []string{"own.crt", "own.key"} {
		if err := os.Chtimes(filepath.Join(dir, name), when, when); err != nil {
			t.Fatal(err)
		}
	}
}

func TestOwnCertificateThatCoversTheLocalName(t *testing.T) {
	h := newHome(t, func(o *Options) {
		o.CertFile, o.KeyFile = certificate(t, t.TempDir(), 0, func(c *x509.Certificate) { c.DNSNames = []string{"first.example.org", "needlesight.local"} })
	})
	if got := h.State().Host; got != "needlesight.local" {
		t.Errorf("the origin is %s", got)
	}
}

func TestOwnCertificatesThatDoNotFit(t *testing.T) {
	for says, c := range map[string]struct {
		bits   int
		change func(*x509.Certificate)
	}{
		"holds only from":   {change: func(c *x509.Certificate) { c.NotBefore = begin.Add(day) }},
		"ended on":          {change: func(c *x509.Certificate) { c.NotAfter = begin.Add(-time.Hour) }},
		"names no host":     {change: func(c *x509.Certificate) { c.DNSNames = nil; c.Subject.CommonName = "home.example.org" }},
		"not meant for a":   {change: func(c *x509.Certificate) { c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth} }},
		"key of 1024 bits":  {bits: 1024},
		"more than 825":     {change: func(c *x509.Certificate) { c.NotAfter = begin.Add(900 * day) }},
		"covers only *.exa": {change: func(c *x509.Certificate) { c.DNSNames = []string{"*.example.org"} }},
	} {
		o := Options{Dir: t.TempDir(), Now: func() time.Time { return begin }}
		o.CertFile, o.KeyFile = certificate(t, t.TempDir(), c.bits, c.change)
		if _, err := Open(o); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("should say %q, says: %v", says, err)
		}
	}
	certFile, _ := certificate(t, t.TempDir(), 0, nil)
	_, keyFile := certificate(t, t.TempDir(), 0, nil)
	for says, o := range map[string]Options{
		"cannot be used":   {CertFile: certFile, KeyFile: keyFile},
		"there is no file": {CertFile: certFile, KeyFile: keyFile + "x"},
		"needs two files":  {CertFile: certFile},
	} {
		o.Dir = t.TempDir()
		if _, err := Open(o); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("should say %q, says: %v", says, err)
		}
	}
}
