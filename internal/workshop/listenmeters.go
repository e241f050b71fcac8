package workshop

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/internal/wire"
	"setwright/signal"
)

// meters look at the samples of a listening as they come: the channel that is
// analysed, or the mean of all.
type meters struct {
	rate     float64
	channels int
	channel  int
	scale    measure.SoundScale
	settings []string

	frames   int64
	mono     []float64
	cleaned  []float64
	level    *signal.LevelMeter
	spectrum *signal.LiveSpectrum
	tone     *signal.LiveTone
	watcher  *signal.Watcher
	clock    *wire.Clock
	told     []signal.Gap // by the path
	doubts   []signal.Gap // where the path is not sure
	invalid  []signal.Gap // samples that are no numbers
	zeros    int64        // frames of nothing but zeros, up to now
	loud     bool         // some sample was not zero

	toneAt   int64 // frames at the last reading of the tone, which takes time
	toneLast *LiveToneReading
}

// liveSegment is the length of the live spectrum's segments: 0.17 s at 48 kHz.
const liveSegment = 8192

func newMeters(s LiveSound, channel int, scale measure.SoundScale) meters {
	m := meters{rate: s.RateHz, channels: s.Channels, channel: channel, scale: scale,
		level: signal.NewLevelMeter(s.RateHz), spectrum: signal.NewLiveSpectrum(s.RateHz, liveSegment),
		tone: signal.NewLiveTone(s.RateHz), watcher: signal.NewWatcher(s.RateHz), clock: wire.NewClock(s.RateHz)}
	m.settings = settingsOf(s)
	return m
}

// settingsOf says what of a path's settings alters the sound, or may.
func settingsOf(s LiveSound) (out []string) {
	for _, set := range []struct {
		on         *bool
		what, does string
	}{{s.Echo, "echo cancelling", "it alters the sound"}, {s.Noise, "noise suppression", "it alters the sound"}, {s.Gain, "automatic gain", "levels mean nothing"}} {
		switch {
		case set.on != nil && *set.on:
			out = append(out, set.what+" is on: "+set.does)
		case set.on == nil && strings.HasPrefix(s.Path, "page"):
			out = append(out, "the browser does not say whether "+set.what+" is off")
		}
	}
	if s.DeviceRate > 0 && s.PathRate > 0 && s.DeviceRate != s.PathRate {
		out = append(out, fmt.Sprintf("the device works at %.0f Hz and the sound came at %.0f Hz: it was converted on the way", s.DeviceRate, s.PathRate))
	}
	return out
}

func (m *meters) seconds(frames int64) float64 { return float64(frames) / m.rate }

// finite puts zeros for samples that are no numbers, which no file can hold,
// and notes where.
func (m *meters) finite(x []float64) []float64 {
	bad := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	if !slices.ContainsFunc(x, bad) {
		return x
	}
	m.cleaned = append(m.cleaned[:0], x...)
	for i, v := range m.cleaned {
		if !bad(v) {
			continue
		}
		m.cleaned[i] = 0
		at := m.frames + int64(i/m.channels)
		if n := len(m.invalid); n > 0 && m.invalid[n-1].Frame+m.invalid[n-1].Frames >= at {
			m.invalid[n-1].Frames = at + 1 - m.invalid[n-1].Frame
		} else {
			m.invalid = append(m.invalid, signal.Gap{Frame: at, Frames: 1, Why: "no numbers"})
		}
	}
	return m.cleaned
}

// add takes a block that was written.
func (m *meters) add(b LiveBlock) {
	frames := len(b.Samples) / m.channels
	if b.LostS > 0 {
		m.told = append(m.told, signal.Gap{Frame: m.frames, LostS: b.LostS, Why: b.Why})
	}
	if b.DoubtS > 0 {
		m.doubt(signal.Gap{Frame: m.frames, Frames: int64(b.DoubtS * m.rate), Why: b.Why})
	}
	m.clock.Add(b, frames)
	m.mono = m.mono[:0]
	for i := range frames {
		m.mono = append(m.mono, m.pick(b.Samples[i*m.channels:(i+1)*m.channels]))
	}
	if slices.ContainsFunc(b.Samples, func(v float64) bool { return v != 0 }) {
		m.zeros, m.loud = 0, true
	} else {
		m.zeros += int64(frames)
	}
	m.level.Add(m.mono)
	m.spectrum.Add(m.mono)
	m.tone.Add(m.mono)
	m.watcher.Add(m.mono)
	m.frames += int64(frames)
}

