// Package peer holds both ends of the sync as state machines: Device and
// Home. They have no connection, no store, no clock and nothing that runs by
// itself: what happens is told to them, the time with it, and what is to be
// done is taken from them. So the phone, the home computer and the
// simulation run the same code. sync/PROTOCOL.md tells what the two say
// to each other, and why nothing is lost.
//
// Times are milliseconds of any clock that never goes back; the wall clock
// decides nothing. Neither machine may be used by two goroutines at once.
package peer

// Times, in milliseconds.
const (
	PingAfter  = 25_000    // of hearing nothing, a device pings
	Patience   = 10_000    // to hear something after that, or after Hello; then the connection is dead
	DialWithin = 15_000    // a connection must be made
	HomeWaits  = 45_000    // home waits to hear from a device that has said Hello: more than PingAfter and Patience
	SeenAfter  = 1_000     // of keeping news a device tells home so, unless it is much news
	LongWait   = 3_600_000 // until a device calls a home again whose versions it does not speak
	firstWait  = 1_000     // after the first failure, before the spread
	lastWait   = 60_000    // after many
)

// Limits of what is under way in one connection.
const (
	MaxPushes  = 4         // pushes that home has not acked
	NewsWindow = 512 << 10 // bytes of news the device has not said it has seen; the last frame may exceed it
	seenEvery  = 128 << 10 // bytes of news after which a device says so at once
)

// Wait is how long a device waits before it calls home again, in
// milliseconds: not at all after a connection that worked for a while, then
// twice as long after every failure, up to a minute. The device's id spreads it (to
// between half and all), so that not all devices call in the same moment.
func Wait(device string, failures int) int64 {
	if failures <= 0 {
		return 0
	}
	wait := int64(lastWait)
	if failures < 7 {
		wait = min(wait, firstWait<<(failures-1))
	}
	return wait/2 + wait*int64(spread(device, failures)%1024)/2048
}

// spread is a number that looks random (FNV-1a, 32 bits).
func spread(device string, failures int) uint32 {
	h := uint32(2166136261)
	for _, c := range []byte(device) {
		h = (h ^ uint32(c)) * 16777619
	}
	h = (h ^ uint32(failures)) * 16777619
	return h ^ h>>15
}
