package server

import (
	"sync"

	"needlesight/sync/peer"
	"needlesight/sync/wire"
)

// Limits of the connections of devices.
const (
	maxLinks       = 600 // in all
	maxDeviceLinks = 8   // of one device: old ones may not have been missed yet
	maxLives       = 64  // that wait for one connection; then it reads the log instead
)

// hub knows every connection there is, so that each hears at once what another brought.
type hub struct {
	mu     sync.Mutex
	links  map[*link]string // and of which device
	closed string           // a code of wire, once no more may come
	wait   sync.WaitGroup
}

func newHub() *hub { return &hub{links: map[*link]string{}} }

// add lets a connection in, or says by a code of wire why not.
func (b *hub) add(l *link, device string) (code string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	of := 0
	for _, d := range b.links {
		if d == device {
			of++
		}
	}
	switch {
	case b.closed != "":
		return b.closed
	case len(b.links) >= maxLinks, of >= maxDeviceLinks:
		return wire.ByeBusy
	}
	b.links[l] = device
	b.wait.Add(1)
	return ""
}

func (b *hub) remove(l *link) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.links, l)
	b.wait.Done()
}

// tell gives news to every connection but the one that brought it.
func (b *hub) tell(from *link, news *peer.Live) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for l := range b.links {
		if l != from {
			l.mail.post(news)
		}
	}
}

// stop ends the connections of a device, or of all if it is "".
func (b *hub) stop(device, code string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for l, d := range b.links {
		if device == "" || d == device {
			l.mail.stop(code)
		}
	}
}

// close ends all connections, lets none in any more, and returns when they are over.
func (b *hub) close(code string) {
	b.mu.Lock()
	b.closed = code
	b.mu.Unlock()
	b.stop("", code)
	b.wait.Wait()
}

// connected counts the connections of each device.
func (b *hub) connected() map[string]int {
	b.mu.Lock()
	defer b.mu.Unlock()
	count := map[string]int{}
	for _, d := range b.links {
		count[d]++
	}
	return count
}

// mail is what others have for a connection. Who posts never waits.
type mail struct {
	mu    sync.Mutex
	news  []*peer.Live
	to    uint64 // what is not in news was news up to this number
	code  string
	there chan struct{} // holds something when there is something
}

func newMail() *mail { return &mail{there: make(chan struct{}, 1)} }

func (m *mail) post(news *peer.Live) {
	m.mu.Lock()
	if len(m.news) >= maxLives {
		m.news = m.news[:0]
		m.to = max(m.to, news.To()) // the log has it all
	} else {
		m.news = append(m.news, news)
	}
	m.mu.Unlock()
	m.ring()
}

func (m *mail) stop(code string) {
	m.mu.Lock()
	m.code = code
	m.mu.Unlock()
	m.ring()
}

func (m *mail) ring() {
	select {
	case m.there <- struct{}{}:
	default:
	}
}

// take gives what came since it was last asked.
func (m *mail) take() (news []*peer.Live, code string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	news, m.news = m.news, nil
	if m.to > 0 {
		news = append(news, peer.Grown(m.to))
		m.to = 0
	}
	return news, m.code
}
