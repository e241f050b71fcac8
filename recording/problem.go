package recording

import (
	"fmt"
	"strings"
)

// Problem is why a file is refused, or why reading it had to stop.
type Problem struct {
	File     string
	At       int64  // byte of the file, from 0; negative: no one place
	Found    string // what is there
	Expected string // what should be there
	Do       string // what to do about it
}

func (p *Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.At >= 0 {
		fmt.Fprintf(&b, ", byte %d", p.At)
	}
	fmt.Fprintf(&b, ": found %s", p.Found)
	if p.Expected != "" {
		fmt.Fprintf(&b, "; expected %s", p.Expected)
	}
	if p.Do != "" {
		fmt.Fprintf(&b, ". %s", p.Do)
	}
	return b.String()
}

// Fault is the kind of a [Warning].
type Fault string

// The kinds of warnings.
const (
	LostEnd      Fault = "lost end" // the recording is shorter than its header says
	LostStart    Fault = "lost beginning"
	BadChecksum  Fault = "bad checksum"  // a FLAC frame whose checksum is wrong
	BadDigest    Fault = "bad digest"    // the samples are not those that were encoded
	OddSize      Fault = "odd size"      // sizes that disagree, padding that is missing
	NoLength     Fault = "no length"     // the header does not say how long it is
	LeftOver     Fault = "left over"     // bytes that are no part of the recording
	OddValues    Fault = "odd values"    // samples outside what the header promises
	OddHeader    Fault = "odd header"    // a header that disagrees with itself in what does not matter
	NotSupported Fault = "not supported" // a part of the file that was not read
)

// Warning is something wrong with a recording that could be delivered all the
// same.
type Warning struct {
	Fault Fault
	Text  string  // a whole sentence
	LostS float64 // seconds that are missing at the end, 0 if none or not known
}

func (w Warning) String() string { return w.Text }
