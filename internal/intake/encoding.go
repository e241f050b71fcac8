package intake

import (
	"bytes"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

var (
	bomUTF8    = []byte{0xef, 0xbb, 0xbf}
	bomUTF16LE = []byte{0xff, 0xfe}
	bomUTF16BE = []byte{0xfe, 0xff}
)

// guessEncoding looks at the first bytes of a text.
func guessEncoding(head []byte) Guess {
	switch {
	case bytes.HasPrefix(head, bomUTF8):
		return sure("utf-8", "a byte order mark says so")
	case bytes.HasPrefix(head, bomUTF16LE):
		return sure("utf-16le", "a byte order mark says so")
	case bytes.HasPrefix(head, bomUTF16BE):
		return sure("utf-16be", "a byte order mark says so")
	}
	if even, odd := countZeros(head); len(head) >= 4 {
		half := len(head) / 2
		switch {
		case odd > half*7/10 && even*20 < half:
			return unsure("utf-16le", "every second byte is zero")
		case even > half*7/10 && odd*20 < half:
			return unsure("utf-16be", "every second byte is zero")
		}
	}
	if isASCII(head) {
		return sure("utf-8", "only plain letters, digits and signs so far")
	}
	if validUTF8Head(head) {
		return sure("utf-8", "the accented letters are valid UTF-8")
	}
	return unsure("windows-1252", "there are bytes that are not UTF-8; Western European letters are the usual case")
}

func countZeros(b []byte) (even, odd int) {
	for i, c := range b {
		if c != 0 {
			continue
		}
		if i%2 == 0 {
			even++
		} else {
			odd++
		}
	}
	return even, odd
}

func isASCII(b []byte) bool {
	for _, c := range b {
		if c >= 0x80 {
			return false
		}
	}
	return true
}

// validUTF8Head accepts a last letter cut by the end of the head.
func validUTF8Head(b []byte) bool {
	for cut := 0; cut < utf8.UTFMax && cut <= len(b); cut++ {
		if utf8.Valid(b[:len(b)-cut]) {
			return true
		}
	}
	return false
}

// decode gives the text of r as UTF-8 without byte order mark.
func decode(r io.Reader, encoding string) io.Reader {
	switch encoding {
	case "utf-16le":
		return transform.NewReader(r, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder())
	case "utf-16be":
		return transform.NewReader(r, unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder())
	case "windows-1252":
		return transform.NewReader(r, charmap.Windows1252.NewDecoder())
	}
	return r
}

// magic are the first bytes of files that are no logs, with words for them.
var magic = []struct{ head, what, advice string }{
	{"\xd0\xcf\x11\xe0", "an old spreadsheet or document (.xls, .doc)", "open it in its program and save it as .xlsx, .ods or CSV"},
	{"%PDF", "a PDF document", "export the table as CSV"},
	{"RIFF", "a sound recording", "import it as a recording, not as a log"},
	{"fLaC", "a sound recording", "import it as a recording, not as a log"},
	{"\x1f\x8b", "a compressed file", "unpack it first"},
	{"\x89PNG", "a picture", "type the readings, or export them from the program that drew it"},
	{"\xff\xd8\xff", "a picture", "type the readings, or export them from the program that drew it"},
	{"SQLite format 3", "a database", "export the table as CSV"},
	{"\x7fELF", "a program", "choose the log itself"},
	{"MZ\x90", "a program", "choose the log itself"},
}

// notText refuses content that is no text: a known kind of file, zero bytes, or
// many control characters.
func notText(name string, head []byte) error {
	for _, m := range magic {
		if bytes.HasPrefix(head, []byte(m.head)) {
			return refuse(Problem{File: name, Found: m.what, Expected: "a log as text, .xlsx or .ods", Advice: m.advice})
		}
	}
	controls := 0
	for _, c := range head {
		if c == 0 {
			return refuse(Problem{File: name, Found: "a binary file (it holds zero bytes)",
				Expected: "a log as text, .xlsx or .ods", Advice: "export the readings as CSV"})
		}
		if c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f' {
			controls++
		}
	}
	if controls*20 > len(head) {
		return refuse(Problem{File: name, Found: "a binary file (it is full of control characters)",
			Expected: "a log as text, .xlsx or .ods", Advice: "export the readings as CSV"})
	}
	return nil
}
