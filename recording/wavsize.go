package recording

import (
	"fmt"
	"math"
)

// soxSize is what some programs state as the size of the samples when they
// write to a pipe.
const soxSize = 0x7FFFF000

// sizes finds out how many bytes of samples there are, says what disagrees, and
// stands at the first sample afterwards.
func (w *wav) sizes() error {
	if err := w.notEmpty(); err != nil {
		return err
	}
	w.left, w.stated = w.data.Size, -1
	here := w.in.left()
	switch {
	case w.lengthUnknown(here):
		w.left = here
		w.warn(Warning{Fault: NoLength, Text: "The header does not say how long the recording is: it was written to a pipe, or whatever wrote it did not finish. It was read to the end of the file."})
	case here >= 0 && w.left > here:
		w.stated = w.left / int64(w.align)
		w.left = here
	case w.wrapped(here):
		w.left = here
		w.warn(Warning{Fault: OddSize, Text: fmt.Sprintf("The file has passed 4 GiB and its header states only what is left over %d. It was read to the end of the file.", int64(math.MaxUint32)+1)})
	default:
		w.stated = w.left / int64(w.align)
		if err := w.after(here); err != nil {
			return err
		}
	}
	w.info.FramesStated = w.stated
	if w.left >= 0 && (here >= 0 || w.stated < 0) {
		w.info.Frames = w.left / int64(w.align)
	}
	if here >= 0 {
		w.lostEnd(w.info.Frames)
	}
	w.oddCount()
	return nil
}

// notEmpty refuses a recording without samples.
func (w *wav) notEmpty() error {
	b, err := w.in.peek(8)
	if err != nil {
		return err
	}
	empty := len(b) == 0
	if w.data.Size == 0 && !empty {
		// Empty, or written by something that never came back to set the size?
		end := w.start + 8 + w.size
		empty = w.size >= 0 && end >= w.in.pos && len(b) == 8 && plausibleID(b[:4]) && w.in.pos+8+int64(w.order.Uint32(b[4:])) <= end
	}
	if empty {
		return w.problem(w.data.At, "no samples", "at least one", "The recording was cut off before its first sample, or was never written. "+copyAnew)
	}
	return nil
}

// lengthUnknown says whether the stated size of the samples means nothing; here
// is the number of bytes to the end of the file, −1 if not known.
func (w *wav) lengthUnknown(here int64) bool {
	switch size := w.data.Size; {
	case size <= 0:
		return true
	case size >= soxSize && size < soxSize+0x1000 && w.size >= size:
		return here != size
	}
	return false
}

// wrapped says whether the size of the samples is what 32 bits keep of it.
func (w *wav) wrapped(here int64) bool {
	return !w.wide && here > math.MaxUint32 && int64(uint32(here)) == w.data.Size
}

// after walks over what follows the samples, and comes back.
func (w *wav) after(here int64) error {
	if w.in.at == nil || here < 0 || here == w.left {
		return nil
	}
	back := w.in.pos
	if err := w.skipChunk(chunkHead{id: "data", size: uint32(w.left & 1), at: w.data.At - 8}, w.left); err != nil {
		return err
	}
	if err := w.walkAfter(); err != nil {
		return err
	}
	return w.in.seek(back)
}

func (w *wav) walkAfter() error {
	for range maxChunks {
		if b, err := w.in.peek(4); err != nil || len(b) == 0 {
			return err
		}
		at := w.in.pos
		h, ok, err := w.next()
		if err != nil {
			return err
		}
		size := w.length(h)
		if !ok || !plausibleID([]byte(h.id)) || size < 0 || size > w.in.left() {
			w.warn(Warning{Fault: LeftOver, Text: fmt.Sprintf("%d bytes from byte %d on, after the samples, are no whole chunk and were not read. If the recording should be longer than it is, its header was not brought up to date.", w.in.size-at, at)})
			return nil
		}
		c := w.note(h)
		if h.id == "data" {
			w.warn(Warning{Fault: NotSupported, Text: fmt.Sprintf("A second set of samples at byte %d was not read.", c.At)})
		}
		if err := w.late(h); err != nil {
			return err
		}
	}
	return nil
}

// late reads a chunk after the samples.
func (w *wav) late(h chunkHead) error {
	if h.id != "bext" || !w.info.Started.IsZero() {
		return w.skipChunk(h, w.length(h))
	}
	b, err := w.payload(h, bextFixed)
	if err == nil {
		w.bext(b)
	}
	return err
}

// oddCount says where ds64 contradicts itself. In BW64 the count means nothing
// (BS.2088 4.3).
func (w *wav) oddCount() {
	if w.ds64 == nil || w.info.Format != "RF64" || w.ds64.frames == 0 || w.stated < 0 || w.ds64.frames == uint64(w.stated) {
		return
	}
	w.warn(Warning{Fault: OddHeader, Text: fmt.Sprintf("The header counts %d frames, but its size of the samples makes %d. The size was used.", w.ds64.frames, w.stated)})
}

// lostEnd warns of an end that is missing, when so many frames are there.
func (w *wav) lostEnd(frames int64) {
	if w.stated <= frames || w.told {
		return
	}
	w.told = true
	lost := float64(w.stated-frames) / w.info.RateHz
	w.warn(Warning{Fault: LostEnd, LostS: lost, Text: fmt.Sprintf(
		"The end is lost: the header promises %s and the file ends after %s; %s are missing.",
		seconds(w.stated, w.info.RateHz), seconds(frames, w.info.RateHz), seconds(w.stated-frames, w.info.RateHz))})
}

// finish is called at the end, where rest bytes were left that make no frame.
func (w *wav) finish(rest int64) {
	if w.left > 0 && rest == 0 {
		rest = w.left % int64(w.align)
	}
	if w.left > 0 && w.stated >= 0 {
		w.lostEnd((w.data.Size - w.left) / int64(w.align)) // of a pipe; of a file it has been told
	}
	if rest > 0 {
		w.warn(Warning{Fault: OddSize, Text: fmt.Sprintf("The samples end with %d of the %d bytes of a frame, which were left out.", rest, w.align)})
	}
	if w.low != 0 {
		w.warn(Warning{Fault: OddValues, Text: fmt.Sprintf("The header promises %d valid bits, but the bits below them are not zero. If the level is far too low, what wrote the file put the samples at the wrong end.", w.info.Bits)})
	}
	if w.peak > 1 {
		w.warn(Warning{Fault: OddValues, Text: fmt.Sprintf("Floating-point samples go beyond full scale, to %.4g times it. They were kept as they are.", w.peak)})
	}
}

// seconds writes a number of frames as a time.
func seconds(frames int64, rate float64) string {
	t := float64(frames) / rate
	switch {
	case frames == 0:
		return "0 s"
	case t < 1:
		return fmt.Sprintf("%.4g ms", 1000*t)
	}
	return fmt.Sprintf("%.3f s", t)
}
