package server

import (
	"errors"
	"fmt"
	"net"
	"strconv"
	"syscall"
	"time"
)

// Loopback is the address of this computer for itself.
const Loopback = "127.0.0.1"

// ErrPortInUse says that another program listens on the port.
var ErrPortInUse = errors.New("the port is in use")

// headerTime is how long a client may take to say what it wants.
var headerTime = 5 * time.Second

// Listen opens a port, 1 to 65535, of an address of this computer ("" for all of
// them); 0 takes any free one. It returns ErrPortInUse when another program has it.
func Listen(host string, port int) (net.Listener, error) {
	listener, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(port)))
	if errors.Is(err, syscall.EADDRINUSE) || isInUse(err) {
		return nil, fmt.Errorf("%w: another program listens on port %d, perhaps a needlesight that is still running", ErrPortInUse, port)
	}
	if errors.Is(err, syscall.EACCES) {
		return nil, fmt.Errorf("port %d may not be used by this account: choose one above 1023", port)
	}
	return listener, err
}

// isInUse knows the same on Windows, where the error has a number of its own
// (WSAEADDRINUSE, 10048).
func isInUse(err error) bool {
	var number syscall.Errno
	return errors.As(err, &number) && number == 10048
}

// Port is the number of the port that a listener of Listen has.
func Port(listener net.Listener) int { return listener.Addr().(*net.TCPAddr).Port }
