package wire

import "encoding/binary"

// A column is numbers that stand one below the other in a batch, so that what
// repeats lies together. It is groups until there are as many numbers as the
// batch has rows: a group begins with a number g; if g is odd, the number
// that follows stands (g>>1)+1 times; if even, (g>>1)+1 numbers follow.

// shortest is from how many equal numbers on a group of its own is shorter.
const shortest = 4

// writeColumn writes a column.
func (w *walker) writeColumn(column []uint64) {
	for len(column) > 0 {
		if n := repeats(column); n >= shortest {
			w.b = binary.AppendUvarint(w.b, uint64(n-1)<<1|1)
			w.b = binary.AppendUvarint(w.b, column[0])
			column = column[n:]
			continue
		}
		n := 1
		for n < len(column) && repeats(column[n:min(n+shortest, len(column))]) < shortest {
			n++
		}
		w.b = binary.AppendUvarint(w.b, uint64(n-1)<<1)
		for _, v := range column[:n] {
			w.b = binary.AppendUvarint(w.b, v)
		}
		column = column[n:]
	}
}

// repeats tells how often the first number stands at the beginning.
func repeats(column []uint64) int {
	n := 1
	for n < len(column) && column[n] == column[0] {
		n++
	}
	return n
}

// readColumn reads into a column as many numbers as it is long.
func (w *walker) readColumn(column []uint64) {
	for len(column) > 0 && w.err == nil {
		g := w.uvarint()
		n := g>>1 + 1
		if n > uint64(len(column)) {
			w.fail("a column has more numbers than rows")
			return
		}
		if g&1 == 1 {
			v := w.uvarint()
			for i := range column[:n] {
				column[i] = v
			}
		} else {
			for i := range column[:n] {
				column[i] = w.uvarint()
			}
		}
		column = column[n:]
	}
}

// zigzag writes a difference as an unsigned number: 0, -1, 1, -2, ... as 0, 1, 2, 3, ...
func zigzag(d int64) uint64 { return uint64(d)<<1 ^ uint64(d>>63) }

// unzigzag reads what zigzag writes.
func unzigzag(z uint64) int64 { return int64(z>>1) ^ -int64(z&1) }
