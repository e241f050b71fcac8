package recording

// job is a FLAC frame on its way: split off, decoded, hashed, delivered.
type job struct {
	data  []byte // the frame and padding
	at    int64  // byte of the file
	head  frameHeader
	sub   [8][]int64 // samples of each channel behind a run of zeros
	pcm   []byte     // the samples as the digest wants them
	done  chan struct{}
	end   ending
	cause string // why a frame is bad
	over  int64  // bytes behind the last frame
	err   error  // why the stream is refused
}

// ending is why a job carries no frame.
type ending int

const (
	notEnded ending = iota
	cleanEnd
	cutOff
	badFrame
	refused
)

// padding is the number of zero bytes behind the data of a frame, so that eight
// bytes can be read at once anywhere.
const padding = 16

// history is the number of zeros in front of the samples of a channel, so that
// a predictor may look further back than its order.
const history = 32

func newJob() *job { return &job{done: make(chan struct{}, 1)} }

func (j *job) reset() { j.end, j.cause, j.over, j.err = notEnded, "", 0, nil }

func (j *job) fail(err error) { j.end, j.err = refused, err }

// samples returns the buffer of a channel, history and block.
func (j *job) samples(channel int) []int64 {
	need := history + j.head.blockSize
	if cap(j.sub[channel]) < need {
		j.sub[channel] = make([]int64, need)
	}
	return j.sub[channel][:need]
}

// decode turns the frame into samples and, where they are to be hashed, into
// bytes.
func (j *job) decode(si streamInfo, hash bool) {
	n, why := j.decodeFrame(si)
	if why == "" && n+2 != len(j.data)-padding {
		why = "it holds more bytes than samples take"
	}
	if why != "" {
		j.end, j.cause = badFrame, why
		return
	}
	if hash {
		j.bytes(si)
	}
}

// bytes interleaves the samples little-endian, in as few bytes as hold them
// (8.2, the MD5 checksum).
func (j *job) bytes(si streamInfo) {
	size, c := (si.bits+7)/8, si.channels
	need := j.head.blockSize * c * size
	if cap(j.pcm) < need {
		j.pcm = make([]byte, need)
	}
	j.pcm = j.pcm[:need]
	for ch := range c {
		s := j.samples(ch)[history:]
		out := j.pcm[ch*size:]
		if size == 2 {
			for i, x := range s {
				o := out[i*2*c : i*2*c+2 : i*2*c+2]
				o[0], o[1] = byte(x), byte(x>>8)
			}
			continue
		}
		for i, x := range s {
			for k := range size {
				out[i*c*size+k] = byte(x >> (8 * k))
			}
		}
	}
}

// deliver converts the samples from frame at on.
func (j *job) deliver(dst []float64, at int, si streamInfo) {
	c := si.channels
	scale := 1 / float64(int64(1)<<(si.bits-1))
	for ch := range c {
		s := j.samples(ch)[history+at:]
		if c == 1 {
			s = s[:len(dst)]
			for i, x := range s {
				dst[i] = float64(x) * scale
			}
			return
		}
		for i, k := 0, ch; k < len(dst); i, k = i+1, k+c {
			dst[k] = float64(s[i]) * scale
		}
	}
}
