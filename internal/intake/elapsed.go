package intake

import "bytes"

// duration is a time of day or a stretch of time, in seconds, as typed.
type duration struct {
	seconds  float64
	decimals int // digits after the seconds' mark; -1 where seconds were not typed
	parts    int // 2 for a:bb, 3 for a:bb:cc; 0 for words
}

// isDigit says that c is 0 to 9.
func isDigit(c byte) bool { return c-'0' <= 9 }

// scanInt reads up to nine digits at the start of b.
func scanInt(b []byte) (value, took int) {
	for took < len(b) && took < 9 && isDigit(b[took]) {
		value = value*10 + int(b[took]-'0')
		took++
	}
	return value, took
}

// scanColons reads "a:bb" or "a:bb:cc" with decimals on the last part, at the
// start of b, and returns the parts and the bytes taken. Parts after the first
// are below 60.
func scanColons(b []byte) (part [3]float64, n, decimals, took int) {
	v, i := scanInt(b)
	if i == 0 || i >= len(b) || b[i] != ':' {
		return part, 0, 0, 0
	}
	part[0], n = float64(v), 1
	for n < 3 && i < len(b) && b[i] == ':' {
		v, w := scanInt(b[i+1:])
		if w == 0 || w > 2 || v > 59 {
			break
		}
		part[n] = float64(v)
		n++
		i += 1 + w
	}
	if n == 1 || (i < len(b) && b[i] == ':') {
		return part, 0, 0, 0
	}
	if i+1 < len(b) && (b[i] == '.' || b[i] == ',') && isDigit(b[i+1]) {
		num, w := scanNumber(b[i:], numFormat{decimal: b[i]}, 0)
		part[n-1] += num.value
		decimals = num.decimals
		i += w
	}
	return part, n, decimals, i
}

// scanElapsed reads a stretch of time at the start of b: "mm:ss", "h:mm:ss",
// "14m20s", "1 h 20 min", "10 min", "1h05", "10'30\"". hourFirst makes "a:bb"
// hours and minutes.
func scanElapsed(b []byte, hourFirst bool) (duration, int) {
	i, negative := scanSign(b)
	d, took := scanUnsigned(b[i:], hourFirst)
	if took == 0 {
		return duration{}, 0
	}
	if negative {
		d.seconds = -d.seconds
	}
	return d, i + took
}

func scanUnsigned(b []byte, hourFirst bool) (duration, int) {
	b = b[:min(len(b), longestTime)]
	part, n, decimals, took := scanColons(b)
	switch {
	case n == 3:
		return duration{part[0]*3600 + part[1]*60 + part[2], decimals, 3}, took
	case n == 2 && hourFirst:
		return duration{part[0]*3600 + part[1]*60, -1, 2}, took
	case n == 2:
		return duration{part[0]*60 + part[1], decimals, 2}, took
	}
	return scanWords(b)
}

// longestTime is more than any time takes in writing.
const longestTime = 100

// timeWords are the unit names inside a typed stretch of time, longest first.
var timeWords = []struct {
	name    string
	seconds float64
}{
	{"minutes", 60}, {"minute", 60}, {"minuten", 60}, {"mins", 60}, {"min", 60}, {"m", 60}, {"'", 60}, {"′", 60},
	{"seconds", 1}, {"second", 1}, {"sekunden", 1}, {"secs", 1}, {"sec", 1}, {"sek", 1}, {"s", 1}, {"\"", 1}, {"″", 1}, {"''", 1},
	{"hours", 3600}, {"hour", 3600}, {"stunden", 3600}, {"hrs", 3600}, {"hr", 3600}, {"std", 3600}, {"h", 3600},
	{"days", 86400}, {"day", 86400}, {"d", 86400},
}

// scanTimeWord finds the longest unit name at the start of b that is not the
// beginning of a longer word ("m" of "MHz").
func scanTimeWord(b []byte) (seconds float64, took int) {
	for _, w := range timeWords {
		n := len(w.name)
		if n <= took || len(b) < n || !bytes.EqualFold(b[:n], []byte(w.name)) {
			continue
		}
		if n < len(b) && isLetter(w.name[n-1]) && (isLetter(b[n]) || b[n] == '/') {
			continue
		}
		seconds, took = w.seconds, n
	}
	return seconds, took
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 }

func skipBlanks(b []byte) int {
	i := 0
	for i < len(b) && (b[i] == ' ' || b[i] == '\t') {
		i++
	}
	return i
}

// scanWords reads numbers with time units, each smaller than the one before:
// "1 h 20 min 5 s". After hours or minutes a last number may lack its unit.
func scanWords(b []byte) (duration, int) {
	d := duration{decimals: -1}
	last, i := 0.0, 0
	for {
		j := i + skipBlanks(b[i:])
		decimal := byte('.')
		if _, w := scanInt(b[j:]); j+w < len(b) && b[j+w] == ',' {
			decimal = ','
		}
		if j < len(b) && !isDigit(b[j]) {
			break
		}
		num, w := scanNumber(b[j:], numFormat{decimal: decimal}, 0)
		if w == 0 {
			break
		}
		k := j + w + skipBlanks(b[j+w:])
		size, u := scanTimeWord(b[k:])
		if u == 0 && last > 1 && last <= 3600 && j == i && num.decimals == 0 { // "1h05", "14m20"
			size, k = last/60, j+w
		} else if u == 0 || (last > 0 && size >= last) {
			break
		}
		d.seconds += num.value * size
		if size == 1 {
			d.decimals = num.decimals
		}
		last, i = size, k+u
	}
	if last == 0 {
		return duration{}, 0
	}
	return d, i
}

// scanClock reads a time of day at the start of b: "19:05", "19:05:30.5",
// "7:05 PM", "19h05".
func scanClock(b []byte) (duration, int) {
	part, n, decimals, took := scanColons(b)
	if n == 0 {
		hour, w := scanInt(b)
		if w == 0 || w > 2 || w+2 >= len(b) || b[w]|0x20 != 'h' {
			return duration{}, 0
		}
		minute, w2 := scanInt(b[w+1:])
		if w2 != 2 || minute > 59 {
			return duration{}, 0
		}
		part[0], part[1], n, took = float64(hour), float64(minute), 2, w+1+w2
	}
	if n == 2 {
		if decimals > 0 {
			return duration{}, 0
		}
		decimals = -1
	}
	took, ok := halfDay(b, took, &part[0])
	if !ok || part[0] > 24 || (part[0] == 24 && part[1]+part[2] > 0) {
		return duration{}, 0
	}
	return duration{part[0]*3600 + part[1]*60 + part[2], decimals, n}, took
}

// halfDay reads "am" or "pm" after a clock time and moves the hour.
func halfDay(b []byte, took int, hour *float64) (int, bool) {
	i := took + skipBlanks(b[took:])
	if i+2 > len(b) || b[i+1]|0x20 != 'm' || (i+2 < len(b) && isLetter(b[i+2])) {
		return took, true
	}
	half := b[i] | 0x20
	if half != 'a' && half != 'p' {
		return took, true
	}
	if *hour < 1 || *hour > 12 {
		return took, false
	}
	if *hour == 12 {
		*hour = 0
	}
	if half == 'p' {
		*hour += 12
	}
	return i + 2, true
}
