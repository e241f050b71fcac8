package recording

import "fmt"

// skipID3 passes an ID3v2 tag in front of the file proper. The size of the tag
// is four bytes of seven bits and does not count the ten of its header, nor a
// footer of ten where a flag says so (ID3v2.4 section 3, from memory).
func (r *Reader) skipID3() error {
	for {
		at := r.in.pos
		head, err := r.in.peek(10)
		if err != nil || len(head) < 10 || string(head[:3]) != "ID3" {
			return err
		}
		size := int64(10)
		for i, b := range head[6:10] {
			if b > 0x7F {
				return r.problem(at+6+int64(i), fmt.Sprintf("the byte 0x%02X in the size of an ID3 tag", b), "bytes below 0x80",
					"The beginning of the file is damaged. "+copyAnew)
			}
			size += int64(b) << (7 * (3 - i))
		}
		if head[5]&0x10 != 0 {
			size += 10
		}
		r.info.Chunks = append(r.info.Chunks, Chunk{ID: "ID3", At: at, Size: size})
		if n, err := r.in.skip(size); err != nil || n < size {
			return err
		}
	}
}
