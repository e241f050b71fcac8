package sensitivity

import (
	"fmt"
	"math"
	"strconv"

	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/quantity"
)

// sources are the named causes of uncertainty of one run's figures.
type sources struct {
	readings, law quantity.Source
	pad, depth    quantity.Source
	repeat        quantity.Source // of the noise on an antenna
	generators    []generator
	defaulted     bool // no instrument of the run says how good its level is
}

// generator is one whose level was set.
type generator struct {
	key      quantity.SourceKey // of its level, without a cell
	name     string
	dof      float64
	absolute float64 // standard uncertainty in dB
	cell     string  // range in which its error is common, where the bench says it
}

// newSources names the run's own sources and those of its generator.
func newSources(raw measure.Raw, set setup) sources {
	s := sources{
		readings: quantity.RunSource(raw.RunID, "readings").Source("readings of the run", 0),
		law:      quantity.RunSource(raw.RunID, "law").Source("choice of the law of the detector", 0),
		repeat:   quantity.RunSource(raw.RunID, "antenna noise").Source("noise on the antenna from one minute to the next", 0),
		pad:      quantity.SourceKey{Kind: quantity.FromInstrument, Of: "pad", Quantity: "loss", Cell: plain(set.padDB) + "dB"}.Source("loss of the pad", 0),
	}
	// An instrument that nobody named may be another one in another run: its
	// error is the run's own.
	depth := quantity.RunSource(raw.RunID, "modulation depth")
	for _, in := range raw.Setup.Instruments {
		if in.Reads != "input" {
			continue
		}
		depth = quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "modulation depth"}
		if u := math.Hypot(in.Absolute, 20*math.Log10(1+in.Relative)); u > 0 {
			key := quantity.SourceKey{Kind: quantity.FromInstrument, Of: in.ID, Epoch: in.Epoch, Quantity: "level"}
			s.generators = append(s.generators, generator{key, in.Name, in.DoF, u, in.Cell})
		}
	}
	s.depth = depth.Source("modulation depth of the generator", 0)
	if len(s.generators) == 0 {
		s.defaulted = true
		key := quantity.RunSource(raw.RunID, "generator level")
		s.generators = []generator{{key: key, name: "the generator", absolute: set.levelU}}
	}
	return s
}

// cellDB is the distance of two settings of an attenuator at which their errors
// are taken as unrelated.
const cellDB = 10.0

// level is the error of the generator at a setting in dBm and a frequency, in
// dB. Where the bench does not say in which range it is common, half of its
// variance is: that of the reference level. The other half is the attenuator's:
// it is shared by levels the more the closer they are, and not at all from 10 dB
// on (a judgement; no source). Two sets measured on one bench at like levels so
// lose it from their difference.
func (g generator) level(dbm, hz float64) []quantity.Contribution {
	name := "level of " + g.name
	if g.cell != "" {
		key := g.key
		key.Cell = g.cell
		return []quantity.Contribution{{Source: key.Source(name, g.dof), C: g.absolute}}
	}
	half := g.absolute / math.Sqrt2
	out := []quantity.Contribution{{Source: g.key.Source(name, g.dof), C: half}}
	lower := math.Floor(dbm / cellDB)
	share := (dbm/cellDB - lower) * math.Pi / 2
	for i, c := range []float64{half * math.Cos(share), half * math.Sin(share)} {
		key := g.key
		key.Quantity = "attenuator"
		key.Cell = fmt.Sprintf("%.0fdBm", cellDB*(lower+float64(i)))
		if !math.IsNaN(hz) {
			key.Cell += fmt.Sprintf("@%.0fMHz", hz/1e6)
		}
		out = append(out, quantity.Contribution{Source: key.Source("attenuator of "+g.name+" near "+quantity.FormatNumber(cellDB*(lower+float64(i)), "dBm"), g.dof), C: c})
	}
	return out
}

// generatorLevel is the error of the level of the run's generators.
func (w *work) generatorLevel(dbm float64) []quantity.Contribution {
	var out []quantity.Contribution
	for _, g := range w.sources.generators {
		out = append(out, g.level(dbm+w.set.padDB, w.set.dialHz)...)
	}
	if w.set.padDB > 0 {
		out = append(out, quantity.Contribution{Source: w.sources.pad, C: -w.set.padU})
	}
	return out
}

// withDoF is a source whose standard deviation has so many degrees of freedom.
func withDoF(src quantity.Source, dof float64) quantity.Source {
	if dof > 0 && !math.IsInf(dof, 1) {
		src.DoF = dof
	}
	return src
}

// numberU is a detail of a value with its uncertainty.
func numberU(id, unit string, v quantity.Value) run.Detail {
	d := run.Number(id, unit, v.Estimate())
	if u := v.U(); u > 0 {
		d.U = &u
	}
	return d
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
