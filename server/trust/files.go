package trust

import (
	"crypto/ecdsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// The files of the folder. Each is written whole or not at all, so that a plug pulled
// at any moment leaves the old one or the new one.
const (
	authorityFile = "authority.crt" // the root, which devices trust: a certificate without a key
	signerFile    = "signer.pem"    // the constrained intermediate, and its key
	leafFile      = "leaf.pem"      // this computer's own certificate, and its key
	nameFile      = "name"          // the NAME of NAME.local
)

// makeFolder makes a folder that only its owner can look into, and makes one that
// is there so.
func makeFolder(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	return os.Chmod(dir, 0o700)
}

// readFile reads a file of the folder, and makes it its owner's alone.
func readFile(dir, name string) ([]byte, error) {
	path := filepath.Join(dir, name)
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return text, os.Chmod(path, 0o600)
}

// writeFile puts a file of the folder in place of the one before it.
func writeFile(dir, name string, text []byte) error {
	draft, err := os.CreateTemp(dir, name+".new-*") // 0600
	if err != nil {
		return err
	}
	defer os.Remove(draft.Name()) // gone already when all went well
	_, err = draft.Write(text)
	if err = errors.Join(err, draft.Sync(), draft.Close()); err != nil {
		return err
	}
	if err := os.Rename(draft.Name(), filepath.Join(dir, name)); err != nil {
		return err
	}
	syncFolder(dir)
	return nil
}

// syncFolder makes a rename last. Windows cannot do this and does not need it, and
// nothing depends on it but a file that would be made again.
func syncFolder(dir string) {
	if folder, err := os.Open(dir); err == nil {
		_ = folder.Sync()
		folder.Close()
	}
}

// encode writes certificates, and a key where there is one, as PEM.
func encode(key *ecdsa.PrivateKey, certificates ...[]byte) ([]byte, error) {
	var text []byte
	for _, der := range certificates {
		text = append(text, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})...)
	}
	if key == nil {
		return text, nil
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(text, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})...), nil
}

// decode reads what encode wrote: one certificate at least, and a key or nil.
func decode(text []byte) (certificates []*x509.Certificate, key *ecdsa.PrivateKey, err error) {
	for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
		switch block.Type {
		case "CERTIFICATE":
			c, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				return nil, nil, err
			}
			certificates = append(certificates, c)
		case "PRIVATE KEY":
			k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
			if err != nil {
				return nil, nil, err
			}
			is := false
			if key, is = k.(*ecdsa.PrivateKey); !is {
				return nil, nil, fmt.Errorf("a %T instead of an ECDSA key", k)
			}
		}
	}
	if len(certificates) == 0 {
		return nil, nil, errors.New("there is no certificate in it")
	}
	return certificates, key, nil
}
