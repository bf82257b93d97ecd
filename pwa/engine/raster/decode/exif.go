package decode

import (
	"encoding/binary"

	"needlesight/pwa/engine/raster"
)

// orientation is the value of EXIF's tag of that name, 1 to 8; 1, upright, where
// there is none that can be read.
func orientation(kind string, file []byte) int {
	if kind == JPEG {
		return inTIFF(jpegExif(file))
	}
	exif, _ := chunk(file, "eXIf")
	return inTIFF(exif)
}

// jpegExif is the TIFF inside the first APP1 segment that holds EXIF.
func jpegExif(file []byte) []byte {
	const header = "Exif\x00\x00"
	for at := 2; at+4 <= len(file) && file[at] == 0xff; {
		marker, length := file[at+1], int(binary.BigEndian.Uint16(file[at+2:]))
		if marker == 0xff { // a filling byte
			at++
			continue
		}
		if marker == 0xda || length < 2 || at+2+length > len(file) { // the picture itself begins, or the file breaks off
			return nil
		}
		body := file[at+4 : at+2+length]
		if marker == 0xe1 && len(body) >= len(header) && string(body[:len(header)]) == header {
			return body[len(header):]
		}
		at += 2 + length
	}
	return nil
}

// chunk is the content of a PNG's first chunk of a type, before its pixels or after.
func chunk(file []byte, kind string) (content []byte, found bool) {
	for at := 8; at+12 <= len(file); {
		length := int64(binary.BigEndian.Uint32(file[at:]))
		end := int64(at) + 12 + length
		if end > int64(len(file)) {
			return nil, false
		}
		if string(file[at+4:at+8]) == kind {
			return file[at+8 : end-4], true
		}
		at = int(end)
	}
	return nil, false
}

// animated tells whether a PNG has more than one frame.
func animated(file []byte) bool {
	control, found := chunk(file, "acTL")
	return found && len(control) >= 4 && binary.BigEndian.Uint32(control) > 1
}

// inTIFF reads the orientation in the first directory of a TIFF.
func inTIFF(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if tiff[0] == 'I' {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return 1
	}
	for entries := tiff[at+2:]; len(entries) >= 12; entries = entries[12:] {
		const tag, short = 0x0112, 3
		if order.Uint16(entries) != tag {
			continue
		}
		if value := int(order.Uint16(entries[8:])); order.Uint16(entries[2:]) == short && value >= 1 && value <= 8 {
			return value
		}
		break
	}
	return 1
}

// turn makes a picture upright.
func turn(p *raster.Picture, orientation int) *raster.Picture {
	if orientation == 1 {
		return p
	}
	right, below := p.Width-1, p.Height-1
	upright := &raster.Picture{Width: p.Width, Height: p.Height, Pix: make([]byte, 0, len(p.Pix))}
	if orientation >= 5 {
		upright.Width, upright.Height = p.Height, p.Width
	}
	for y := range upright.Height {
		for x := range upright.Width {
			fromX, fromY := x, y
			switch orientation {
			case 2:
				fromX = right - x
			case 3:
				fromX, fromY = right-x, below-y
			case 4:
				fromY = below - y
			case 5:
				fromX, fromY = y, x
			case 6:
				fromX, fromY = y, below-x
			case 7:
				fromX, fromY = right-y, below-x
			case 8:
				fromX, fromY = right-y, x
			}
			at := 4 * (fromY*p.Width + fromX)
			upright.Pix = append(upright.Pix, p.Pix[at:at+4]...)
		}
	}
	return upright
}
