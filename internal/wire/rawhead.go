package wire

import (
	"fmt"
	"math"
	"unicode"
	"unicode/utf8"
)

// judgeHead says whether the beginning of a stream can be samples of a coding:
// an error where it cannot, a doubt where it looks more like another.
func judgeHead(head []byte, c Coding, channels int) (doubt string, err error) {
	if isText(head) {
		return "", &Fault{Kind: WrongFormat, Text: fmt.Sprintf("found text (%.40q), expected raw samples; look what the recorder writes, and to which of its outputs", head[:min(len(head), 40)])}
	}
	x := c.Decode(nil, head)
	if c.Float {
		if text := absurd(x); text != "" {
			return "", &Fault{Kind: WrongFormat, Text: fmt.Sprintf("found %s, expected floating-point samples of about ±1; the samples are not %s: try another --format%s", text, c, better(head, c, channels))}
		}
	}
	if other := better(head, c, channels); other != "" && !c.Float {
		return fmt.Sprintf("as %s the samples look like noise at full scale%s", c, other), nil
	}
	return "", nil
}

// isText says whether bytes are text: at least 16 of them, all printable.
func isText(head []byte) bool {
	if len(head) < 16 {
		return false
	}
	text := string(head)
	for i, r := range text {
		if r == utf8.RuneError && len(text)-i >= utf8.UTFMax {
			return false
		}
		if r != utf8.RuneError && !unicode.IsPrint(r) && !unicode.IsSpace(r) {
			return false
		}
	}
	return true
}

// loudest is a level that no floating-point recording has: +60 dB above full
// scale.
const loudest = 1000

// absurd says what is wrong with floating-point samples.
func absurd(x []float64) string {
	for i, v := range x {
		switch {
		case math.IsNaN(v) || math.IsInf(v, 0):
			return fmt.Sprintf("%v as sample %d", v, i+1)
		case math.Abs(v) > loudest:
			return fmt.Sprintf("%.3g as sample %d", v, i+1)
		}
	}
	tiny, used := 0, 0
	for _, v := range x {
		if v != 0 {
			used++
			if math.Abs(v) < 1e-20 {
				tiny++
			}
		}
	}
	if used > 32 && tiny > used/2 {
		return "samples below 1e-20"
	}
	return ""
}

// better names a coding under which the bytes look like sound, where under the
// one said they look like noise at full scale; else it says nothing.
func better(head []byte, said Coding, channels int) string {
	if !said.Float && roughness(said.Decode(nil, head), channels) < 0.8 {
		return ""
	}
	best, name := 0.3, ""
	for _, other := range codings {
		x := other.coding.Decode(nil, head[:len(head)-len(head)%(other.coding.Bytes()*channels)])
		if other.coding == said || other.coding.Bits == 64 || other.coding.Float && absurd(x) != "" {
			continue
		}
		if r := roughness(x, channels); r < best {
			best, name = r, other.name
		}
	}
	if name == "" {
		return ""
	}
	return "; as " + name + " they look like sound: is --format " + name + " right?"
}

// roughness is the mean square of the steps from frame to frame over the
// variance, for samples that are loud: 2 for noise without any memory, near 0
// for sound of low frequency. It is 0 for samples that are not loud, of which
// nothing is said.
func roughness(x []float64, channels int) float64 {
	if len(x) < 64*channels {
		return 0
	}
	var sum, square, step float64
	for i, v := range x {
		sum, square = sum+v, square+v*v
		if i >= channels {
			step += (v - x[i-channels]) * (v - x[i-channels])
		}
	}
	n := float64(len(x))
	variance := square/n - sum/n*sum/n
	if !(variance > 0.04) { // −14 dB of full scale
		return 0
	}
	return step / (n - float64(channels)) / variance
}
