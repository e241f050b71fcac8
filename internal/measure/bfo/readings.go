package bfo

import (
	"fmt"
	"math"
	"sort"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// reading is one value of the BFO less the middle of the passband.
type reading struct {
	row      int
	timeS    float64 // NaN where not known
	position float64 // NaN where not known
	hz, u    float64 // u: of this reading alone, where it is known
}

// place is the readings of one setting of the control.
type place struct {
	readings []reading
	position float64
	// common are what all its readings share, for its mean.
	common []quantity.Contribution
	label  string
}

// mean returns the mean offset of a place and its standard uncertainty from the
// scatter of its readings.
func (p place) mean(sd float64) (hz, u float64) {
	for _, r := range p.readings {
		hz += r.hz / float64(len(p.readings))
	}
	return hz, sd / math.Sqrt(float64(len(p.readings)))
}

// data is what was read of a BFO.
type data struct {
	places   []place // one for each setting of the control, by frequency
	beat     bool    // from beats
	stepHz   float64
	notes    []string
	warnings []string
}

func (d *data) note(format string, args ...any) {
	d.notes = append(d.notes, fmt.Sprintf(format, args...))
}

// fromReadings takes the columns of a run.
func fromReadings(raw measure.Raw, set setting) (*data, error) {
	d := &data{}
	all, err := d.column(raw, set)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, &measure.Refusal{Row: -1, Found: "no reading", Expected: "the BFO's frequency at both ends of its control"}
	}
	if d.beat {
		if err := d.sign(all, set); err != nil {
			return nil, err
		}
	}
	return d, d.group(all, set)
}

// column reads frequency or beat with position and time.
func (d *data) column(raw measure.Raw, set setting) ([]reading, error) {
	col := raw.Series.Column("frequency")
	if col == nil {
		col, d.beat = raw.Series.Column("beat"), true
	}
	if col == nil {
		return nil, &measure.Refusal{Row: -1, Found: "no column of frequencies or beats", Expected: "one of them",
			Advice: "say which column it is, for example --column 1=frequency:kHz"}
	}
	if !d.beat && math.IsNaN(set.centreHz) {
		return nil, &measure.Refusal{Row: -1, Found: "frequencies of the BFO alone", Expected: "the middle of the passband too",
			Advice: "give it in the option \"centre\", or the intermediate frequency in the set's description"}
	}
	d.stepHz = col.Resolution
	for _, in := range raw.Setup.Instruments {
		if in.Reads == col.Role {
			d.stepHz = math.Max(d.stepHz, in.Resolution)
		}
	}
	var out []reading
	for i, x := range col.Values {
		if math.IsInf(x, 0) {
			return nil, &measure.Refusal{Row: rowOf(raw, i), Found: fmt.Sprintf("%g as %s", x, col.Role), Expected: "a finite number"}
		}
		if math.IsNaN(x) {
			continue
		}
		r := reading{row: i, hz: x, timeS: cell(raw.Series.Column("time"), i), position: cell(raw.Series.Column("position"), i)}
		if !d.beat {
			r.hz -= set.centreHz
			if math.Abs(r.hz) > 0.1*set.centreHz {
				return nil, &measure.Refusal{Row: rowOf(raw, i), Found: "a BFO at " + quantity.FormatNumber(x, "Hz"), Expected: "one near the middle of the passband at " + quantity.FormatNumber(set.centreHz, "Hz"),
					Advice: "is the unit of the column right?"}
			}
		}
		out = append(out, r)
	}
	return out, nil
}

func cell(c *run.Column, i int) float64 {
	if c == nil || i >= len(c.Values) || math.IsInf(c.Values[i], 0) {
		return math.NaN()
	}
	return c.Values[i]
}

func rowOf(raw measure.Raw, i int) int {
	if i >= 0 && i < len(raw.Rows) {
		return raw.Rows[i]
	}
	return i
}

