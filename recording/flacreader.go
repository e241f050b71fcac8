package recording

import (
	"fmt"
	"io"
)

// flacReader delivers the samples of a FLAC file.
type flacReader struct {
	*Reader
	si    streamInfo
	split *splitter
	pipe  *pipeline // nil until the first sample is asked for
	first *job      // split off before that, or nil

	job       *job  // being delivered
	at        int   // frames of it that are
	delivered int64 // or passed over
	jumped    bool  // some were passed over without being decoded
}

func newFlacReader(r *Reader, si streamInfo) *flacReader {
	return &flacReader{Reader: r, si: si, split: newSplitter(r, si)}
}

func (f *flacReader) read(dst []float64) (int, error) {
	c, done := f.si.channels, 0
	for done < len(dst) {
		if err := f.fill(); err != nil {
			return done / c, err
		}
		n := min(f.job.head.blockSize-f.at, (len(dst)-done)/c)
		f.job.deliver(dst[done:done+n*c], f.at, f.si)
		f.pass(n)
		done += n * c
	}
	return done / c, nil
}

// fill makes sure that there is a block with samples left.
func (f *flacReader) fill() error {
	if f.pipe == nil {
		f.pipe = startPipeline(f.split, f.first, !f.jumped && f.si.digest != [16]byte{})
		f.first = nil
	}
	for f.job == nil || f.at == f.job.head.blockSize {
		if f.job != nil {
			f.pipe.release(f.job)
		}
		f.job, f.at = f.pipe.next(), 0
		if end := f.job; end.end != notEnded {
			f.job = nil
			f.close()
			return f.ended(end)
		}
	}
	return nil
}

func (f *flacReader) pass(n int) {
	f.at += n
	f.delivered += int64(n)
}

func (f *flacReader) skip(n int64) (int64, error) {
	from := f.delivered
	if f.pipe == nil {
		if err := f.leap(n); err != nil {
			return f.delivered - from, err
		}
	}
	for f.delivered-from < n {
		if err := f.fill(); err != nil {
			return f.delivered - from, err
		}
		f.pass(int(min(int64(f.job.head.blockSize-f.at), n-(f.delivered-from))))
	}
	return n, nil
}

// leap passes over whole FLAC frames, at most n of ours, without decoding them.
// Their checksums are verified all the same.
func (f *flacReader) leap(n int64) error {
	for from := f.delivered; ; {
		if f.first == nil {
			f.first = newJob()
			f.split.next(f.first)
		}
		j := f.first
		if j.end != notEnded {
			return f.ended(j)
		}
		if int64(j.head.blockSize) > n-(f.delivered-from) {
			return nil
		}
		f.jumped = true
		f.delivered += int64(j.head.blockSize)
		f.split.next(j)
	}
}

func (f *flacReader) close() {
	if f.pipe != nil {
		f.pipe.stop(f.in.at != nil)
	}
}

// ended says why there is no more. The error is io.EOF unless the stream must
// be refused.
func (f *flacReader) ended(j *job) error {
	if j.err != nil {
		return j.err
	}
	whole := f.lostStart()
	if f.si.total > 0 && f.si.total <= f.split.first+f.delivered {
		f.allThere(j)
	} else {
		whole = f.lostEnd(j) && whole
	}
	if whole && f.pipe != nil && f.pipe.hashing {
		f.compare(f.pipe.digest())
	}
	return io.EOF
}

// lostStart warns where the first FLAC frame was not the first of its stream.
func (f *flacReader) lostStart() (whole bool) {
	if f.split.first == 0 {
		return true
	}
	f.warn(Warning{Fault: LostStart, Text: fmt.Sprintf("The beginning is lost: the file begins with the FLAC frame of sample %d, so %s are missing in front of it.",
		f.split.first+1, seconds(f.split.first, f.info.RateHz))})
	return false
}

// allThere warns of what there is beyond what the header promises.
func (f *flacReader) allThere(j *job) {
	if got := f.split.first + f.delivered; f.si.total > 0 && got > f.si.total {
		f.warn(Warning{Fault: OddHeader, Text: fmt.Sprintf("The header promises %s, but the file holds %s; all of it was delivered.",
			seconds(f.si.total, f.info.RateHz), seconds(got, f.info.RateHz))})
	}
	if j.end != cleanEnd || j.over > 0 {
		f.warn(Warning{Fault: LeftOver, Text: fmt.Sprintf("What follows the last FLAC frame, from byte %d on, is no part of the recording and was not read.", j.at)})
	}
}

// lostEnd warns of what is missing. whole is true where nothing shows that
// anything is.
func (f *flacReader) lostEnd(j *job) (whole bool) {
	rate, total := f.info.RateHz, f.split.first+f.delivered
	lost := max(f.si.total-total, 0)
	w := Warning{Fault: LostEnd, LostS: float64(lost) / rate}
	missing := seconds(lost, rate) + " are missing"
	if f.si.total == 0 {
		missing = "how much is missing is not known, for the header does not say how long the recording was"
	}
	switch {
	case j.end == badFrame:
		w.Fault = BadChecksum
		w.Text = fmt.Sprintf("The FLAC frame at byte %d is damaged: %s. What came before it, %s, was delivered; %s.", j.at, j.cause, seconds(f.delivered, rate), missing)
	case lost > 0:
		w.Text = fmt.Sprintf("The end is lost: the header promises %s and the file ends after %s; %s.", seconds(f.si.total, rate), seconds(total, rate), missing)
	case j.end == cutOff:
		w.Text = fmt.Sprintf("The end is lost: the file ends within the FLAC frame at byte %d, after %s; %s.", j.at, seconds(total, rate), missing)
	default:
		if j.over > 0 {
			f.allThere(j)
		}
		return true
	}
	f.warn(w)
	return false
}

// compare warns of samples that are not those that were encoded.
func (f *flacReader) compare(got [16]byte) {
	if got != f.si.digest {
		f.warn(Warning{Fault: BadDigest, Text: fmt.Sprintf("The samples are not those that were encoded: their MD5 digest is %x, the header has %x. All FLAC frames passed their own checksums.", got, f.si.digest)})
	}
}