// doubt notes a stretch that may hold a loss; stretches that overlap are one.
func (m *meters) doubt(g signal.Gap) {
	if n := len(m.doubts); n > 0 && m.doubts[n-1].Frame+m.doubts[n-1].Frames >= g.Frame {
		m.doubts[n-1].Frames = g.Frame + g.Frames - m.doubts[n-1].Frame
		return
	}
	m.doubts = append(m.doubts, g)
}

// pick is the sample that is looked at.
func (m *meters) pick(frame []float64) float64 {
	if m.channel >= 0 {
		return frame[m.channel]
	}
	sum := 0.0
	for _, v := range frame {
		sum += v
	}
	return sum / float64(len(frame))
}

// nearS is how far a phase jump and the loss that caused it may stand apart:
// losses are known to the block.
const nearS = 0.15

// gaps are all places at which the samples are not what the input was. Where
// the path said that it lost something the clock sees the same.
func (m *meters) gaps() []signal.Gap {
	near := int64(nearS * m.rate)
	clock := slices.DeleteFunc(m.clock.Gaps(), func(g signal.Gap) bool {
		return slices.ContainsFunc(m.told, func(t signal.Gap) bool { return max(t.Frame-g.Frame, g.Frame-t.Frame) <= near })
	})
	return mergeGaps(slices.Concat(m.watcher.Gaps(), m.invalid, m.doubts), clock, m.told, near)
}

// silentS is how long nothing but zeros may come before that is said: a sound
// input that lives has noise of its own.
const silentS = 3.0

// notes are what is to be said of the samples.
func (m *meters) notes() []string {
	out := slices.Clone(m.settings)
	if note := m.clock.Note(); note != "" {
		out = append(out, note)
	}
	switch {
	case !m.loud && m.seconds(m.zeros) >= silentS:
		out = append(out, "every sample is zero: the input is muted, or not connected")
	case m.seconds(m.zeros) >= silentS:
		out = append(out, fmt.Sprintf("nothing but zeros for the last %.0f s: the input was muted, or pulled out", m.seconds(m.zeros)))
	}
	return out
}

// LiveToneReading is the strongest tone of the last second, its frequency put
// right by the calibration of the sound input, where there is one.
type LiveToneReading struct {
	Hz     float64 `json:"hz"`
	U      float64 `json:"u"`       // standard uncertainty: of noise and of the sample rate
	NoiseU float64 `json:"noise_u"` // of noise alone: how steady it is
	DBFS   float64 `json:"dbfs"`
	AtS    float64 `json:"at_s"`
}

// toneEveryS is how often the tone is looked for.
const toneEveryS = 0.4

func (m *meters) toneNow() *LiveToneReading {
	if m.toneAt > 0 && m.seconds(m.frames-m.toneAt) < toneEveryS {
		return m.toneLast
	}
	m.toneAt, m.toneLast = m.frames, nil
	nominal, noise, dBFS, ok := m.tone.Read()
	if !ok {
		return nil
	}
	hz, parts := m.scale.Hz(nominal)
	u := noise
	for _, p := range parts {
		u = math.Hypot(u, p.C)
	}
	m.toneLast = &LiveToneReading{Hz: hz, U: u, NoiseU: noise, DBFS: audible(dBFS), AtS: m.seconds(m.frames)}
	return m.toneLast
}

// levelNow is the level, in volts as well where the sound input is calibrated.
func (m *meters) levelNow() LiveLevel {
	r := m.level.Read()
	out := LiveLevel{RMSdBFS: audible(r.RMSdBFS), PeakDBFS: audible(r.PeakdBFS), HoldDBFS: audible(r.HoldDBFS), Clipped: r.Clipped}
	if volts, parts, ok := m.scale.Volts(math.Pow(10, r.RMSdBFS/20) / math.Sqrt2); ok {
		out.RMSV = volts
		for _, p := range parts {
			out.RMSVU = math.Hypot(out.RMSVU, p.C)
		}
	}
	return out
}
