package sheet

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"unicode/utf16"
)

// errShape is what finish says of a document that is not laid out as it knows.
var errShape = errors.New("the document does not end as the library is known to end it")

// finish writes the document down. The library has no way to say that a printer keeps
// the size, puts the clock into the file and pictures into an order of chance: so what
// it wrote last (the resources, the information, the catalog and the table of
// objects) is written here, and the pictures before it.
func (d *document) finish(photos map[string]*photo) ([]byte, error) {
	var made bytes.Buffer
	if err := d.pdf.Output(&made); err != nil {
		return nil, err
	}
	file, at, err := objects(made.Bytes())
	if err != nil {
		return nil, err
	}
	last := len(at) - 1
	const resourcesAt = 2
	info, catalog := last-1, last
	if !(at[resourcesAt] < at[info] && at[info] < at[catalog]) {
		return nil, errShape
	}
	resources := bytes.Clone(file[at[resourcesAt]:at[info]])
	out := bytes.NewBuffer(file[:at[resourcesAt]])
	copy(out.Bytes(), "%PDF-1.7") // the viewer's preferences are of 1.6 and 1.7

	ordered := make([]*photo, 0, len(photos))
	for _, p := range photos {
		ordered = append(ordered, p)
	}
	slices.SortFunc(ordered, func(a, b *photo) int { return cmp.Compare(a.name, b.name) })
	names := ""
	for _, p := range ordered {
		at = append(at, out.Len())
		names += fmt.Sprintf("/%s %d 0 R\n", p.name, len(at)-1)
		fmt.Fprintf(out, "%d 0 obj\n<</Type /XObject /Subtype /Image /Width %d /Height %d /ColorSpace /%s /BitsPerComponent 8 /Filter /DCTDecode /Length %d>>\nstream\n",
			len(at)-1, p.width, p.height, p.space, len(p.jpeg))
		out.Write(p.jpeg)
		out.WriteString("\nendstream\nendobj\n")
	}
	const none = "/XObject <<\n>>"
	if bytes.Count(resources, []byte(none)) != 1 {
		return nil, errShape
	}
	at[resourcesAt] = out.Len()
	out.Write(bytes.Replace(resources, []byte(none), []byte("/XObject <<\n"+names+">>"), 1))
	at[info] = out.Len()
	fmt.Fprintf(out, "%d 0 obj\n<</Title %s /Producer (needlesight)>>\nendobj\n", info, quoted(d.req.Title))
	at[catalog] = out.Len()
	fmt.Fprintf(out, "%d 0 obj\n<</Type /Catalog /Pages 1 0 R /Lang (%s) /ViewerPreferences <</PrintScaling /None /Duplex /Simplex /DisplayDocTitle true>>>>\nendobj\n",
		catalog, d.req.Language)
	table(out, at, info, catalog)
	return out.Bytes(), nil
}

// objects reads the table at a file's end: where each object begins, with nothing at 0.
func objects(file []byte) ([]byte, []int, error) {
	start := bytes.LastIndex(file, []byte("startxref\n"))
	if start < 0 {
		return nil, nil, errShape
	}
	text, _, _ := bytes.Cut(file[start+len("startxref\n"):], []byte("\n"))
	begin, err := strconv.Atoi(string(text))
	if err != nil || begin < 0 || begin > start {
		return nil, nil, errShape
	}
	lines := bytes.Split(file[begin:start], []byte("\n"))
	if len(lines) < 6 || string(lines[0]) != "xref" {
		return nil, nil, errShape
	}
	var first, number int
	if _, err := fmt.Sscanf(string(lines[1]), "%d %d", &first, &number); err != nil || first != 0 || number < 5 || number+2 > len(lines) {
		return nil, nil, errShape
	}
	at := make([]int, number)
	for i := 1; i < number; i++ {
		where, _, _ := bytes.Cut(lines[2+i], []byte(" "))
		if at[i], err = strconv.Atoi(string(where)); err != nil || at[i] > begin {
			return nil, nil, errShape
		}
	}
	return file, at, nil
}

// table writes where every object begins (ISO 32000-1, 7.5.4 and 7.5.5).
func table(out *bytes.Buffer, at []int, info, catalog int) {
	start := out.Len()
	fmt.Fprintf(out, "xref\n0 %d\n0000000000 65535 f \n", len(at))
	for _, where := range at[1:] {
		fmt.Fprintf(out, "%010d 00000 n \n", where)
	}
	fmt.Fprintf(out, "trailer\n<</Size %d /Root %d 0 R /Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(at), catalog, info, start)
}

// quoted is a text in UTF-16, as ISO 32000-1, 7.9.2.2 wants it, in hexadecimal.
func quoted(text string) string {
	out := "<FEFF"
	for _, unit := range utf16.Encode([]rune(text)) {
		out += fmt.Sprintf("%04X", unit)
	}
	return out + ">"
}
