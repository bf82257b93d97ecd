// Package stamp orders changes without a clock. A stamp is a counter and the
// device that made the change; a device counts one further than the highest
// counter it has seen, so a change made in sight of another is always later.
package stamp

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"needlesight/data"
)

// MaxCounter is the highest counter: the last whole number up to which
// JavaScript counts without gaps.
const MaxCounter = 1<<53 - 1

// Stamp says when and where a change was made. The zero Stamp is none: it
// stands as the base of a change that saw nothing there, and is before all
// others. Its JSON is [42,"abcdefghijklmnop"], or null for none.
type Stamp struct {
	Counter uint64 // 1 to MaxCounter
	Device  string // an id: 16 characters of lower-case base32
}

// Compare orders by counter, then by device. It gives -1 if a is before b, 1
// if after, 0 if they are the same.
func Compare(a, b Stamp) int {
	return cmp.Or(cmp.Compare(a.Counter, b.Counter), cmp.Compare(a.Device, b.Device))
}

// Before tells whether s comes before t.
func (s Stamp) Before(t Stamp) bool { return Compare(s, t) < 0 }

// IsNone tells whether s is no stamp at all.
func (s Stamp) IsNone() bool { return s == Stamp{} }

// String gives the stamp as it stands in sentences: its JSON.
func (s Stamp) String() string {
	if s.IsNone() {
		return "null"
	}
	return fmt.Sprintf("[%d,%q]", s.Counter, s.Device)
}

// MarshalJSON writes [42,"abcdefghijklmnop"], or null for none.
func (s Stamp) MarshalJSON() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalJSON reads what MarshalJSON writes, as From does.
func (s *Stamp) UnmarshalJSON(text []byte) error {
	var value any
	err := json.Unmarshal(text, &value)
	if err == nil {
		*s, err = From(value)
	}
	return err
}

// From makes a stamp of what encoding/json makes of its JSON: nil, or a list
// of two things and no more, the counter a whole number in its range, the
// device an id. Its errors say what a stamp is.
func From(value any) (Stamp, error) {
	if value == nil {
		return Stamp{}, nil
	}
	both, _ := value.([]any)
	if len(both) != 2 {
		return Stamp{}, errors.New(`a stamp is a list of a counter and a device, such as [42,"abcdefghijklmnop"]`)
	}
	counter, ok := both[0].(float64)
	if !ok || counter != math.Trunc(counter) || counter < 1 || counter > MaxCounter {
		return Stamp{}, fmt.Errorf("a stamp's counter is a whole number from 1 to %d", uint64(MaxCounter))
	}
	device, ok := both[1].(string)
	if !ok || !data.IsID(device) {
		return Stamp{}, errors.New("a stamp's device is 16 letters a to z or digits 2 to 7")
	}
	return Stamp{uint64(counter), device}, nil
}
