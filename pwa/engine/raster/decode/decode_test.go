package decode

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"slices"
	"strings"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// small is a picture of three columns and two rows, every pixel another:
//
//	a b c
//	d e f
func small() *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, 3, 2))
	for i := range 6 {
		m.SetNRGBA(i%3, i/3, color.NRGBA{uint8(40 * i), 7, uint8(200 - i), 255})
	}
	return m
}

// letters are the names of small's pixels in a picture's order, a row a word.
func letters(p *raster.Picture) string {
	var rows []string
	for y := range p.Height {
		row := ""
		for x := range p.Width {
			row += string(rune('a' + p.Pix[4*(y*p.Width+x)]/40))
		}
		rows = append(rows, row)
	}
	return strings.Join(rows, " ")
}

func pngOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func jpegOf(t testing.TB, m image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// withChunk puts a chunk behind a PNG's first.
func withChunk(file []byte, kind string, content []byte) []byte {
	const first = 8 + 25
	body := append([]byte(kind), content...)
	added := binary.BigEndian.AppendUint32(nil, uint32(len(content)))
	added = binary.BigEndian.AppendUint32(append(added, body...), crc32.ChecksumIEEE(body))
	return slices.Concat(file[:first], added, file[first:])
}

// tiff is EXIF's directory with another tag, then the orientation.
func tiff(order binary.AppendByteOrder, orientation uint16) []byte {
	text := []byte("MM")
	if order.String() == binary.LittleEndian.String() {
		text = []byte("II")
	}
	text = order.AppendUint32(order.AppendUint16(text, 42), 8)
	text = order.AppendUint16(text, 2)
	for _, entry := range [][2]uint16{{0x0100, 3}, {0x0112, orientation}} {
		text = order.AppendUint16(order.AppendUint16(text, entry[0]), 3)
		text = order.AppendUint32(text, 1)
		text = order.AppendUint16(order.AppendUint16(text, entry[1]), 0)
	}
	return order.AppendUint32(text, 0)
}

// withExif puts EXIF into a JPEG, behind a comment and a filling byte.
func withExif(file, tiff []byte) []byte {
	body := append([]byte("Exif\x00\x00"), tiff...)
	segment := append([]byte{0xff, 0xfe, 0, 4, 'o', 'k', 0xff, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(body)+2))...)
	return slices.Concat(file[:2], segment, body, file[2:])
}

// What the eight mean is from the definition of the tag Orientation in Exif 2.32
// (CIPA DC-008): where the 0th row and the 0th column of what is stored belong to
// be seen. Stored are the rows abc and def; "6: the 0th row is the right-hand side,
// the 0th column the top" is then seen as da eb fc.
var upright = map[uint16]string{
	1: "abc def",  // row 0 top, column 0 left
	2: "cba fed",  // top, right
	3: "fed cba",  // bottom, right
	4: "def abc",  // bottom, left
	5: "ad be cf", // left, top
	6: "da eb fc", // right, top
	7: "fc eb da", // right, bottom
	8: "cf be ad", // left, bottom
	0: "abc def",  // what is not defined is left alone
	9: "abc def",
}

func TestOrientation(t *testing.T) {
	for o, want := range upright {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			file := withChunk(pngOf(t, small()), "eXIf", tiff(order, o))
			p, err := Picture("p", file)
			if err != nil || letters(p) != want {
				t.Errorf("PNG of orientation %d (%v): %v, %v, want %s", o, order, p, err, want)
			}
			again, kind, err := Upright("p", file)
			if err != nil || kind != PNG || orientation(kind, again) > 1 && o <= 8 {
				t.Fatalf("PNG of orientation %d is not upright: %s, %v", o, kind, err)
			}
			if p, err := Picture("p", again); err != nil || letters(p) != want {
				t.Errorf("PNG of orientation %d, made upright: %v, %v, want %s", o, p, err, want)
			}
		}
	}
}

