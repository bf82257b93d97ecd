package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"needlesight/data/store"
	"needlesight/pwa"
	"needlesight/server"
	"needlesight/server/trust"
	"needlesight/server/trust/service"
)

// lookTime is how often it is looked whether addresses or certificates have changed.
const lookTime = 30 * time.Second

// serving is what a person may choose for serve.
type serving struct {
	program                 Program
	data, from              string
	port, house, welcome    int
	listen, name, cert, key string
	here, rename            bool
	backups                 string
	keep                    int
}

// serveCommand serves the home.
func serveCommand(p Program) *cobra.Command {
	s := serving{program: p}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the app and the home it brings things to (the default)",
		Long: `Serves until it is stopped with Ctrl-C:

  http://localhost:8787/           the app, for this computer alone
  https://needlesight.local:8443/  the app, for the phones and tablets of the house
  http://ADDRESS:8788/             the page that leads a phone through trusting this home

and keeps what the devices bring home in the data folder. A browser keeps what is
entered under the address it was opened at, port and all: stay with one to find it again.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return service.Run(cmd.Context(), func(ctx context.Context) error {
				return s.run(ctx, cmd.OutOrStdout(), cmd.ErrOrStderr())
			})
		},
	}
	f := cmd.Flags()
	dataFlag(f, &s.data)
	f.IntVar(&s.port, "port", 8787, "the port for this computer; 0 takes a free one")
	f.IntVar(&s.house, "house-port", 8443, "the port for the house; 0 takes a free one")
	f.IntVar(&s.welcome, "welcome-port", 8788, "the port of the welcome page; 0 takes a free one")
	f.StringVar(&s.listen, "listen", "", "the only `ADDRESS` of this computer at which the house is served; all if none is given")
	f.BoolVar(&s.here, "here", false, "serve this computer alone")
	f.StringVar(&s.name, "name", "", "the NAME of NAME.local, when the home is first made; \""+trust.DefaultName+"\" if none is given")
	f.BoolVar(&s.rename, "rename", false, "take --name even though the home has another: a new home to every device")
	f.StringVar(&s.cert, "cert", "", "a certificate of your own (a PEM `FILE`), instead of the home's own authority")
	f.StringVar(&s.key, "key", "", "the key of --cert (a PEM `FILE`)")
	f.StringVar(&s.from, "from", "", "serve the app that was built into this `DIRECTORY`, not the one inside this program")
	f.StringVar(&s.backups, "backups", "", "the `FOLDER` of the nightly backups; backups in the data folder if none is given")
	f.IntVar(&s.keep, "keep", 14, "how many nightly backups are kept; 0 makes none")
	return cmd
}

// run serves until ctx ends.
func (s *serving) run(ctx context.Context, out, trouble io.Writer) (err error) {
	log := slog.New(slog.NewTextHandler(trouble, nil))
	if err := s.check(); err != nil {
		return err
	}
	site, err := siteFrom(s.from)
	if errors.Is(err, pwa.ErrNotBuilt) {
		fmt.Fprintln(trouble, "The app has not been built yet: run 'make build' in the project's folder, then start this again.")
	} else if err != nil {
		return err
	}
	listeners := server.Listeners{Secret: server.NewSecret()}
	defer func() { closeAll(listeners) }()
	if listeners.Here, err = listen(server.Loopback, s.port, "--port"); err != nil {
		return err
	}
	kept, err := openStore(s.data, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	o := server.Options{Store: kept, Site: site, Version: s.program.Version, Log: log}
	if !s.here {
		if o.Trust, err = s.openHouse(&listeners, log); err != nil {
			return err
		}
	}
	return s.serve(ctx, server.New(o), o, listeners, out)
}

// check refuses what cannot be chosen.
func (s *serving) check() error {
	for name, port := range map[string]int{"--port": s.port, "--house-port": s.house, "--welcome-port": s.welcome} {
		if port < 0 || port > 65535 {
			return fmt.Errorf("%s %d: a port is a number from 1 to 65535, or 0 for a free one", name, port)
		}
	}
	if s.keep < 0 {
		return fmt.Errorf("--keep %d: so many backups cannot be kept", s.keep)
	}
	if _, err := netip.ParseAddr(s.listen); s.listen != "" && err != nil {
		return fmt.Errorf("--listen %s: this is no address of a computer, such as 192.168.1.2", s.listen)
	}
	return nil
}

// openHouse opens what the house is offered.
func (s *serving) openHouse(l *server.Listeners, log *slog.Logger) (t *trust.Trust, err error) {
	o := trust.Options{Dir: filepath.Join(s.data, "trust"), Name: s.name, Rename: s.rename, CertFile: s.cert, KeyFile: s.key, Log: log}
	if s.listen != "" {
		address := netip.MustParseAddr(s.listen)
		o.Addresses = func() ([]netip.Addr, error) { return []netip.Addr{address}, nil }
	}
	if t, err = trust.Open(o); err != nil {
		return nil, err
	}
	if l.House, err = listen(s.listen, s.house, "--house-port"); err == nil {
		l.Welcome, err = listen(s.listen, s.welcome, "--welcome-port")
	}
	return t, err
}

// listen adds to an error which flag helps.
func listen(host string, port int, flag string) (net.Listener, error) {
	l, err := server.Listen(host, port)
	if err != nil {
		return nil, fmt.Errorf("%w; stop it, or choose another with %s", err, flag)
	}
	return l, nil
}

func closeAll(l server.Listeners) {
	for _, one := range []net.Listener{l.Here, l.House, l.Welcome} {
		if one != nil {
			_ = one.Close() // it may be closed already
		}
	}
}

// serve lets everything run until ctx ends.
func (s *serving) serve(ctx context.Context, home *server.Home, o server.Options, l server.Listeners, out io.Writer) (err error) {
	gone, err := server.Announce(s.data, server.Port(l.Here), l.Secret)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, gone()) }()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if o.Trust != nil {
		go o.Trust.Run(ctx, lookTime, s.publisher(o.Trust))
	}
	home.Place(l)
	night := nightly{store: o.Store, folder: s.backups, keep: s.keep, log: o.Log, now: time.Now}
	if night.folder == "" {
		night.folder = filepath.Join(s.data, "backups")
	}
	var jobs sync.WaitGroup
	jobs.Go(func() { night.run(ctx) })
	defer jobs.Wait()
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- home.Serve(ctx, l) }()
	if err := s.greet(home, o, l, out); err != nil {
		o.Log.Warn("the greeting could not be shown", "error", err)
	}
	return <-ended
}

// publisher says the home's name in the house, unless only one address is served
// that is this computer's for itself.
func (s *serving) publisher(t *trust.Trust) *trust.Publisher {
	if a, err := netip.ParseAddr(s.listen); err == nil && a.IsLoopback() {
		return nil
	}
	return trust.NewPublisher(t.State().Name + ".local")
}

// greet tells the person at the computer where everything is.
func (s *serving) greet(home *server.Home, o server.Options, l server.Listeners, out io.Writer) error {
	file, _ := out.(*os.File)
	terminal := file != nil && term.IsTerminal(int(file.Fd()))
	g := trust.Greeting{Here: fmt.Sprintf("http://localhost:%d/", server.Port(l.Here))}
	if o.Trust != nil {
		code := home.Links()
		state := o.Trust.State()
		g.Welcome, g.App, g.Fingerprint, g.Told = code.Welcome, code.App, state.Fingerprint, state.Told
	}
	if terminal || len(o.Store.Devices()) == 0 {
		g.Here = home.NewCode().Here
	}
	return g.Write(out, terminal)
}

// openStore opens the store of a data folder, and says in a sentence why not.
func openStore(data string, log *slog.Logger) (*store.Store, error) {
	if err := os.MkdirAll(data, 0o700); err != nil {
		return nil, fmt.Errorf("the data folder cannot be made: %w", err)
	}
	s, err := store.Open(storeIn(data), store.Options{Log: log})
	switch {
	case errors.Is(err, store.ErrInUse):
		return nil, fmt.Errorf("a needlesight serves %s already; stop it first, or choose another folder with --data", data)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("the data folder %s cannot be written to by this account: %w", data, err)
	}
	return s, err
}

// storeIn is where the store is in a data folder.
func storeIn(data string) string { return filepath.Join(data, "store") }

// siteFrom is where the app is read from: the build inside the program, read once, or
// a directory, looked at anew at every request. Its error is of a first look.
func siteFrom(dir string) (func() (*pwa.Site, error), error) {
	if dir == "" {
		site, err := pwa.App()
		return func() (*pwa.Site, error) { return site, err }, err
	}
	read := func() (*pwa.Site, error) { return pwa.Open(os.DirFS(dir)) }
	_, err := read()
	return read, err
}
