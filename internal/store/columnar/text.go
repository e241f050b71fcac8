package columnar

import (
	"encoding/binary"
	"fmt"
)

// packText returns nothing for a column without text, else the length and
// bytes of each entry.
func packText(text []string) ([]byte, error) {
	if text == nil {
		return nil, nil
	}
	total := 0
	for _, s := range text {
		total += len(s)
	}
	if total > maxText {
		return nil, fmt.Errorf("%d bytes of text in a block, expected at most %d", total, maxText)
	}
	out := make([]byte, 0, total+2*len(text))
	for _, s := range text {
		out = binary.AppendUvarint(out, uint64(len(s)))
		out = append(out, s...)
	}
	return out, nil
}

// unpackText appends rows entries to text, which stands for before rows
// already there (nil means none of them had any).
func unpackText(text []string, plain []byte, before, rows int) ([]string, error) {
	if len(plain) == 0 && text == nil {
		return nil, nil
	}
	for len(text) < before {
		text = append(text, "")
	}
	if len(plain) == 0 {
		return append(text, make([]string, rows)...), nil
	}
	r := reader{plain}
	for range rows {
		n, err := r.number(maxText)
		if err != nil {
			return text, err
		}
		b, err := r.take(n)
		if err != nil {
			return text, err
		}
		text = append(text, string(b))
	}
	if len(r.rest) != 0 {
		return text, damaged("%d bytes of text too many", len(r.rest))
	}
	return text, nil
}