func TestOrientationOfJPEG(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 48, 32)) // small, each pixel 16 x 16, so that JPEG keeps it
	for i := range 48 * 32 {
		m.Set(i%48, i/48, small().At(i%48/16, i/48/16))
	}
	for o, want := range upright {
		file := withExif(jpegOf(t, m), tiff(binary.LittleEndian, o))
		for _, make := range []func() ([]byte, error){
			func() ([]byte, error) { return file, nil },
			func() ([]byte, error) { again, _, err := Upright("p", file); return again, err },
		} {
			file, err := make()
			if err != nil {
				t.Fatal(err)
			}
			p, err := Picture("p", file)
			if err != nil {
				t.Fatal(err)
			}
			seen := &raster.Picture{Width: p.Width / 16, Height: p.Height / 16}
			for i := range seen.Width * seen.Height {
				at := 4 * ((i/seen.Width*16+8)*p.Width + i%seen.Width*16 + 8)
				red := (p.Pix[at] + 20) / 40 * 40 // to the nearest that there is
				seen.Pix = append(seen.Pix, red, 0, 0, 0)
			}
			if got := letters(seen); got != want {
				t.Errorf("JPEG of orientation %d: %s, want %s", o, got, want)
			}
		}
	}
}

func TestUprightLeavesAFileAlone(t *testing.T) {
	file := jpegOf(t, small())
	if got, kind, err := Upright("p", file); err != nil || kind != JPEG || &got[0] != &file[0] {
		t.Errorf("%d bytes of %s, %v", len(got), kind, err)
	}
}

// pure red in CMYK with Adobe's marker, made with ImageMagick 6:
// convert -size 8x8 xc:'cmyk(0%,100%,100%,0%)' -strip -quality 90 c.jpg
const cmyk = "/9j/7gAOQWRvYmUAZAAAAAAC/9sAQwADAgIDAgIDAwMDBAMDBAUIBQUEBAUKBwcGCAwKDAwLCgsLDQ4SEA0OEQ4LCxAWEBETFBUVFQwPFxgWFBgSFBUU/9sAQwEDBAQFBAUJBQUJFA0LDRQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQU/8AAFAgACAAIBAERAAIRAQMRAQQRAP/EABUAAQEAAAAAAAAAAAAAAAAAAAgJ/8QAFBABAAAAAAAAAAAAAAAAAAAAAP/EABUBAQEAAAAAAAAAAAAAAAAAAAcJ/8QAFBEBAAAAAAAAAAAAAAAAAAAAAP/aAA4EAQACEQMRBAAAPwBEHNKpVN//2Q=="

