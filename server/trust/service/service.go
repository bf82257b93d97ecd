// Package service has the system start needlesight when its user signs in, and keep
// it running: by a systemd user unit on Linux, a launch agent on macOS, and a Windows
// service.
package service

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/kardianos/service"
)

// Name is what the system calls the service.
const Name = "needlesight"

// Manager installs and removes the service on one system.
type Manager struct {
	system service.System
	goos   string
}

// New finds the system's manager of services. The error says what to do where there
// is none that starts programs for one user.
func New() (*Manager, error) { return newManager(service.ChosenSystem(), runtime.GOOS) }

func newManager(system service.System, goos string) (*Manager, error) {
	if system == nil || goos == "linux" && system.String() != "linux-systemd" {
		return nil, errors.New("this computer has no systemd, and other ways to start a program by itself are not known here: put 'needlesight serve' among the programs that your desktop starts when you sign in")
	}
	return &Manager{system, goos}, nil
}

// Install has the system run this program with these arguments from now on, and
// starts it. It returns a sentence on what more there is to know.
func (m *Manager) Install(program string, arguments []string) (string, error) {
	if err := staysWhereItIs(program); err != nil {
		return "", err
	}
	s, err := m.system.New(idle{}, m.config(program, arguments))
	if err != nil {
		return "", err
	}
	if err := s.Install(); err != nil {
		return "", m.explain("installing", err)
	}
	if err := s.Start(); err != nil {
		return "", m.explain("starting", err)
	}
	return m.installed(), nil
}

// installed is what a person has to know of the service just installed.
func (m *Manager) installed() string {
	switch m.goos {
	case "windows":
		return "needlesight now runs as a Windows service whenever this computer is on."
	case "darwin":
		return "needlesight now runs whenever you are signed in."
	}
	return "needlesight now runs whenever you are signed in. To have it run from when the computer starts: loginctl enable-linger"
}

// Remove stops the service and has the system forget it. What needlesight keeps stays.
func (m *Manager) Remove() (string, error) {
	s, err := m.system.New(idle{}, m.config("", nil))
	if err != nil {
		return "", err
	}
	if _, err := s.Status(); errors.Is(err, service.ErrNotInstalled) {
		return "The service was not installed; nothing was changed.", nil
	}
	_ = s.Stop() // it may not run, and removing it tells what matters
	if err := s.Uninstall(); err != nil {
		return "", m.explain("removing", err)
	}
	return "needlesight no longer starts by itself. What it keeps is still there.", nil
}

// Status tells in a sentence whether the service is installed and runs.
func (m *Manager) Status() (string, error) {
	s, err := m.system.New(idle{}, m.config("", nil))
	if err != nil {
		return "", err
	}
	state, err := s.Status()
	switch {
	case errors.Is(err, service.ErrNotInstalled):
		return "The service is not installed.", nil
	case err != nil:
		return "", m.explain("asking for", err)
	case state == service.StatusRunning:
		return "The service is installed and runs.", nil
	case state == service.StatusStopped:
		return "The service is installed and does not run.", nil
	}
	return "The service is in a state that the system does not tell.", nil
}

// explain says what was being done, and what usually helps.
func (m *Manager) explain(doing string, err error) error {
	if m.goos == "windows" {
		return fmt.Errorf("%s the service: %w; on Windows this needs a terminal opened as administrator", doing, err)
	}
	if os.Geteuid() == 0 {
		return fmt.Errorf("%s the service: %w; it belongs to a user, so do this as the user who will use it, without sudo", doing, err)
	}
	return fmt.Errorf("%s the service: %w", doing, err)
}

// staysWhereItIs refuses a program that will be gone, as 'go run' makes it.
func staysWhereItIs(program string) error {
	if !filepath.IsAbs(program) {
		return fmt.Errorf("the service needs the program's whole path, not %q", program)
	}
	if temporary, err := filepath.EvalSymlinks(os.TempDir()); err == nil {
		if inside, err := filepath.Rel(temporary, program); err == nil && !strings.HasPrefix(inside, "..") {
			return fmt.Errorf("%s lies in a folder for temporary files and will be gone: build the program and put it where it can stay", program)
		}
	}
	info, err := os.Stat(program)
	if err == nil && info.IsDir() {
		err = fmt.Errorf("%s is a folder", program)
	}
	return err
}

// config is the service as the library wants it told.
func (m *Manager) config(program string, arguments []string) *service.Config {
	return &service.Config{
		Name:        Name,
		DisplayName: "needlesight",
		Description: "Keeps and serves the measurements of needlesight in this house",
		Executable:  program,
		Arguments:   arguments,
		Option: service.KeyValue{
			"UserService":            m.goos != "windows",
			"SystemdScript":          unit,
			"RunAtLoad":              true,
			"KeepAlive":              true,
			"OnFailure":              "restart",
			"OnFailureDelayDuration": "5s",
		},
	}
}

// unit is the systemd unit of a user. The library's own belongs to the whole system:
// it wants multi-user.target, which users do not have, and waits two minutes.
const unit = `[Unit]
Description={{Description}}
ConditionFileIsExecutable={{Path | cmdEscape}}

[Service]
ExecStart={{Path | cmdEscape}}{{range Arguments}} {{. | cmd}}{{end}}
Restart=on-failure
RestartSec=5
NoNewPrivileges=yes

[Install]
WantedBy=default.target
`

// Run runs the program's work until ctx ends. On Windows a service has to answer the
// system while it works, and is told by it when to stop; this does both. Everywhere
// else, and in a terminal, it just calls work.
func Run(ctx context.Context, work func(context.Context) error) error {
	if runtime.GOOS != "windows" || service.Interactive() {
		return work(ctx)
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	w := &worker{ctx: ctx, stop: stop, work: work, done: make(chan struct{})}
	s, err := service.New(w, &service.Config{Name: Name})
	if err != nil {
		return err
	}
	return s.Run()
}

// worker is work between the system's start and stop.
type worker struct {
	ctx  context.Context
	stop context.CancelFunc
	work func(context.Context) error
	done chan struct{}
	err  error // of work; to be read once done is closed
}

// Start begins the work. When it ends with an error by itself the program ends, so
// that the system starts it again.
func (w *worker) Start(service.Service) error {
	go func() {
		w.err = w.work(w.ctx)
		close(w.done)
		if w.err != nil && w.ctx.Err() == nil {
			os.Exit(1)
		}
	}()
	return nil
}

// Stop ends the work and waits for it.
func (w *worker) Stop(service.Service) error {
	w.stop()
	<-w.done
	return w.err
}

// idle is the program as far as installing and removing go.
type idle struct{}

// Start is never called: installing does not run the program.
func (idle) Start(service.Service) error { return nil }

// Stop is never called either.
func (idle) Stop(service.Service) error { return nil }
