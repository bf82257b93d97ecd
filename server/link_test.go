package server

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"needlesight/data/store"
	"needlesight/sync/wire"
)

// serveStore serves a store on loopback. With cut bytes, connections break off.
func serveStore(t testing.TB, s *store.Store, cut *cutting) *served {
	t.Helper()
	listener, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	address := listener.Addr().String()
	if cut != nil {
		cut.Listener = listener
	}
	home := New(Options{Store: s, Site: nil, Log: quiet})
	l := Listeners{Here: listener, Secret: "secret"}
	home.Place(l)
	if cut != nil {
		l.Here = cutListener{cut, listener}
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- home.Serve(ctx, l) }()
	stopped := false
	stop := func() error {
		if stopped {
			return nil
		}
		stopped = true
		cancel()
		return <-ended
	}
	t.Cleanup(func() {
		if err := stop(); err != nil {
			t.Error(err)
		}
	})
	return &served{home: home, base: "http://" + address, wsURL: "ws://" + address + "/api/sync", stop: stop}
}

// A connection of one device's story: it brings what it made, another gets it, live and later.
func TestWhatOneBringsTheOthersGet(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	a := newPhone(t, s, token, 1).start()
	_, other := s.pair(t, "tablet")
	b := newPhone(t, s, other, 2).start()
	defer a.quit()
	defer b.quit()
	for n := 1; n <= 3; n++ { // the first may come by the log, the others come live
		a.on(func() { a.make(5) })
		a.home()
		b.wait("news", func() bool { return b.took.Load() == uint64(n*30) })
	}
	c := newPhone(t, s, other, 3)
	c.make(700) // more than goes into one push
	c.start()
	defer c.quit()
	c.home()
	total := uint64(90 + 4200)
	for _, p := range []*phone{a, b, c} {
		p.wait("everything", func() bool { return p.took.Load() == total })
	}
	want := c.stamps()
	for _, p := range []*phone{a, b} {
		if !slices.Equal(p.stamps(), want) {
			t.Error("they do not have the same")
		}
	}
	if d := s.home.o.Store.Devices(); len(d) != 2 || len(d[0].Makes)+len(d[1].Makes) != 3 {
		t.Errorf("the devices are %+v", d)
	}
}

// Connections break at any byte, at both ends, again and again; home's program is
// started again in between. Nothing is lost.
func TestCutsLoseNothing(t *testing.T) {
	kept := storeIn(t, t.TempDir())
	for seed := range uint64(3) {
		cut := &cutting{chance: rand.New(rand.NewPCG(seed, 9)), most: 60_000}
		s := serveStore(t, kept, cut)
		var phones []*phone
		for i := range uint64(3) {
			_, token, err := kept.AddDevice("phone", time.Now())
			if err != nil {
				t.Fatal(err)
			}
			p := newPhone(t, s, token, seed*10+i)
			p.make(int(200 + 100*i))
			phones = append(phones, p.start())
		}
		// Back-off grows with each cut, as it should; a person who tries again is quicker.
		for range 15 {
			time.Sleep(20 * time.Millisecond)
			for _, p := range phones {
				p.on(func() { p.end.Woke(p.now()) })
			}
		}
		cut.calm()
		for _, p := range phones {
			p.on(func() { p.end.Woke(p.now()) })
			p.home()
		}
		last := kept.Last()
		for _, p := range phones {
			p.wait("everything", func() bool { return p.took.Load() == last })
			if got := uint64(len(p.stamps())); got != last {
				t.Errorf("seed %d: a phone has %d changes of %d", seed, got, last)
			}
			p.quit()
		}
		if err := s.stop(); err != nil {
			t.Error(err)
		}
	}
}

func TestAStruckOffDeviceIsToldAndLetInNoMore(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	id, token := s.pair(t, "phone")
	p := newPhone(t, s, token, 1)
	p.make(1)
	p.start()
	defer p.quit()
	p.home()
	if err := s.home.StrikeOff(id); err != nil {
		t.Fatal(err)
	}
	p.wait("the word", func() bool { return p.bye.Load() == wire.ByeStruck })
	p.on(func() { p.make(1); p.end.Woke(p.now()) })
	time.Sleep(50 * time.Millisecond)
	p.wait("the word", func() bool { return p.bye.Load() == wire.ByeStruck })
	if last := s.home.o.Store.Last(); last != 6 {
		t.Errorf("home took %d changes", last)
	}
	if status, told := s.request(t, "GET", "/api/devices", token, nil); status != 403 || !strings.Contains(text(told), "wire-struck") {
		t.Errorf("told %d %v", status, told)
	}
}

func TestAHomeThatStopsSaysSo(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	p := newPhone(t, s, token, 1)
	p.make(1)
	p.start()
	defer p.quit()
	p.home()
	if err := s.stop(); err != nil {
		t.Fatal(err)
	}
	p.wait("the word", func() bool { return p.bye.Load() == wire.ByeStopping })
}

// An older copy of home's folder was put back: a device knows more than home. It
// brings everything again.
func TestAHomeThatForgotGetsEverythingAgain(t *testing.T) {
	first := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := first.pair(t, "phone")
	p := newPhone(t, first, token, 1)
	p.make(10)
	p.start()
	p.home()
	p.quit()
	again := serveStore(t, storeIn(t, t.TempDir()), nil)
	epoch := again.home.o.Store.Epoch()
	_, token = again.pair(t, "phone")
	q := newPhone(t, again, token, 2)
	q.known, q.seen, q.epoch = p.known, p.seen, epoch
	q.start()
	defer q.quit()
	q.wait("everything to be brought", func() bool { return again.home.o.Store.Last() == 60 && q.waiting.Load() == 0 })
	if again.home.o.Store.Epoch() == epoch {
		t.Error("the log has no new epoch")
	}
}