func unbase64(t testing.TB, text string) []byte {
	t.Helper()
	file, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

func TestCMYK(t *testing.T) {
	p, err := Picture("p", unbase64(t, cmyk))
	if err != nil {
		t.Fatal(err)
	}
	if c := p.Pix[:4]; c[0] < 250 || c[1] > 5 || c[2] > 5 || c[3] != 255 {
		t.Errorf("red is read as %v", c)
	}
	none := bytes.Replace(unbase64(t, cmyk), []byte("\xff\xee"), []byte("\xff\xed"), 1) // without Adobe's marker nobody knows whether it is inverted
	if _, err := Picture("p", none); codeOf(err) != fault.PictureNotRead || !strings.Contains(err.Error(), "Save it anew") {
		t.Errorf("without the marker: %v", err)
	}
}

func TestColours(t *testing.T) {
	// The second is 128/255 of 200, 100, 50 where there is no alpha; grey is 0.299 R + 0.587 G + 0.114 B (JFIF 1.02).
	colours := []color.NRGBA{{10, 20, 30, 255}, {200, 100, 50, 128}, {1, 2, 3, 0}}
	for name, test := range map[string]struct {
		m interface {
			image.Image
			Set(int, int, color.Color)
		}
		want []uint8
	}{
		"alpha":   {image.NewNRGBA(image.Rect(0, 0, 3, 1)), []uint8{10, 20, 30, 255, 200, 100, 50, 128, 1, 2, 3, 0}},
		"16 bit":  {image.NewNRGBA64(image.Rect(0, 0, 3, 1)), []uint8{10, 20, 30, 255, 200, 100, 50, 128, 0, 0, 0, 0}},
		"palette": {image.NewPaletted(image.Rect(0, 0, 3, 1), color.Palette{color.Black, color.NRGBA{10, 20, 30, 255}}), []uint8{10, 20, 30, 255, 10, 20, 30, 255, 0, 0, 0, 255}},
		"grey":    {image.NewGray(image.Rect(0, 0, 3, 1)), []uint8{18, 18, 18, 255, 62, 62, 62, 255, 0, 0, 0, 255}},
	} {
		for x, c := range colours {
			test.m.Set(x, 0, c)
		}
		p, err := Picture("p", pngOf(t, test.m))
		if err != nil || p.Width != 3 || p.Height != 1 || name != "palette" && !slices.Equal(p.Pix, test.want) {
			t.Errorf("%s: %v, %v, want %v", name, p, err, test.want)
		}
	}
}

// codeOf is the code of a fault.
func codeOf(err error) string {
	if e, ok := errors.AsType[*fault.Error](err); ok {
		return e.Code
	}
	return ""
}

// wide is the head of a PNG of a size, with no pixels behind it.
func wide(t *testing.T, width, height uint32) []byte {
	file := pngOf(t, small())
	binary.BigEndian.PutUint32(file[16:], width)
	binary.BigEndian.PutUint32(file[20:], height)
	binary.BigEndian.PutUint32(file[29:], crc32.ChecksumIEEE(file[12:29]))
	return file
}

func TestRefusals(t *testing.T) {
	var moving bytes.Buffer
	if err := gif.Encode(&moving, small(), nil); err != nil {
		t.Fatal(err)
	}
	whole, photo := pngOf(t, small()), jpegOf(t, small())
	for name, test := range map[string]struct {
		file       []byte
		code, says string
	}{
		"nothing":            {nil, fault.PictureNotRead, "empty"},
		"text":               {[]byte("This is a letter about wool.\n"), fault.PictureNotRead, "a text"},
		"bytes":              {[]byte{0, 1, 2, 3}, fault.PictureNotRead, "00 01 02 03"},
		"GIF":                {moving.Bytes(), fault.PictureNotRead, "a GIF"},
		"WebP":               {[]byte("RIFF\x00\x00\x00\x00WEBPVP8 "), fault.PictureNotRead, "a WebP"},
		"HEIC":               {[]byte("\x00\x00\x00\x18ftypheic"), fault.PictureNotRead, "a HEIC"},
		"moving PNG":         {withChunk(whole, "acTL", []byte{0, 0, 0, 2, 0, 0, 0, 0}), fault.PictureNotRead, "animated"},
		"PNG breaks off":     {whole[:len(whole)-20], fault.PictureNotRead, "breaks off"},
		"PNG's head alone":   {whole[:20], fault.PictureNotRead, "breaks off"},
		"JPEG breaks off":    {photo[:len(photo)-10], fault.PictureNotRead, "breaks off"},
		"JPEG's first bytes": {photo[:4], fault.PictureNotRead, "breaks off"},
		"damaged":            {append(slices.Clone(whole[:45]), whole[44:]...), fault.PictureNotRead, "damaged"},
		"30000 wide":         {wide(t, 30000, 1), fault.PictureTooBig, "30000 x 1"},
		"too much in all":    {wide(t, 16384, 16384), fault.PictureTooBig, "16384 x 16384"},
		"as big as can be":   {wide(t, 1<<31-1, 1<<31-1), fault.PictureNotRead, "damaged"},
		"no width":           {wide(t, 0, 5), fault.PictureNotRead, "damaged"},
	} {
		_, err := Picture("otter.jpg", test.file)
		if codeOf(err) != test.code || !strings.Contains(err.Error(), test.says) || !strings.HasPrefix(err.Error(), "otter.jpg ") {
			t.Errorf("%s: %v, want %s with %q", name, err, test.code, test.says)
		}
	}
}

func TestOnePixel(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 1, 1))
	m.Set(0, 0, color.NRGBA{9, 8, 7, 255})
	for _, file := range [][]byte{pngOf(t, m), jpegOf(t, m)} {
		if p, err := Picture("p", file); err != nil || p.Width != 1 || p.Height != 1 || len(p.Pix) != 4 {
			t.Errorf("%v, %v", p, err)
		}
	}
}

// Whatever a file holds, it is a picture whose parts fit each other or a fault.
func FuzzPicture(f *testing.F) {
	f.Add(withChunk(pngOf(f, small()), "eXIf", tiff(binary.BigEndian, 6)))
	f.Add(withExif(jpegOf(f, small()), tiff(binary.LittleEndian, 3)))
	f.Add(unbase64(f, cmyk))
	f.Fuzz(func(t *testing.T, file []byte) {
		if len(file) > 33 && format(file) == PNG && binary.BigEndian.Uint16(file[16:])|binary.BigEndian.Uint16(file[20:]) > 0 {
			return // a great picture takes long, and is like a small one
		}
		p, err := Picture("p", file)
		if err != nil {
			if codeOf(err) == "" {
				t.Fatal(err)
			}
			return
		}
		if err := p.Check("p"); err != nil {
			t.Fatal(err)
		}
	})
}
