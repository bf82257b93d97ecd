package sheet

import (
	"slices"
	"strings"
)

// letters are those that the Go fonts hold, Latin, Greek and Cyrillic among them, in
// order. A test compares the list with the fonts.
var letters = [][2]rune{
	{0x20, 0x7e}, {0xa0, 0xac}, {0xae, 0x17f}, {0x192, 0x192}, {0x1cd, 0x1dc}, {0x1fa, 0x1ff}, {0x218, 0x21b}, {0x2c6, 0x2c7},
	{0x2d8, 0x2dd}, {0x384, 0x38a}, {0x38c, 0x38c}, {0x38e, 0x3a1}, {0x3a3, 0x3ce}, {0x400, 0x45f}, {0x490, 0x491},
	{0x1e80, 0x1e85}, {0x1ef2, 0x1ef3}, {0x2013, 0x2015}, {0x2018, 0x201e}, {0x2020, 0x2022}, {0x2026, 0x2026}, {0x2030, 0x2030},
	{0x2032, 0x2033}, {0x2039, 0x203a}, {0x2044, 0x2044}, {0x2070, 0x2070}, {0x2074, 0x208e}, {0x20ac, 0x20ac}, {0x2116, 0x2116},
	{0x2122, 0x2122}, {0x2126, 0x2126}, {0x215b, 0x215e}, {0x2190, 0x2195}, {0x2206, 0x2206}, {0x2212, 0x2212}, {0x221a, 0x221a},
	{0x221e, 0x221e}, {0x2248, 0x2248}, {0x2260, 0x2260}, {0x2264, 0x2265}, {0x25a0, 0x25a1}, {0x25ca, 0x25cb}, {0x25cf, 0x25cf},
	{0x2640, 0x2640}, {0x2642, 0x2642}, {0x2665, 0x2665},
}

// same says the same in letters that can be printed: thirds, and the spaces and
// hyphens that do not break a line.
var same = strings.NewReplacer("⅓", "1/3", "⅔", "2/3", "\u2007", "\u00a0", "\u202f", "\u00a0", "\u2009", "\u00a0", "\u200a", "\u00a0", "\u2010", "-", "\u2011", "-", "\u00ad", "")

// printable puts ? for every letter that cannot be printed, and tells of it.
func (d *document) printable(text string) string {
	return strings.Map(func(r rune) rune {
		if _, found := slices.BinarySearchFunc(letters, r, within); found {
			return r
		}
		if !slices.Contains(d.lost, r) {
			d.lost = append(d.lost, r)
		}
		return '?'
	}, same.Replace(text))
}

func within(span [2]rune, r rune) int {
	switch {
	case r < span[0]:
		return 1
	case r > span[1]:
		return -1
	}
	return 0
}

// notes tells of letters that were replaced.
func (d *document) notes() []Note {
	if len(d.lost) == 0 {
		return []Note{}
	}
	return []Note{{LettersReplaced, "Letters that cannot be printed stand as question marks: " + string(d.lost[:min(len(d.lost), 20)])}}
}