// sign gives beats without signs theirs: along the control the beat falls to
// zero and rises again on the other side.
func (d *data) sign(all []reading, set setting) error {
	lowest := 0
	for i, r := range all {
		if r.hz < 0 {
			return nil // signs are given
		}
		if r.hz < all[lowest].hz {
			lowest = i
		}
	}
	if set.control == "fixed" || len(all) == 1 {
		d.note("the beat is taken as that of a BFO above the carrier: a minus sign says below")
		return nil
	}
	if math.IsNaN(all[0].position) {
		if len(all) != 2 {
			return nil // one setting, or refused when grouped
		}
		all[0].hz = -all[0].hz
		d.note("the two beats are taken as those of the lower and the upper end, with zero beat between them")
		return nil
	}
	zero := all[lowest].position
	for i := range all {
		if below := all[i].position < zero; below != set.down && all[i].position != zero {
			all[i].hz = -all[i].hz
		}
	}
	d.note("beats without signs are taken as passing through zero beat at %g of the control", zero)
	return nil
}

// group sorts the readings by settings of the control.
func (d *data) group(all []reading, set setting) error {
	switch {
	case set.control == "fixed":
		d.places = []place{{readings: all, position: math.NaN()}}
		return nil
	case !math.IsNaN(all[0].position):
		d.byPosition(all)
		return nil
	}
	lo, hi := spread(all)
	timed := len(all) >= 3 && !math.IsNaN(all[0].timeS)
	switch {
	case len(all) == 1, timed && hi-lo < mostDrift:
		d.places = []place{{readings: all, position: math.NaN()}}
		return nil
	case len(all) == 2:
		d.places = []place{{readings: all[:1], position: math.NaN()}, {readings: all[1:], position: math.NaN()}}
	default:
		var low, high []reading
		for _, r := range all {
			if r.hz < (lo+hi)/2 {
				low = append(low, r)
			} else {
				high = append(high, r)
			}
		}
		a, b := spread(low)
		c, e := spread(high)
		if math.Max(b-a, e-c) > 0.2*(hi-lo) {
			return &measure.Refusal{Row: -1, Found: "readings between the ends without the control's position", Expected: "the position of each, or the two ends alone"}
		}
		d.places = []place{{readings: low, position: math.NaN()}, {readings: high, position: math.NaN()}}
	}
	d.sortPlaces()
	return nil
}

// mostDrift is the most that readings of one setting can be apart by drift, Hz.
const mostDrift = 500

func (d *data) byPosition(all []reading) {
	index := map[float64]int{}
	for _, r := range all {
		i, ok := index[r.position]
		if !ok {
			i = len(d.places)
			index[r.position] = i
			d.places = append(d.places, place{position: r.position})
		}
		d.places[i].readings = append(d.places[i].readings, r)
	}
	d.sortPlaces()
}

func (d *data) sortPlaces() {
	sort.SliceStable(d.places, func(i, j int) bool {
		a, _ := d.places[i].mean(0)
		b, _ := d.places[j].mean(0)
		return a < b
	})
}

func spread(all []reading) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, r := range all {
		lo, hi = math.Min(lo, r.hz), math.Max(hi, r.hz)
	}
	return lo, hi
}

// scatter is the standard deviation of a reading, from repeats at the same
// setting with their drift taken out, and its degrees of freedom; none: 0.
func (d *data) scatter(drift float64) (sd, dof float64) {
	sum := 0.0
	for _, p := range d.places {
		if len(p.readings) < 2 {
			continue
		}
		var m, mt float64
		for _, r := range p.readings {
			m += r.hz / float64(len(p.readings))
			mt += r.timeS / float64(len(p.readings))
		}
		for _, r := range p.readings {
			e := r.hz - m
			if !math.IsNaN(mt) {
				e -= drift * (r.timeS - mt)
			}
			sum += e * e
		}
		dof += float64(len(p.readings) - 1)
	}
	if dof == 0 {
		return 0, 0
	}
	return math.Sqrt(sum / dof), dof
}
