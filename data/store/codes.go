package store

import (
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"fmt"
	"math/big"
	"strings"
	"sync"
	"time"
)

// Of a pairing code.
const (
	CodeLife  = 5 * time.Minute // how long it can be used, once
	CodeTries = 5               // how many wrong codes end all that wait
	maxCodes  = 10              // how many wait at once; one more ends the oldest
)

// What can be wrong with a pairing code.
var (
	ErrCodeMistyped = errors.New("the code is 9 digits, and these do not fit together: one is wrong, or two are swapped")
	ErrCodeWrong    = errors.New("this code lets nobody in: it may be older than five minutes, used, or ended by too many wrong ones; have a new one shown")
)

// codes wait in memory only: a restart ends them.
type codes struct {
	sync.Mutex
	waiting []code // the oldest first
	wrong   int    // tries since none waited
}

type code struct {
	digits string
	until  time.Time
}

// NewCode makes a pairing code: 9 digits, the last of which checks the
// others. It lets in one device within CodeLife.
func (s *Store) NewCode(now time.Time) string {
	c := &s.codes
	c.Lock()
	defer c.Unlock()
	c.forget(now)
	n, err := rand.Int(rand.Reader, big.NewInt(1e8))
	if err != nil {
		panic(err) // crypto/rand never fails
	}
	digits := fmt.Sprintf("%08d", n)
	digits += string(checkDigit(digits))
	if len(c.waiting) == maxCodes {
		c.waiting = c.waiting[1:]
	}
	c.waiting = append(c.waiting, code{digits, now.Add(CodeLife)})
	return digits
}

// Redeem uses up a code. Spaces and hyphens in it do not count. The error is
// ErrCodeMistyped, which is no try, since such a code can be nobody's; or
// ErrCodeWrong. How long it takes tells nothing of the codes that wait.
func (s *Store) Redeem(typed string, now time.Time) error {
	digits := strings.NewReplacer(" ", "", "-", "").Replace(typed)
	if len(digits) != 9 || strings.Trim(digits, "0123456789") != "" || checkDigit(digits[:8]) != digits[8] {
		return ErrCodeMistyped
	}
	c := &s.codes
	c.Lock()
	defer c.Unlock()
	c.forget(now)
	found := -1
	for i, w := range c.waiting {
		found = subtle.ConstantTimeSelect(subtle.ConstantTimeCompare([]byte(w.digits), []byte(digits)), i, found)
	}
	if found >= 0 {
		c.waiting = append(c.waiting[:found:found], c.waiting[found+1:]...)
		return nil
	}
	if c.wrong++; c.wrong >= CodeTries {
		c.waiting = nil
	}
	return ErrCodeWrong
}

// forget ends the codes that are too old, or were made in the future: the
// clock has been put back.
func (c *codes) forget(now time.Time) {
	kept := c.waiting[:0:0]
	for _, w := range c.waiting {
		if left := w.until.Sub(now); left > 0 && left <= CodeLife {
			kept = append(kept, w)
		}
	}
	if c.waiting = kept; len(kept) == 0 {
		c.wrong = 0
	}
}

// checkDigit is Damm's: it finds every single wrong digit and every swap of
// two neighbours (H. M. Damm, Total anti-symmetrische Quasigruppen, 2004).
func checkDigit(digits string) byte {
	interim := byte(0)
	for _, d := range []byte(digits) {
		interim = damm[interim][d-'0'] - '0'
	}
	return '0' + interim
}

// damm is the quasigroup of order 10 that Damm gives, from memory; the tests
// hold that it finds what it must.
var damm = [10]string{
	"0317598642",
	"7092154863",
	"4206871359",
	"1750983426",
	"6123045978",
	"3674209581",
	"5869720134",
	"8945362017",
	"9438617205",
	"2581436790",
}
