package server

import (
	"context"
	"net/http"
	"sync/atomic"
	"testing"
	"time"
)

// A clock that is years off, and one that is put right meanwhile, hold nobody up: no
// clock decides what is newer, and devices stay let in. A code lives by home's own
// clock, and ends when that jumps.
func TestAClockThatIsYearsOff(t *testing.T) {
	for _, years := range []int{-30, 30} {
		var off atomic.Int64 // years
		off.Store(int64(years))
		listener, err := Listen(Loopback, 0)
		if err != nil {
			t.Fatal(err)
		}
		home := New(Options{Store: storeIn(t, t.TempDir()), Log: quiet, Now: func() time.Time { return time.Now().AddDate(int(off.Load()), 0, 0) }})
		l := Listeners{Here: listener}
		home.Place(l)
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- home.Serve(ctx, l) }()
		address := listener.Addr().String()
		s := &served{home: home, base: "http://" + address, wsURL: "ws://" + address + "/api/sync"}

		_, token := s.pair(t, "phone")
		a := newPhone(t, s, token, 1).start()
		a.on(func() { a.make(50) })
		a.home()
		waits := home.NewCode().Code

		off.Store(0)
		a.on(func() { a.make(50) })
		a.home()
		if status, told := s.request(t, "POST", "/api/pair", "", map[string]string{"code": waits, "name": "late"}); status != http.StatusForbidden {
			t.Errorf("%d years off: a code of before the jump answers %d %v", years, status, told)
		}
		_, other := s.pair(t, "tablet")
		b := newPhone(t, s, other, 2).start()
		b.wait("everything", func() bool { return b.took.Load() == 600 })
		if got := len(b.stamps()); got != 600 {
			t.Errorf("%d years off: the other has %d changes, not 600", years, got)
		}
		a.quit()
		b.quit()
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
}
