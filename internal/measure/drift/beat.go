package drift

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"setwright/internal/measure"
	"setwright/quantity"
	"setwright/signal"
)

// beatRole is the role of a recording of a beat note.
const beatRole = "beat"

var recordings = []measure.RecordingSpec{{
	Role: beatRole, Title: "beat note",
	Help: "The set on an unmodulated carrier of a steady generator or standard-frequency station, BFO on, tuned to a note of 500 to 1500 Hz and touched no more; " +
		"the sound input recording from the moment of power-on. The note may fall through zero beat.",
}}

// beat is what following a recorded beat note gave.
type beat struct {
	index   int // of the recording in the run
	rec     measure.Recording
	scale   measure.SoundScale
	track   *signal.Track
	points  []signal.TrackPoint // used, oldest first; nil when the record is made of them
	frames  []int64             // where these lie
	limits  []string            // what was left out, and why
	lost    map[string]int      // points lost, by reason
	blindUS float64             // s: time that gaps leave unknown, one standard uncertainty
}

// fromRecording says whether the run holds a beat note in the place of a log.
func fromRecording(raw measure.Raw) bool {
	return raw.Series.Column("frequency") == nil && len(raw.OfRole(beatRole)) > 0
}

// takeBeat follows the recorded beat note and makes the record of it.
func (w *work) takeBeat(ctx context.Context, progress func(float64)) error {
	b, err := onlyBeat(w.raw)
	if err != nil {
		return err
	}
	if err := b.follow(ctx, w.set, progress); err != nil {
		return err
	}
	if err := b.choose(); err != nil {
		return err
	}
	w.beat = b
	if w.set.oscillator == "" {
		w.set.oscillator = "set"
	}
	if math.IsNaN(w.set.powerOnS) {
		w.set.powerOnS, w.marked = b.powerOn()
	}
	w.set.powerOnUS = math.Hypot(nonNaN(w.set.powerOnUS), b.blindUS)
	n := len(b.points)
	w.record.TimeS, w.record.FrequencyHz, b.frames = make([]float64, 0, n), make([]float64, 0, n), make([]int64, 0, n)
	for _, p := range b.points {
		b.frames = append(b.frames, p.Frame)
		t, _ := b.scale.Seconds(p.TimeS)
		hz, _ := b.scale.Hz(p.Hz)
		w.record.TimeS = append(w.record.TimeS, t)
		w.record.FrequencyHz = append(w.record.FrequencyHz, hz)
	}
	b.points = nil
	w.record.FirstReadingAfterS = w.record.TimeS[0] - w.set.powerOnS
	return nil
}

// onlyBeat finds the recording of the run.
func onlyBeat(raw measure.Raw) (*beat, error) {
	found := -1
	for i, r := range raw.Recordings {
		if r.Role != beatRole {
			continue
		}
		if found >= 0 {
			return nil, &measure.Refusal{Row: -1, Found: "two recordings of a beat note in one run", Expected: "one", Advice: "make a run of each"}
		}
		found = i
	}
	rec := raw.Recordings[found]
	return &beat{index: found, rec: rec, scale: raw.SoundScale(rec.Started)}, nil
}

// follow tracks the note.
func (b *beat) follow(ctx context.Context, set settings, progress func(float64)) error {
	src, err := b.rec.Open(ctx)
	if err != nil {
		return fmt.Errorf("drift: opening the recording %s: %w", b.rec.Name, err)
	}
	defer src.Close()
	b.track, err = signal.TrackTone(ctx, src, signal.TrackOptions{
		StartHz: nonNaN(set.beatHz), Gaps: b.rec.Gaps(), Frames: b.rec.Frames,
	}, progress)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return fmt.Errorf("drift: reading the recording %s: %w", b.rec.Name, err)
	}
	return nil
}

// powerOn is the moment of power-on in seconds from the start of the recording:
// a mark that says so, else the start.
func (b *beat) powerOn() (atS float64, marked bool) {
	for _, m := range b.rec.Marks {
		switch strings.ToLower(strings.TrimSpace(m.Text)) {
		case "on", "power on", "power-on", "switched on":
			return float64(m.Frame) / b.rec.RateHz, true
		}
	}
	return 0, false
}

