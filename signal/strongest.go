package signal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
)

// StrongestTone looks for the strongest line between two frequencies (both 0:
// 25 Hz to 0.45 of the sample rate) in the mean spectrum of the source. snr is
// the ratio of its power to that of all else in the band. The frequency is
// coarse, to about a tenth of a hertz: refine it with [FitSine4], or follow it
// with [TrackTone]. A source without a line gives an error.
func StrongestTone(ctx context.Context, src Source, fromHz, toHz float64) (hz, snr float64, err error) {
	o, err := TrackOptions{FromHz: fromHz, ToHz: toHz}.filled(src)
	if err != nil {
		return 0, 0, err
	}
	s := newScanner(src.Rate(), 1)
	mean, err := s.meanSpectrum(ctx, src)
	if err != nil {
		return 0, 0, err
	}
	lines := s.lines(mean, o.FromHz, o.ToHz, standsOut/2)
	if len(lines) == 0 {
		return 0, 0, fmt.Errorf("signal: no tone between %.4g and %.4g Hz stands out of the noise", o.FromHz, o.ToHz)
	}
	df := s.rate / float64(s.n)
	total := 0.0
	for k := max(1, int(o.FromHz/df)); k <= min(len(mean)-1, int(o.ToHz/df)); k++ {
		total += 2 * mean[k] / 1.5 / (s.sum * s.sum)
	}
	best := lines[0]
	return best.hz, best.power / math.Max(total-best.power, 1e-15*best.power), nil
}

// meanSpectrum averages the spectra of a source's successive parts.
func (s *scanner) meanSpectrum(ctx context.Context, src Source) ([]float64, error) {
	mean := make([]float64, len(s.power))
	part := make([]float64, s.n)
	for count := 1.0; ; count++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := readFull(src, part)
		if err != nil {
			return nil, err
		}
		if n < s.n && (count > 1 || n < 64) {
			if count == 1 {
				return nil, fmt.Errorf("signal: found %d samples, expected more to look for a tone in", n)
			}
			return mean, nil
		}
		for k, p := range s.transform(part[:n]) {
			mean[k] += (p - mean[k]) / count
		}
	}
}

// readFull fills dst as far as the source goes.
func readFull(src Source, dst []float64) (n int, err error) {
	for n < len(dst) {
		k, err := src.Read(dst[n:])
		n += k
		if errors.Is(err, io.EOF) {
			return n, nil
		}
		if err != nil {
			return n, err
		}
	}
	return n, nil
}
