package server

import (
	"net"
	"net/http"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// limits hold off who tries too often.
type limits struct {
	strangers *byAddress // requests without a token that is known
	pairs     *byAddress // tries of a pairing code
	allPairs  *rate.Limiter
	epochs    *rate.Limiter // new epochs that devices bring about: each costs every device everything it has
}

func newLimits() *limits {
	return &limits{
		strangers: newByAddress(rate.Every(time.Second), 60),
		pairs:     newByAddress(rate.Every(6*time.Second), 10),
		allPairs:  rate.NewLimiter(rate.Every(2*time.Second), 30),
		epochs:    rate.NewLimiter(rate.Every(10*time.Minute), 3),
	}
}

// stranger tells whether one more may come from where this request did.
func (l *limits) stranger(r *http.Request) bool { return l.strangers.allow(r.RemoteAddr) }

// pairing tells whether one more code may be tried.
func (l *limits) pairing(r *http.Request) bool {
	return l.pairs.allow(r.RemoteAddr) && l.allPairs.Allow()
}

// byAddress limits each address by itself.
type byAddress struct {
	mu    sync.Mutex
	each  rate.Limit
	burst int
	known map[string]*rate.Limiter
}

// maxAddresses is how many are told apart; a house has fewer.
const maxAddresses = 4096

func newByAddress(each rate.Limit, burst int) *byAddress {
	return &byAddress{each: each, burst: burst, known: map[string]*rate.Limiter{}}
}

func (b *byAddress) allow(remote string) bool {
	host, _, err := net.SplitHostPort(remote)
	if err != nil {
		host = remote
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	l, there := b.known[host]
	if !there {
		if len(b.known) >= maxAddresses {
			b.forget()
		}
		l = rate.NewLimiter(b.each, b.burst)
		b.known[host] = l
	}
	return l.Allow()
}

// forget lets go of those that have not come for a while; of all, if there are none such.
func (b *byAddress) forget() {
	for host, l := range b.known {
		if l.Tokens() >= float64(b.burst) {
			delete(b.known, host)
		}
	}
	if len(b.known) >= maxAddresses {
		clear(b.known)
	}
}
