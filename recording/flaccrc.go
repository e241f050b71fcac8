package recording

// The checksums of FLAC frames: 8 bits, polynomial 0x07, over the head, and 16
// bits, polynomial 0x8005, over all; both begin at 0 (9.1.8, 9.3).
var (
	crc8Table  = makeCRC8()
	crc16Table = makeCRC16()
)

func makeCRC8() *[256]byte {
	var t [256]byte
	for i := range t {
		c := byte(i)
		for range 8 {
			top := c >> 7
			c = c<<1 ^ top*0x07
		}
		t[i] = c
	}
	return &t
}

func crc8(b []byte) (c byte) {
	for _, x := range b {
		c = crc8Table[c^x]
	}
	return c
}

// makeCRC16 makes tables for eight bytes at a time: table k is for a byte that
// k others follow.
func makeCRC16() *[8][256]uint16 {
	var t [8][256]uint16
	for i := range t[0] {
		c := uint16(i) << 8
		for range 8 {
			top := c >> 15
			c = c<<1 ^ top*0x8005
		}
		t[0][i] = c
	}
	for k := 1; k < len(t); k++ {
		for i, c := range t[k-1] {
			t[k][i] = c<<8 ^ t[0][c>>8]
		}
	}
	return &t
}

// crc16 continues a checksum over more bytes.
func crc16(c uint16, b []byte) uint16 {
	t := crc16Table
	for ; len(b) >= 8; b = b[8:] {
		c = t[7][b[0]^byte(c>>8)] ^ t[6][b[1]^byte(c)] ^ t[5][b[2]] ^ t[4][b[3]] ^
			t[3][b[4]] ^ t[2][b[5]] ^ t[1][b[6]] ^ t[0][b[7]]
	}
	for _, x := range b {
		c = c<<8 ^ t[0][byte(c>>8)^x]
	}
	return c
}
