package trust

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"path/filepath"
	"strings"
	"time"
)

// How long things hold. 397 days is what every browser takes for a certificate; ten
// years is how long nobody has to trust anew.
const (
	authorityYears = 10
	leafDays       = 397
	leafDueDays    = 60 // a leaf with fewer days left is renewed
	day            = 24 * time.Hour
	slack          = day // certificates begin this much earlier, for devices whose clocks lag
)

// homeNames are the names that the authority can vouch for, with all below them:
// multicast DNS (RFC 6762), this computer, and the name set apart for houses whose
// router gives names (RFC 8375). They can never be widened, so the last is in it from
// the start.
var homeNames = []string{"local", "localhost", "home.arpa"}

// birth is before the first copy of this program: a clock that says less is wrong.
var birth = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// authority is what devices are asked to trust. The root's key signed the one
// intermediate and was forgotten; the intermediate's key signs leaves, and browsers
// refuse whatever it signs that is not of this house.
type authority struct {
	root, signer *x509.Certificate
	key          *ecdsa.PrivateKey // the signer's
}

// openAuthority reads the authority of a folder, and makes one where there is none.
func openAuthority(dir, host string, now time.Time) (*authority, error) {
	rootText, err := readFile(dir, authorityFile)
	if errors.Is(err, fs.ErrNotExist) {
		// The root is written last: without it nobody can have trusted the rest.
		return makeAuthority(dir, host, now)
	}
	if err != nil {
		return nil, err
	}
	a, err := readAuthority(dir, rootText)
	if err != nil {
		return nil, fmt.Errorf("the authority in %s is damaged: %w. Put the folder back from a backup; or take it away, start again, and let every device trust anew", dir, err)
	}
	return a, nil
}

func readAuthority(dir string, rootText []byte) (*authority, error) {
	roots, _, err := decode(rootText)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", authorityFile, err)
	}
	text, err := readFile(dir, signerFile)
	if err != nil {
		return nil, err
	}
	signers, key, err := decode(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", signerFile, err)
	}
	if key == nil || !key.PublicKey.Equal(signers[0].PublicKey) {
		return nil, fmt.Errorf("%s: its key is not the certificate's", signerFile)
	}
	if err := signers[0].CheckSignatureFrom(roots[0]); err != nil {
		return nil, fmt.Errorf("%s was not signed by %s", signerFile, authorityFile)
	}
	return &authority{root: roots[0], signer: signers[0], key: key}, nil
}

// makeAuthority makes both tiers and writes them; the root's key is never written,
// and is gone when this returns.
func makeAuthority(dir, host string, now time.Time) (*authority, error) {
	if now.Before(birth) {
		return nil, fmt.Errorf("this computer's clock says %s, which cannot be. Please set it right and start again: what is signed at a wrong time is trusted by nobody", longDay(now))
	}
	rootKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	root, err := sign(rootTemplate(host, now), nil, rootKey, &rootKey.PublicKey)
	if err != nil {
		return nil, err
	}
	signer, err := sign(signerTemplate(host, now), root, rootKey, &key.PublicKey)
	if err != nil {
		return nil, err
	}
	a := &authority{root: root, signer: signer, key: key}
	return a, a.write(dir)
}

// write keeps the authority, the root last.
func (a *authority) write(dir string) error {
	text, err := encode(a.key, a.signer.Raw)
	if err != nil {
		return err
	}
	if err := writeFile(dir, signerFile, text); err != nil {
		return err
	}
	if text, err = encode(nil, a.root.Raw); err != nil {
		return err
	}
	return writeFile(dir, authorityFile, text)
}

// rootTemplate is the certificate that devices keep. Its name is what their settings
// list, so it tells which house and when.
func rootTemplate(host string, now time.Time) *x509.Certificate {
	return &x509.Certificate{
		Subject:               pkix.Name{Organization: []string{"needlesight"}, CommonName: "Home " + host + " " + now.Format(time.DateOnly)},
		NotBefore:             now.Add(-slack),
		NotAfter:              now.AddDate(authorityYears, 0, 0),
		IsCA:                  true,
		BasicConstraintsValid: true,
		MaxPathLen:            1,
		KeyUsage:              x509.KeyUsageCertSign,
	}
}

// signerTemplate is the intermediate. The constraints stand here and not in the root,
// because some systems do not look at those of a root. As soon as one kind of address
// is named, every other is forbidden.
func signerTemplate(host string, now time.Time) *x509.Certificate {
	t := rootTemplate(host, now)
	t.Subject.CommonName = "Signer of " + t.Subject.CommonName
	t.MaxPathLen, t.MaxPathLenZero = 0, true
	t.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
	t.PermittedDNSDomainsCritical = true
	t.PermittedDNSDomains = homeNames
	for _, p := range privateRanges {
		t.PermittedIPRanges = append(t.PermittedIPRanges, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return t
}

// makeLeaf makes and keeps a certificate for names and addresses. A clock that lags
// behind the authority's beginning does not shorten it.
func (a *authority) makeLeaf(dir string, names []string, addresses []netip.Addr, now time.Time) (*leaf, error) {
	if now.Before(a.signer.NotBefore) {
		now = a.signer.NotBefore
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	template := &x509.Certificate{
		Subject:               pkix.Name{Organization: []string{"needlesight"}, CommonName: names[0]},
		NotBefore:             later(now.Add(-slack), a.signer.NotBefore),
		NotAfter:              earlier(now.Add(-slack).AddDate(0, 0, leafDays), a.signer.NotAfter),
		DNSNames:              names,
		BasicConstraintsValid: true,
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	for _, address := range addresses {
		template.IPAddresses = append(template.IPAddresses, address.AsSlice())
	}
	made, err := sign(template, a.signer, a.key, &key.PublicKey)
	if err != nil {
		return nil, err
	}
	text, err := encode(key, made.Raw)
	if err != nil {
		return nil, err
	}
	return &leaf{made, key}, writeFile(dir, leafFile, text)
}

// fingerprint is the SHA-256 of the root as devices show it, and as a checksum of
// the file that they load gives it.
func (a *authority) fingerprint() string {
	sum := sha256.Sum256(a.root.Raw)
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}

// leaf is this computer's certificate and its key.
type leaf struct {
	certificate *x509.Certificate
	key         *ecdsa.PrivateKey
}

// readLeaf reads the leaf of a folder; whatever is wrong with it, a new one is made.
func readLeaf(dir string) (*leaf, error) {
	text, err := readFile(dir, leafFile)
	if err != nil {
		return nil, err
	}
	certificates, key, err := decode(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Join(dir, leafFile), err)
	}
	if key == nil || !key.PublicKey.Equal(certificates[0].PublicKey) {
		return nil, fmt.Errorf("%s: its key is not the certificate's", filepath.Join(dir, leafFile))
	}
	return &leaf{certificates[0], key}, nil
}

// sign makes a certificate of a template; without a parent it signs itself.
func sign(template, parent *x509.Certificate, signer, public any) (*x509.Certificate, error) {
	if parent == nil {
		parent = template
	}
	der, err := x509.CreateCertificate(rand.Reader, template, parent, public, signer)
	if err != nil {
		return nil, err
	}
	return x509.ParseCertificate(der)
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
