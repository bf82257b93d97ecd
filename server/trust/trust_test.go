package trust

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// begin is when the homes of these tests are made.
var begin = time.Date(2026, time.November, 25, 10, 0, 0, 0, time.UTC)

// home is a home whose clock and addresses the test holds.
type home struct {
	*Trust
	now       time.Time
	addresses []netip.Addr
	log       bytes.Buffer
	options   Options
}

func newHome(t *testing.T, change func(*Options)) *home {
	t.Helper()
	h := &home{now: begin, addresses: addresses("192.168.1.20", "fd00::20")}
	h.options = Options{
		Dir: filepath.Join(t.TempDir(), "trust"), Hostname: "workshop",
		Now:       func() time.Time { return h.now },
		Addresses: func() ([]netip.Addr, error) { return h.addresses, nil },
		Log:       slog.New(slog.NewTextHandler(&h.log, nil)),
	}
	if change != nil {
		change(&h.options)
	}
	var err error
	if h.Trust, err = Open(h.options); err != nil {
		t.Fatal(err)
	}
	return h
}

func addresses(texts ...string) (list []netip.Addr) {
	for _, text := range texts {
		list = append(list, netip.MustParseAddr(text))
	}
	return list
}

// shown is the chain that a browser is shown.
func (h *home) shown(t *testing.T) *tls.Certificate {
	t.Helper()
	c, err := h.TLS().GetCertificate(&tls.ClientHelloInfo{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// verify has the standard library judge a chain, as a browser that trusts the home would.
func (h *home) verify(chain [][]byte, host string, when time.Time) error {
	roots, between := x509.NewCertPool(), x509.NewCertPool()
	root, err := x509.ParseCertificate(h.Authority())
	if err != nil {
		return err
	}
	roots.AddCert(root)
	for _, der := range chain[1:] {
		c, err := x509.ParseCertificate(der)
		if err != nil {
			return err
		}
		between.AddCert(c)
	}
	c, err := x509.ParseCertificate(chain[0])
	if err != nil {
		return err
	}
	_, err = c.Verify(x509.VerifyOptions{DNSName: host, Roots: roots, Intermediates: between, CurrentTime: when, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
	return err
}

func TestTheLeafIsForThisHouse(t *testing.T) {
	h := newHome(t, nil)
	c := h.shown(t)
	for _, host := range []string{"needlesight.local", "workshop.local", "localhost", "192.168.1.20", "127.0.0.1", "[::1]", "[fd00::20]"} {
		if err := h.verify(c.Certificate, host, begin); err != nil {
			t.Errorf("%s: %v", host, err)
		}
	}
	for _, host := range []string{"needlesight.example.com", "other.local", "192.168.1.21"} {
		if err := h.verify(c.Certificate, host, begin); err == nil {
			t.Errorf("%s is vouched for", host)
		}
	}
	if got := c.Leaf.NotAfter.Sub(c.Leaf.NotBefore); got != leafDays*day {
		t.Errorf("the leaf holds for %v", got)
	}
	if !slices.Equal(c.Leaf.ExtKeyUsage, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}) || c.Leaf.IsCA {
		t.Errorf("the leaf is for %v, an authority: %v", c.Leaf.ExtKeyUsage, c.Leaf.IsCA)
	}
}

func TestTheSignerIsConstrained(t *testing.T) {
	a := newHome(t, nil).authority
	s := a.signer
	if !s.IsCA || s.MaxPathLen != 0 || !s.MaxPathLenZero || !s.PermittedDNSDomainsCritical || !slices.Equal(s.ExtKeyUsage, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}) {
		t.Errorf("the signer is %+v", s)
	}
	if !slices.Equal(s.PermittedDNSDomains, homeNames) || len(s.PermittedIPRanges) != len(privateRanges) {
		t.Errorf("it may vouch for %v and %v", s.PermittedDNSDomains, s.PermittedIPRanges)
	}
	if !s.NotAfter.Equal(begin.AddDate(10, 0, 0)) || !a.root.NotAfter.Equal(s.NotAfter) {
		t.Errorf("it ends on %v, the root on %v", s.NotAfter, a.root.NotAfter)
	}
	if a.root.MaxPathLen != 1 || a.root.KeyUsage != x509.KeyUsageCertSign {
		t.Errorf("the root is %+v", a.root)
	}
}

// Whoever steals the signer's key can make what he likes; the standard library's
// verifier, like browsers, refuses all that is not of a house.
func TestOutsideTheConstraintsIsRefused(t *testing.T) {
	h := newHome(t, nil)
	for _, c := range []struct {
		name, address string
		fine          bool
	}{
		{name: "printer.local", fine: true},
		{name: "desk.home.arpa", fine: true},
		{name: "printer.local", address: "10.0.0.7", fine: true},
		{name: "evil.example.com"},
		{name: "local.example.com"},
		{name: "evillocal"},
		{name: "printer.local", address: "8.8.8.8"},
		{name: "printer.local", address: "2001:db8::1"},
		{name: "printer.local", address: "100.64.0.1"},
		{name: "printer.local", address: "172.32.0.1"},
	} {
		made := forge(t, h.authority, c.name, c.address)
		if err := h.verify([][]byte{made, h.authority.signer.Raw}, c.name, begin); (err == nil) != c.fine {
			t.Errorf("%s %s: fine should be %v, and the verifier says %v", c.name, c.address, c.fine, err)
		}
	}
}

// forge signs a leaf with the signer's key, as a thief would.
func forge(t *testing.T, a *authority, name, address string) []byte {
	t.Helper()
	list := []netip.Addr{}
	if address != "" {
		list = addresses(address)
	}
	made, err := a.makeLeaf(t.TempDir(), []string{name}, list, begin)
	if err != nil {
		t.Fatal(err)
	}
	return made.certificate.Raw
}

func TestASecondSignerIsRefused(t *testing.T) {
	h := newHome(t, nil)
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	below, err := sign(rootTemplate("below", begin), h.authority.signer, h.authority.key, &key.PublicKey)
	if err != nil {
		t.Fatal(err)
	}
	thief := &authority{root: h.authority.root, signer: below, key: key}
	made := forge(t, thief, "printer.local", "")
	if err := h.verify([][]byte{made, below.Raw, h.authority.signer.Raw}, "printer.local", begin); err == nil {
		t.Error("the signer can make other signers")
	}
}

func TestTheRootsKeyIsNowhere(t *testing.T) {
	h := newHome(t, nil)
	files := 0
	err := fs.WalkDir(os.DirFS(h.options.Dir), ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		files++
		text, err := os.ReadFile(filepath.Join(h.options.Dir, name))
		for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
			if block.Type == "CERTIFICATE" {
				continue
			}
			key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			} else if key.(*ecdsa.PrivateKey).PublicKey.Equal(h.authority.root.PublicKey) {
				t.Errorf("%s holds the root's key", name)
			}
		}
		return err
	})
	if err != nil || files != 4 {
		t.Errorf("%d files, %v", files, err)
	}
}

