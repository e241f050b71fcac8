package bfo

import (
	"context"
	"fmt"
	"math"

	"setwright/internal/measure"
	"setwright/quantity"
	"setwright/signal"
)

// fromRecordings follows the beat in each recording.
func fromRecordings(ctx context.Context, raw measure.Raw, recs []measure.Recording, progress func(float64)) (*data, []measure.Stretch, error) {
	d := &data{beat: true}
	var stretches []measure.Stretch
	for i, rec := range recs {
		end := rec.Label(recordings[0], "end")
		p, err := d.follow(ctx, raw, rec, end, func(x float64) { progress((float64(i) + x) / float64(len(recs))) })
		if err != nil {
			return nil, nil, err
		}
		d.places = append(d.places, p)
		ids := map[string][]string{endLow: {"bfo_low", "sidebands"}, endHigh: {"bfo_high", "sidebands"}, endSteady: {"bfo_drift"}}[end]
		stretches = append(stretches, measure.Stretch{Recording: indexOf(raw, rec), FromS: p.readings[0].timeS, ToS: p.readings[len(p.readings)-1].timeS, Label: "beat note, " + end, Figures: ids})
	}
	d.sortPlaces()
	return d, stretches, nil
}

// follow tracks one beat; the side of the BFO gives the sign.
func (d *data) follow(ctx context.Context, raw measure.Raw, rec measure.Recording, end string, progress func(float64)) (place, error) {
	src, err := rec.Open(ctx)
	if err != nil {
		return place{}, err
	}
	defer src.Close()
	track, err := signal.TrackTone(ctx, src, signal.TrackOptions{Gaps: rec.Gaps(), Frames: rec.Frames}, progress)
	if err != nil {
		if ctx.Err() != nil {
			return place{}, ctx.Err()
		}
		return place{}, &measure.Refusal{Row: -1, Found: rec.Name + ": " + err.Error()}
	}
	sign := 1.0
	side := rec.Labels["side"]
	if side == "below" || side == "" && end == endLow {
		sign = -1
	}
	if side == "" && end == endSteady {
		d.note("%s: the BFO is taken to stand above the carrier; label the side if it was below", rec.Name)
	}
	scale := raw.SoundScale(rec.Started)
	p := place{position: math.NaN(), label: end, readings: make([]reading, 0, len(track.Points))}
	for i, pt := range track.Points {
		if pt.Lost || pt.TimeS > track.UnsignedFromS && len(track.ZeroBeats) > 0 && !track.Signed {
			continue
		}
		if pt.SNRdB < faintestDB {
			continue
		}
		hz, _ := scale.Hz(pt.Hz)
		p.readings = append(p.readings, reading{row: i, timeS: pt.TimeS, position: math.NaN(), hz: sign * hz, u: pt.U})
	}
	if len(p.readings) == 0 {
		return place{}, &measure.Refusal{Row: -1, Found: rec.Name + " without a beat note that can be followed", Expected: "a steady tone that stands out",
			Advice: "is the carrier on, and the BFO?"}
	}
	mean, _ := p.mean(0)
	_, p.common = scale.Hz(mean)
	for _, z := range track.ZeroBeats {
		d.warnings = append(d.warnings, fmt.Sprintf("%s passes through zero beat at %.0f s: the side changes there; set the BFO further off for its drift", rec.Name, z.FromS))
	}
	d.notes = append(append(d.notes, track.Notes...), scale.Notes()...)
	d.warnings = append(d.warnings, scale.Warnings()...)
	return p, nil
}

// faintestDB is how far below all the noise a line may lie to be taken for the
// beat of a carrier that is tuned in; fainter ones are anybody's.
const faintestDB = -20

func indexOf(raw measure.Raw, rec measure.Recording) int {
	for i, r := range raw.Recordings {
		if r.Role == rec.Role && r.Name == rec.Name && r.Labels["end"] == rec.Labels["end"] {
			return i
		}
	}
	return 0
}

// instruments returns what the instruments of a column bring to a frequency.
func instruments(raw measure.Raw, role string, hz float64) []quantity.Contribution {
	var out []quantity.Contribution
	for _, in := range raw.Setup.Instruments {
		if in.Reads != role || in.Relative == 0 && in.Absolute == 0 {
			continue
		}
		key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "frequency", Cell: in.Cell}
		out = append(out, quantity.Contribution{Source: key.Source("time base of "+in.Name, in.DoF), C: hz*in.Relative + in.Absolute})
	}
	return out
}
