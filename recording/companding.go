package recording

// companded converts bytes by a table.
func companded(table *[256]float64) converter {
	return func(dst []float64, src []byte) int {
		src = src[:len(dst)]
		for i := range dst {
			dst[i] = table[src[i]]
		}
		return -1
	}
}

// aLaw and muLaw are the decoders of ITU-T G.711, tables 1a and 2a, scaled to
// 16 bits as is common: the highest values are 32256 and 32124 of 32768.
var aLaw, muLaw = makeALaw(), makeMuLaw()

// makeALaw: even bits inverted; sign, three bits of segment, four within it.
func makeALaw() *[256]float64 {
	var t [256]float64
	for i := range t {
		c := i ^ 0x55
		segment, step := c>>4&7, c&15
		v := step<<4 + 8
		if segment > 0 {
			v = (v + 0x100) << (segment - 1)
		}
		if c&0x80 == 0 {
			v = -v
		}
		t[i] = float64(v) / 32768
	}
	return &t
}

// makeMuLaw: all bits inverted, and a bias of 33 (of 8159).
func makeMuLaw() *[256]float64 {
	var t [256]float64
	for i := range t {
		c := ^i
		segment, step := c>>4&7, c&15
		v := (step<<3+0x84)<<segment - 0x84
		if c&0x80 != 0 {
			v = -v
		}
		t[i] = float64(v) / 32768
	}
	return &t
}
