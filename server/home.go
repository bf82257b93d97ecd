// Package server is what the home computer offers: the app's files, pairing,
// the sync of records over a websocket, and the pictures. It listens in up to
// three places, each a socket of its own:
//
//   - here, plain HTTP for this computer alone, bound to its loopback address;
//   - to the house, HTTPS with the certificate of server/trust;
//   - for welcome, plain HTTP with nothing but the page that leads a device
//     through trusting home.
//
// Without a device's token nobody gets more than the app's files.
package server

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"sync/atomic"
	"time"

	"golang.org/x/net/netutil"

	"needlesight/data/store"
	"needlesight/pwa"
	"needlesight/server/trust"
	"needlesight/sync/wire"
)

// Options say what a home is made of.
type Options struct {
	Store   *store.Store
	Trust   *trust.Trust              // nil: nothing is offered to the house
	Site    func() (*pwa.Site, error) // the app; asked at every request
	Version string                    // of the program, for the devices to show
	Log     *slog.Logger              // nil: none. It is told no name, token, code or value
	Now     func() time.Time          // nil: time.Now
}

// Listeners are where a home listens. Here must be there.
type Listeners struct {
	Here    net.Listener // plain HTTP; must be of a loopback address
	House   net.Listener // HTTPS; nil for none
	Welcome net.Listener // plain HTTP; nil for none
	Secret  string       // opens the control routes of Here; "" for nobody
}

// Home is a home that can be served. It holds the connections of all devices.
type Home struct {
	o      Options
	began  time.Time
	hub    *hub
	limits *limits
	places atomic.Pointer[places]
	broken chan error // the store has failed for good
}

// New makes a home. It serves nobody yet.
func New(o Options) *Home {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	h := &Home{o: o, began: time.Now(), hub: newHub(), limits: newLimits(), broken: make(chan error, 1)}
	h.places.Store(&places{})
	return h
}

// now is the time of the machines of sync/peer: it never goes back.
func (h *Home) now() int64 { return time.Since(h.began).Milliseconds() }

// Limits of connections.
const (
	maxSockets = 1000 // open at once, on each listener
	goodbye    = 3 * time.Second
)

// Place tells home where it will be served, so that Links and NewCode know; Serve does it too.
func (h *Home) Place(l Listeners) { h.places.Store(placesOf(l)) }

// Serve serves until ctx ends, tells every device that home stops, lets running
// requests finish, and returns nil. It returns an error when it cannot go on: a
// listener has failed, or the store (the error wraps store.ErrFailed) and the
// program must be started again.
func (h *Home) Serve(ctx context.Context, l Listeners) error {
	h.Place(l)
	failed := make(chan error, 3)
	var servers []*http.Server
	serve := func(listener net.Listener, handler http.Handler, secure bool) {
		s := h.newServer(handler)
		servers = append(servers, s)
		listener = netutil.LimitListener(listener, maxSockets)
		if secure {
			s.TLSConfig = h.o.Trust.TLS()
			go func() { failed <- s.ServeTLS(listener, "", "") }()
			return
		}
		go func() { failed <- s.Serve(listener) }()
	}
	serve(l.Here, h.hereHandler(l.Secret), false)
	if l.House != nil {
		serve(l.House, h.houseHandler(), true)
	}
	if l.Welcome != nil {
		serve(l.Welcome, h.o.Trust.Welcome(Port(l.House)), false)
	}
	var err error
	select {
	case err = <-failed:
	case err = <-h.broken:
	case <-ctx.Done():
	}
	h.hub.close(wire.ByeStopping)
	return errors.Join(err, shutDown(servers))
}

// newServer makes a server for which a client that dawdles holds nothing up for long.
func (h *Home) newServer(handler http.Handler) *http.Server {
	return &http.Server{
		Handler:           h.steady(handler),
		ReadHeaderTimeout: headerTime,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(h.o.Log.Handler(), slog.LevelDebug), // it names addresses of devices
	}
}

// steady has a fault of the program told in the log, where it is not told who asked;
// the request it came in ends, and nothing else.
func (h *Home) steady(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			fault := recover()
			if fault == nil {
				return
			}
			if fault != http.ErrAbortHandler {
				h.o.Log.Error("a request met a fault of the program", "fault", fault, "stack", string(debug.Stack()))
			}
			panic(http.ErrAbortHandler) // which net/http tells nobody
		}()
		next.ServeHTTP(w, r)
	})
}

// shutDown lets running requests finish for a moment.
func shutDown(servers []*http.Server) error {
	last, cancel := context.WithTimeout(context.Background(), goodbye)
	defer cancel()
	var err error
	for _, s := range servers {
		if s.Shutdown(last) != nil {
			err = errors.Join(err, s.Close())
		}
	}
	return err
}

// hereHandler is all that this computer gets.
func (h *Home) hereHandler(secret string) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", h.appHandler())
	if secret != "" {
		mux.Handle("/control/", h.controlHandler(secret))
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !h.places.Load().isHere(r.Host) {
			// Another name that leads to this computer: a page of its owner's may not speak for us.
			plain(w, http.StatusMisdirectedRequest, "This address is for the computer itself: open it as localhost.")
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// houseHandler is all that the house gets.
func (h *Home) houseHandler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", h.appHandler())
	mux.Handle("GET "+trust.ProbePath, trust.Probe())
	return mux
}

// appHandler is the app and what it asks for.
func (h *Home) appHandler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", files(h.o.Site, h.sources, h.o.Log))
	mux.Handle("/api/", h.api())
	return mux
}

// fail ends Serve: the store has failed for good.
func (h *Home) fail(err error) {
	select {
	case h.broken <- err:
	default:
	}
}
