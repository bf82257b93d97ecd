package service

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/kardianos/service"
)

// pretend is a system's manager of services that notes what it is told.
type pretend struct {
	name      string
	config    *service.Config
	done      []string
	state     service.Status
	stateErr  error
	installed error
}

func (p *pretend) String() string    { return p.name }
func (p *pretend) Detect() bool      { return true }
func (p *pretend) Interactive() bool { return true }
func (p *pretend) New(_ service.Interface, c *service.Config) (service.Service, error) {
	p.config = c
	return &pretended{p: p}, nil
}

// pretended is its one service; what the tests do not call is nil.
type pretended struct {
	service.Service
	p *pretend
}

func (s *pretended) Install() error   { s.p.done = append(s.p.done, "install"); return s.p.installed }
func (s *pretended) Start() error     { s.p.done = append(s.p.done, "start"); return nil }
func (s *pretended) Stop() error      { s.p.done = append(s.p.done, "stop"); return nil }
func (s *pretended) Uninstall() error { s.p.done = append(s.p.done, "uninstall"); return nil }
func (s *pretended) Status() (service.Status, error) {
	return s.p.state, s.p.stateErr
}

// TestMain gives the tests a folder for temporary files of their own: the checkout
// may itself lie in the system's.
func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "needlesight-service-")
	if err == nil {
		err = os.Setenv("TMPDIR", dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

// program is a file that can stay where it is: this test's own source.
func program(t *testing.T) string {
	t.Helper()
	path, err := filepath.Abs("service.go")
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func TestInstallAndRemove(t *testing.T) {
	for goos, says := range map[string]string{"linux": "enable-linger", "darwin": "signed in", "windows": "whenever this computer is on"} {
		p := &pretend{name: "linux-systemd"}
		m, err := newManager(p, goos)
		if err != nil {
			t.Fatal(err)
		}
		text, err := m.Install(program(t), []string{"serve", "--data", "/home/maker/wool"})
		if err != nil || !strings.Contains(text, says) {
			t.Errorf("%s: %q, %v", goos, text, err)
		}
		if p.config.Executable != program(t) || len(p.config.Arguments) != 3 || p.config.Option["UserService"] != (goos != "windows") {
			t.Errorf("%s: %+v", goos, p.config)
		}
		if _, err := m.Remove(); err != nil {
			t.Error(err)
		}
		if got := strings.Join(p.done, " "); got != "install start stop uninstall" {
			t.Errorf("%s: %s", goos, got)
		}
	}
}

func TestWhatGoesWrongIsTold(t *testing.T) {
	p := &pretend{name: "linux-systemd", installed: errors.New("no permission"), stateErr: service.ErrNotInstalled}
	m, err := newManager(p, "windows")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Install(program(t), nil); err == nil || !strings.Contains(err.Error(), "administrator") || len(p.done) != 1 {
		t.Errorf("%v after %v", err, p.done)
	}
	if text, err := m.Remove(); err != nil || !strings.Contains(text, "was not installed") || len(p.done) != 1 {
		t.Errorf("%q, %v after %v", text, err, p.done)
	}
	for path, says := range map[string]string{
		"needlesight": "whole path",
		filepath.Join(t.TempDir(), "needlesight"): "temporary",
		filepath.Dir(program(t)):                  "is a folder",
		program(t) + "x":                          "no such file",
	} {
		if runtime.GOOS == "windows" && says == "no such file" {
			continue
		}
		if _, err := m.Install(path, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", path, err)
		}
	}
	if _, err := newManager(&pretend{name: "unix-systemv"}, "linux"); err == nil {
		t.Error("a service of the whole machine was taken for a user's")
	}
	if _, err := newManager(nil, "plan9"); err == nil {
		t.Error("a system without services")
	}
}

func TestStatus(t *testing.T) {
	for says, p := range map[string]*pretend{
		"installed and runs":   {state: service.StatusRunning},
		"and does not run":     {state: service.StatusStopped},
		"is not installed":     {stateErr: service.ErrNotInstalled},
		"state that the syste": {},
	} {
		m, err := newManager(p, "darwin")
		if err != nil {
			t.Fatal(err)
		}
		if text, err := m.Status(); err != nil || !strings.Contains(text, says) {
			t.Errorf("%q, %v", text, err)
		}
	}
}

// The library writes the unit for real, into a home that is the test's, and calls a
// systemctl that only notes what it is called with.
func TestTheUnitOfSystemd(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("systemd is on Linux alone")
	}
	dir := t.TempDir()
	t.Setenv("HOME", dir)
	calls := filepath.Join(dir, "calls")
	script := "#!/bin/sh\necho \"$@\" >> " + calls + "\ncase \"$1\" in is-active) echo inactive; exit 3;; list-unit-files) ls \"$HOME/.config/systemd/user\";; esac\n"
	if err := os.WriteFile(filepath.Join(dir, "systemctl"), []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir+":"+os.Getenv("PATH"))
	var m *Manager
	for _, s := range service.AvailableSystems() {
		if s.String() == "linux-systemd" {
			m = &Manager{s, "linux"}
		}
	}
	if m == nil {
		t.Fatal("the library knows no systemd")
	}
	if text, err := m.Status(); err != nil || !strings.Contains(text, "not installed") {
		t.Errorf("before: %q, %v", text, err)
	}
	if _, err := m.Install(program(t), []string{"serve", "--data", dir + "/my wool"}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, ".config/systemd/user/needlesight.service")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"WantedBy=default.target", "Restart=on-failure", "NoNewPrivileges=yes", `"serve" "--data" "` + dir + `/my wool"`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the unit lacks %s:\n%s", want, text)
		}
	}
	if text, err := m.Status(); err != nil || !strings.Contains(text, "does not run") {
		t.Errorf("between: %q, %v", text, err)
	}
	if _, err := m.Remove(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("the unit is still there")
	}
	noted, err := os.ReadFile(calls)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(noted)) {
		if !strings.Contains(line, "--user") {
			t.Errorf("systemctl was called for the whole machine: %s", line)
		}
	}
	for _, want := range []string{"enable --user needlesight.service", "start --user needlesight.service", "disable --user needlesight.service"} {
		if !strings.Contains(string(noted), want) {
			t.Errorf("systemctl was not called with %s:\n%s", want, noted)
		}
	}
}

func TestRunInATerminalJustWorks(t *testing.T) {
	failed := errors.New("failed")
	if err := Run(context.Background(), func(context.Context) error { return failed }); !errors.Is(err, failed) {
		t.Error(err)
	}
}