// choose picks the points that figures may use: none after a gap of unknown
// length, for their time is not known, and on one side only of a zero beat that
// nobody can say it went through.
func (b *beat) choose() error {
	b.lost = map[string]int{}
	b.points = slices.DeleteFunc(b.track.Points, func(p signal.TrackPoint) bool {
		if p.Lost {
			b.lost[p.Why]++
		}
		return p.Lost
	})
	b.track.Points = nil // a day's are many; they are those of b now
	if len(b.points) == 0 {
		return &measure.Refusal{Row: -1, Found: "no beat note in the recording: " + b.commonest(), Expected: "a steady note well above the noise",
			Advice: "listen to it; tune for 500 to 1500 Hz, and turn up the level until the loudest is a little below full scale"}
	}
	b.limitTime()
	b.limitSign()
	if len(b.points) < leastBeatPoints {
		found := secondsOf(len(b.points)) + " of beat note that can be used"
		if len(b.limits) > 0 {
			found += " (" + strings.Join(b.limits, "; ") + ")"
		}
		return &measure.Refusal{Row: -1, Found: found, Expected: "half a minute at least", Advice: "record from cold, an hour or more"}
	}
	return nil
}

// leastBeatPoints is how many readings of a second make a record at all.
const leastBeatPoints = 30

// limitTime drops what comes after a gap whose length nobody knows. Of a run of
// zeros or a repeated block it is not known whether they replace what was lost or
// were put in beside it: its own length is uncertain.
func (b *beat) limitTime() {
	blind, end, why := 0.0, int64(math.MaxInt64), ""
	for _, g := range b.track.Gaps {
		switch {
		case g.LostS > 0:
		case g.Frames > 0:
			blind += float64(g.Frames) / b.rec.RateHz
		case g.Frame < end:
			end, why = g.Frame, g.Why
		}
	}
	b.blindUS = quantity.RectangularU(2 * blind)
	before := len(b.points)
	b.points = slices.DeleteFunc(b.points, func(p signal.TrackPoint) bool { return p.Frame >= end })
	if lost := before - len(b.points); lost > 0 {
		b.limits = append(b.limits, fmt.Sprintf("%s of the note lie behind a gap of unknown length at %s (%s): their time since power-on is not known, and they are left out",
			secondsOf(lost), elapsed(float64(end)/b.rec.RateHz), why))
	}
}

// limitSign keeps the longer side of a zero beat after which the sign is not known.
func (b *beat) limitSign() {
	from := b.track.UnsignedFromS
	if math.IsInf(from, 1) {
		return
	}
	at := slices.IndexFunc(b.points, func(p signal.TrackPoint) bool { return p.TimeS >= from })
	if at <= 0 {
		return
	}
	side, before, after := "after", b.points[:at], b.points[at:]
	for _, z := range b.track.ZeroBeats { // a further one breaks it again
		if z.FromS > from && !z.Turned {
			after = slices.DeleteFunc(slices.Clone(after), func(p signal.TrackPoint) bool { return p.TimeS > z.FromS })
			break
		}
	}
	left := len(b.points) - len(before)
	b.points = before
	if len(after) > len(before) {
		side, b.points, left = "before", after, len(before)
	}
	b.limits = append(b.limits, fmt.Sprintf("the note was in zero beat until %s and cannot be followed through it: %s %s that are left out", elapsed(from), secondsOf(left), side))
}

// commonest is the reason for which most of the note is lost.
func (b *beat) commonest() string {
	why, most := "it is too short", 0
	for reason, n := range b.lost {
		if n > most || n == most && reason < why {
			why, most = reason, n
		}
	}
	return why
}

// notes say what following the note met with.
func (b *beat) notes() []string {
	out := slices.Clone(b.limits)
	for _, z := range b.track.ZeroBeats {
		out = append(out, fmt.Sprintf("zero beat from %s to %s: %s", elapsed(z.FromS), elapsed(z.ToS), z.Why))
	}
	if b.track.Signed {
		out = append(out, "frequencies below zero stand for the other side of zero beat; the side on which the recording begins counts as positive")
	}
	reasons := b.lost
	keys := make([]string, 0, len(reasons))
	for k := range reasons {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		out = append(out, fmt.Sprintf("no reading for %s in all: %s", secondsOf(reasons[k]), k))
	}
	return append(out, append(b.track.Notes, b.scale.Notes()...)...)
}

// stretches are the parts of the recording that figures came from.
func (b *beat) stretches(figures []string) []measure.Stretch {
	var out []measure.Stretch
	half := b.track.StepS / 2
	for i, frame := range b.frames {
		at := float64(frame) / b.rec.RateHz
		if i > 0 && at-half <= out[len(out)-1].ToS+half {
			out[len(out)-1].ToS = at + half
			continue
		}
		out = append(out, measure.Stretch{Recording: b.index, FromS: at - half, ToS: at + half, Label: "beat note", Figures: figures})
	}
	return out
}

// secondsOf words so many steps of a second.
func secondsOf(n int) string { return elapsed(float64(n)) }

func elapsed(s float64) string { return quantity.Printer{}.Elapsed(math.Round(s)) }
