package trust

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"rsc.io/qr"
)

// Greeting is what the terminal shows when the home has begun to serve: one screen of
// 80 columns and 24 rows, with a QR code for a phone's camera.
type Greeting struct {
	Welcome     string   // the address of the welcome page, http://192.168.1.2:8788/; empty when there is no network
	App         string   // the address of the app for good, https://NAME.local:8443/
	Here        string   // the address of the app on this computer, http://localhost:8787/; may be empty
	Fingerprint string   // of the authority, as State has it; may be empty
	Told        []string // what is wrong, as State has it
}

// The room there is beside the code.
const (
	screenWidth = 80
	quiet       = 3 // modules around the code; with a white margin on white cells cameras need no more
)

// Write writes the greeting. Without code it is text alone, for a log or a terminal
// that shows no colours.
func (g Greeting) Write(w io.Writer, code bool) error {
	var picture []string
	width := 0
	if code && g.Welcome != "" {
		made, err := qr.Encode(g.Welcome, qr.L)
		if err != nil {
			return fmt.Errorf("drawing a code of %s: %w", g.Welcome, err)
		}
		picture, width = halfBlocks(made), made.Size+2*quiet
	}
	room := screenWidth
	if width > 0 {
		room -= width + 2
	}
	return beside(w, picture, width, g.lines(room))
}

// ShowCode writes lines beside the QR code of an address, or the lines alone if it is "".
func ShowCode(w io.Writer, address string, lines []string) error {
	if address == "" {
		return beside(w, nil, 0, lines)
	}
	made, err := qr.Encode(address, qr.L)
	if err != nil {
		return fmt.Errorf("drawing a code of %s: %w", address, err)
	}
	return beside(w, halfBlocks(made), made.Size+2*quiet, lines)
}

// lines are the words, broken to fit.
func (g Greeting) lines(room int) []string {
	lines := []string{"needlesight is at home.", ""}
	add := func(title, text string) {
		lines = append(lines, wrap(title, room)...)
		lines = append(lines, wrap(text, room)...)
	}
	if g.Here != "" {
		add("On this computer, open:", "  "+g.Here)
	}
	if g.Welcome != "" {
		add("For a phone, point its camera at the code, or open on it:", "  "+g.Welcome)
		add("After that, always and only:", "  "+g.App)
	}
	if g.Fingerprint != "" {
		lines = append(lines, "", "Fingerprint of this home (SHA-256):")
		lines = append(lines, fingerprintRows(g.Fingerprint, room)...)
	}
	for _, told := range g.Told {
		lines = append(lines, "")
		lines = append(lines, wrap(told, room)...)
	}
	return append(lines, "", "Ctrl-C stops it.")
}

// fingerprintRows breaks a fingerprint into rows of 4, 8 or 16 pairs.
func fingerprintRows(fingerprint string, room int) []string {
	pairs := strings.Split(fingerprint, ":")
	each := 4
	for each < 16 && 2+2*each*3 <= room {
		each *= 2
	}
	var rows []string
	for ; len(pairs) > each; pairs = pairs[each:] {
		rows = append(rows, "  "+strings.Join(pairs[:each], ":"))
	}
	return append(rows, "  "+strings.Join(pairs, ":"))
}

// halfBlocks draws a code, two modules to a character. The colours are named, black
// on white, from the part of the palette that themes leave alone: a light terminal
// would show it inverted, and cameras do not read that.
func halfBlocks(code *qr.Code) []string {
	const on, off = "\x1b[38;5;16;48;5;231m", "\x1b[0m"
	blocks := map[[2]bool]rune{{false, false}: ' ', {true, false}: '▀', {false, true}: '▄', {true, true}: '█'}
	var rows []string
	for y := -quiet; y < code.Size+quiet; y += 2 {
		var row strings.Builder
		row.WriteString(on)
		for x := -quiet; x < code.Size+quiet; x++ {
			row.WriteRune(blocks[[2]bool{code.Black(x, y), code.Black(x, y+1)}]) // outside the code nothing is black
		}
		row.WriteString(off)
		rows = append(rows, row.String())
	}
	return rows
}

// beside writes a picture with lines at its right, or the lines alone.
func beside(w io.Writer, picture []string, width int, lines []string) error {
	var text strings.Builder
	for i := range max(len(picture), len(lines)) {
		var row string
		if i < len(picture) {
			row = picture[i]
		} else {
			row = strings.Repeat(" ", width)
		}
		if i < len(lines) && lines[i] != "" {
			if width > 0 {
				row += "  "
			}
			row += lines[i]
		}
		text.WriteString(strings.TrimRight(row, " ") + "\n")
	}
	_, err := io.WriteString(w, text.String())
	return err
}

// wrap breaks a text at spaces; a word that is too long stays whole, for an address
// that is broken cannot be copied. Leading spaces are kept.
func wrap(text string, room int) []string {
	margin := text[:len(text)-len(strings.TrimLeft(text, " "))]
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = margin + word
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= room:
			line += " " + word
		default:
			lines = append(lines, line)
			line = margin + word
		}
	}
	return append(lines, line)
}
