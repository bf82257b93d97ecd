package server

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"syscall"
	"time"
)

// Loopback is the only address that is listened on: this computer itself.
const Loopback = "127.0.0.1"

// ErrPortInUse says that another program listens on the port.
var ErrPortInUse = errors.New("the port is in use")

// headerTime is how long a client may take to say what it wants.
var headerTime = 5 * time.Second

// goodbye is how long a request may still take once the server is told to stop.
const goodbye = 3 * time.Second

// Listen opens a port, 1 to 65535, of this computer to itself; 0 takes any free
// one. It returns ErrPortInUse when another program has it.
func Listen(port int) (net.Listener, error) {
	listener, err := net.Listen("tcp", net.JoinHostPort(Loopback, strconv.Itoa(port)))
	if errors.Is(err, syscall.EADDRINUSE) || isInUse(err) {
		return nil, fmt.Errorf("%w: another program listens on port %d, perhaps a needlesight that is still running; stop it, or choose another with --port", ErrPortInUse, port)
	}
	if errors.Is(err, syscall.EACCES) {
		return nil, fmt.Errorf("port %d may not be used by this account: choose one above 1023 with --port", port)
	}
	return listener, err
}

// isInUse knows the same on Windows, where the error has a number of its own
// (WSAEADDRINUSE, 10048).
func isInUse(err error) bool {
	var number syscall.Errno
	return errors.As(err, &number) && number == 10048
}

// Run serves until ctx ends, then lets running requests finish, and returns nil.
func Run(ctx context.Context, listener net.Listener, handler http.Handler, log *slog.Logger) error {
	server := &http.Server{
		Handler: handler,
		// A client that dawdles holds nothing up for long.
		ReadHeaderTimeout: headerTime,
		ReadTimeout:       15 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), goodbye)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		return server.Close()
	}
	return nil
}

// Port is the number of the port that a listener of Listen has.
func Port(listener net.Listener) int { return listener.Addr().(*net.TCPAddr).Port }
