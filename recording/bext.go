package recording

import (
	"math"
	"strings"
	"time"
)

// Places in the fixed part of a broadcast extension chunk (EBU Tech 3285 v2,
// read in a secondary source).
const (
	bextDate      = 320 // ten characters
	bextTime      = 330 // eight
	bextReference = 338 // 64 bits, samples since midnight
	bextVersion   = 346
	bextFixed     = 602
)

// bext takes the start of the recording from the chunk: date and time of its
// making, and the fraction of the second from the time reference where that
// agrees with the time.
func (f *riff) bext(b []byte) {
	if len(b) < bextReference+8 {
		return
	}
	// The standard permits any of several signs between the numbers.
	text := strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' {
			return c
		}
		return ' '
	}, string(b[bextDate:bextTime])+" "+string(b[bextTime:bextReference]))
	t, err := time.ParseInLocation("2006 01 02 15 04 05", text, time.Local)
	if err != nil || t.Year() == 0 {
		return
	}
	f.info.Started = t
	f.reference = f.order.Uint64(b[bextReference:])
	f.sharpen()
}

// sharpen adds the fraction of a second once the sample rate is known.
func (r *Reader) sharpen() {
	t := r.info.Started
	if t.IsZero() || r.reference == 0 || r.info.RateHz == 0 {
		return
	}
	midnight := time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
	since := float64(r.reference) / r.info.RateHz
	if more := since - t.Sub(midnight).Seconds(); math.Abs(more) < 1.5 {
		r.info.Started = t.Add(time.Duration(math.Round(more * 1e9)))
	}
}
