package wire

import (
	"bytes"
	"encoding/json"
	"unicode/utf8"

	"needlesight/sync/change"
)

// canonical tells whether text is a value as change.Canonical writes it. It
// looks at what is usual by itself, in one pass and without memory, and asks
// the rest of change.Canonical.
func canonical(text []byte) bool {
	l := looker{rest: text}
	if l.value(change.MaxDepth) && len(l.rest) == 0 {
		return len(text) <= change.MaxValue
	}
	return canonicalSlowly(text)
}

// canonicalSlowly asks change.Canonical.
func canonicalSlowly(text []byte) bool {
	var value any
	if json.Unmarshal(text, &value) != nil {
		return false
	}
	again, err := change.Canonical(value)
	return err == nil && bytes.Equal(again, text)
}

// looker goes through a value. Each of its methods tells whether what comes
// next is surely canonical, and then has passed it.
type looker struct{ rest []byte }

func (l *looker) passes(c byte) bool {
	if len(l.rest) == 0 || l.rest[0] != c {
		return false
	}
	l.rest = l.rest[1:]
	return true
}

func (l *looker) value(depth int) bool {
	if len(l.rest) == 0 {
		return false
	}
	switch l.rest[0] {
	case '"':
		_, ok := l.text()
		return ok
	case '[':
		return depth > 0 && l.list(depth-1)
	case '{':
		return depth > 0 && l.object(depth-1)
	}
	for _, word := range []string{"null", "true", "false"} {
		if bytes.HasPrefix(l.rest, []byte(word)) {
			l.rest = l.rest[len(word):]
			return true
		}
	}
	return l.number()
}

func (l *looker) list(depth int) bool {
	l.passes('[')
	if l.passes(']') {
		return true
	}
	for {
		if !l.value(depth) {
			return false
		}
		if !l.passes(',') {
			return l.passes(']')
		}
	}
}

// object asks that the names go up.
func (l *looker) object(depth int) bool {
	l.passes('{')
	if l.passes('}') {
		return true
	}
	var before []byte
	for first := true; ; first = false {
		name, ok := l.text()
		if !ok || !first && bytes.Compare(before, name) >= 0 || !l.passes(':') || !l.value(depth) {
			return false
		}
		if before = name; !l.passes(',') {
			return l.passes('}')
		}
	}
}

// text is a text in which nothing is escaped, nor would be.
func (l *looker) text() (text []byte, ok bool) {
	if !l.passes('"') {
		return nil, false
	}
	end := bytes.IndexByte(l.rest, '"')
	if end < 0 {
		return nil, false
	}
	text, l.rest = l.rest[:end], l.rest[end+1:]
	plain := true
	for _, c := range text {
		if c < ' ' || c == '\\' || c == '<' || c == '>' || c == '&' {
			return nil, false
		}
		plain = plain && c < 0x7f
	}
	return text, plain || utf8.Valid(text) && !bytes.Contains(text, []byte("\u2028")) && !bytes.Contains(text, []byte("\u2029"))
}

// number is a number of no more digits than any float64 tells apart, so that
// it is the shortest that gives this float64.
func (l *looker) number() bool {
	n := 0
	for n < len(l.rest) && (l.rest[n] >= '0' && l.rest[n] <= '9' || l.rest[n] == '-' || l.rest[n] == '.') {
		n++
	}
	if n == 0 {
		return false
	}
	text := l.rest[:n]
	l.rest = l.rest[n:]
	return usual(bytes.TrimPrefix(text, []byte("-"))) && string(text) != "-0"
}

// usual tells whether a number without its sign is at most 15 digits, not too
// small, with nothing in it that could be left out.
func usual(text []byte) bool {
	whole, part, point := bytes.Cut(text, []byte("."))
	if len(text) > 16 || len(whole) == 0 || len(whole) > 1 && whole[0] == '0' || !digits(whole) {
		return false
	}
	if !point {
		return len(text) <= 15
	}
	small := len(whole) == 1 && whole[0] == '0' && bytes.HasPrefix(part, []byte("00000"))
	return len(part) > 0 && part[len(part)-1] != '0' && digits(part) && !small
}

// digits tells whether there is nothing but digits.
func digits(text []byte) bool {
	for _, c := range text {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}