func TestOnlyTheOwnerCanLook(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("modes mean nothing on Windows; a folder in the user's own is the user's")
	}
	h := newHome(t, nil)
	check := func() {
		t.Helper()
		err := filepath.WalkDir(h.options.Dir, func(path string, e fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			info, err := e.Info()
			want := fs.FileMode(0o600)
			if e.IsDir() {
				want = 0o700
			}
			if err == nil && info.Mode().Perm() != want {
				t.Errorf("%s has mode %o", path, info.Mode().Perm())
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	check()
	for _, name := range []string{".", authorityFile, signerFile, leafFile, nameFile} {
		if err := os.Chmod(filepath.Join(h.options.Dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Open(h.options); err != nil {
		t.Fatal(err)
	}
	check() // what others loosened is tightened
}

func TestTheFingerprintIsTheFiles(t *testing.T) {
	h := newHome(t, nil)
	sum := sha256.Sum256(h.Authority())
	if got := strings.ToLower(strings.ReplaceAll(h.State().Fingerprint, ":", "")); got != hex.EncodeToString(sum[:]) {
		t.Errorf("%s is not the file's SHA-256 %x", got, sum)
	}
}

func TestAHomeIsTheSameTheNextTime(t *testing.T) {
	h := newHome(t, nil)
	again, err := Open(h.options)
	if err != nil {
		t.Fatal(err)
	}
	if again.State().Fingerprint != h.State().Fingerprint {
		t.Error("another authority")
	}
	if !again.serving.Leaf.Equal(h.serving.Leaf) {
		t.Error("another leaf, though nothing has changed")
	}
}

func TestTheLeafRenewsItself(t *testing.T) {
	h := newHome(t, nil)
	config := h.TLS() // made once, as a running server has it
	shown := func() *x509.Certificate {
		c, err := config.GetCertificate(nil)
		if err != nil {
			t.Fatal(err)
		}
		return c.Leaf
	}
	first := shown()
	look := func(why string, changed bool) {
		t.Helper()
		before := shown()
		if err := h.Look(); err != nil {
			t.Fatal(err)
		}
		if !shown().Equal(before) != changed {
			t.Errorf("%s: renewed should be %v", why, changed)
		}
		if err := h.verify(h.serving.Certificate, "needlesight.local", h.now); err != nil {
			t.Errorf("%s: %v", why, err)
		}
	}
	look("nothing has changed", false)
	h.addresses = addresses("192.168.1.99", "fd00::20")
	look("another address", true)
	if err := h.verify(h.serving.Certificate, "192.168.1.99", h.now); err != nil {
		t.Error(err)
	}
	h.addresses = addresses("fd00::20", "192.168.1.99")
	look("the same addresses in another order", false)
	h.addresses = addresses("192.168.1.99", "fd00::20", "8.8.8.8")
	look("an address that is not of a house", false)
	h.addresses = addresses("192.168.1.99", "fd00::20")
	h.now = first.NotAfter.Add(-leafDueDays * day)
	look("60 days before the end", false)
	h.now = h.now.Add(time.Hour)
	look("less than 60 days before the end", true)
	look("after that", false)
	if left := shown().NotAfter.Sub(h.now); left < 390*day {
		t.Errorf("the new one holds for %v only", left)
	}
}

func TestADamagedLeafIsMadeAgain(t *testing.T) {
	h := newHome(t, nil)
	other := newHome(t, nil)
	foreign, err := os.ReadFile(filepath.Join(other.options.Dir, leafFile))
	if err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string][]byte{"empty": nil, "rubbish": []byte("rubbish"), "of another home": foreign} {
		if err := os.WriteFile(filepath.Join(h.options.Dir, leafFile), text, 0o600); err != nil {
			t.Fatal(err)
		}
		again, err := Open(h.options)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if err := h.verify(again.serving.Certificate, "needlesight.local", begin); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func TestADamagedAuthorityIsTold(t *testing.T) {
	other := newHome(t, nil)
	foreign, err := os.ReadFile(filepath.Join(other.options.Dir, signerFile))
	if err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string][]byte{"empty": {}, "rubbish": []byte("rubbish"), "of another home": foreign} {
		h := newHome(t, nil)
		if err := os.WriteFile(filepath.Join(h.options.Dir, signerFile), text, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(h.options); err == nil || !strings.Contains(err.Error(), "is damaged") {
			t.Errorf("%s: %v", what, err)
		}
	}
	h := newHome(t, nil)
	if err := os.Remove(filepath.Join(h.options.Dir, authorityFile)); err != nil {
		t.Fatal(err)
	}
	again, err := Open(h.options) // as when the plug was pulled before the root was written
	if err != nil || again.State().Fingerprint == h.State().Fingerprint {
		t.Errorf("%v, the fingerprint is still %s", err, h.State().Fingerprint)
	}
}

func TestAWrongClockIsTold(t *testing.T) {
	o := newHome(t, nil).options
	o.Dir = t.TempDir()
	o.Now = func() time.Time { return time.Date(1970, 1, 1, 0, 0, 9, 0, time.UTC) }
	if _, err := Open(o); err == nil || !strings.Contains(err.Error(), "1 January 1970") {
		t.Errorf("an authority of 1970: %v", err)
	}

	h := newHome(t, nil)
	told := func(now time.Time) string {
		t.Helper()
		h.now = now
		if err := h.Look(); err != nil {
			t.Fatal(err)
		}
		return strings.Join(h.State().Told, " ")
	}
	if text := told(begin); text != "" {
		t.Errorf("told, though all is well: %s", text)
	}
	first := h.serving.Leaf
	if text := told(begin.AddDate(-3, 0, 0)); !strings.Contains(text, "25 November 2023") || !strings.Contains(text, "set the clock right") {
		t.Errorf("three years ago: %q", text)
	}
	if !h.serving.Leaf.Equal(first) {
		t.Error("a clock that is behind has renewed the leaf")
	}
	h.addresses = addresses("10.0.0.5") // then it has to be renewed, and still holds for phones whose clocks are right
	told(begin.AddDate(-3, 0, 0))
	if err := h.verify(h.serving.Certificate, "10.0.0.5", begin.AddDate(0, 0, 30)); err != nil {
		t.Errorf("made with a clock that is behind: %v", err)
	}
	if text := told(begin.AddDate(11, 0, 0)); !strings.Contains(text, "ended on 25 November 2036") {
		t.Errorf("in eleven years: %q", text)
	}
	if text := told(begin.AddDate(9, 6, 0)); !strings.Contains(text, "ends on 25 November 2036") {
		t.Errorf("in the last year: %q", text)
	}
	if text := told(begin); text != "" {
		t.Errorf("still told when the clock is right again: %q", text)
	}
	if err := h.verify(h.serving.Certificate, "needlesight.local", begin); err != nil {
		t.Errorf("after a clock that was ahead: %v", err)
	}
}

func TestRunLooksAgain(t *testing.T) {
	h := newHome(t, nil)
	changed := make(chan struct{})
	o := h.options
	calls := 0
	o.Addresses = func() ([]netip.Addr, error) {
		if calls++; calls == 3 {
			close(changed)
		}
		if calls >= 3 {
			return addresses("10.1.2.3"), nil
		}
		return addresses("192.168.1.20"), nil
	}
	running, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	ctx := t.Context()
	go func() { running.Run(ctx, time.Millisecond, nil); close(done) }()
	<-changed
	for end := time.Now().Add(5 * time.Second); ; time.Sleep(time.Millisecond) {
		c, err := running.TLS().GetCertificate(nil)
		if err == nil && c.Leaf.VerifyHostname("10.1.2.3") == nil {
			break
		}
		if time.Now().After(end) {
			t.Fatal("the leaf does not know the new address after five seconds")
		}
	}
}

func TestARealHandshake(t *testing.T) {
	h := newHome(t, func(o *Options) { o.Now = time.Now })
	listener, err := tls.Listen("tcp", "127.0.0.1:0", h.TLS())
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			_ = conn.(*tls.Conn).Handshake()
			conn.Close()
		}
	}()
	roots := x509.NewCertPool()
	root, err := x509.ParseCertificate(h.Authority())
	if err != nil {
		t.Fatal(err)
	}
	dial := func(pool *x509.CertPool, host string) error {
		conn, err := tls.DialWithDialer(&net.Dialer{Timeout: 5 * time.Second}, "tcp", listener.Addr().String(), &tls.Config{RootCAs: pool, ServerName: host})
		if err == nil {
			conn.Close()
		}
		return err
	}
	if err := dial(roots, "needlesight.local"); err == nil {
		t.Error("trusted by who does not trust home")
	}
	roots.AddCert(root)
	if err := dial(roots, "needlesight.local"); err != nil {
		t.Error(err)
	}
}

func TestNames(t *testing.T) {
	for name, fine := range map[string]bool{
		"needlesight": true, "wool-2": true, "a": true, "7": true, strings.Repeat("a", 63): true,
		"": false, strings.Repeat("a", 64): false, "-a": false, "a-": false, "a b": false, "wolle.haus": false, "wölle": false, "xn--a": false, "localhost": false, "local": false, "A": false, "a_b": false,
	} {
		if err := CheckName(name); (err == nil) != fine {
			t.Errorf("%q: %v", name, err)
		}
	}
}

func TestTheNameIsKept(t *testing.T) {
	h := newHome(t, func(o *Options) { o.Name = " Wool.local" })
	if s := h.State(); s.Name != "wool" || s.Host != "wool.local" {
		t.Errorf("called %s, %s", s.Name, s.Host)
	}
	h.options.Name = ""
	again, err := Open(h.options)
	if err != nil || again.State().Name != "wool" {
		t.Errorf("%v", err)
	}
	h.options.Name = "fleece"
	if _, err := Open(h.options); err == nil || !strings.Contains(err.Error(), "wool.local") {
		t.Errorf("another name without a word: %v", err)
	}
	h.options.Rename = true
	again, err = Open(h.options)
	if err != nil || again.State().Host != "fleece.local" {
		t.Fatalf("renamed: %v", err)
	}
	if err := h.verify(again.serving.Certificate, "fleece.local", begin); err != nil {
		t.Errorf("renamed: %v", err)
	}
	o := h.options
	o.Dir, o.Name = t.TempDir(), "not a name"
	if _, err := Open(o); err == nil {
		t.Error("a name with spaces was taken")
	}
}

func TestHouseAddresses(t *testing.T) {
	all := addresses("127.0.0.1", "192.168.1.20", "10.0.0.3", "8.8.8.8", "172.17.0.1", "169.254.7.7", "::1", "fe80::1", "fd12::7", "2001:db8::1", "100.64.0.9", "::ffff:10.0.0.3")
	got := houseAddresses(all, netip.MustParseAddr("192.168.1.20"))
	want := addresses("192.168.1.20", "10.0.0.3", "169.254.7.7", "172.17.0.1", "fd12::7")
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if _, err := MachineAddresses(); err != nil {
		t.Error(err)
	}
}
