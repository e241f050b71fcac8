package noise

import (
	"fmt"
	"math"
	"strings"

	"setwright/quantity"
)

// Surroundings is one kind of place in Recommendation ITU-R P.372, with the
// median external noise Fam = C − D·lg(f/MHz) in dB above kT0B for a short
// lossless vertical monopole over perfect ground.
//
// UpperDB and LowerDB are the deciles: on a tenth of occasions the noise is
// higher than the median by UpperDB or more, on a tenth lower by LowerDB.
// LowHz and HighHz are where the constants hold. Noise of thunderstorms is not
// in them: it dominates at low and medium frequencies at night.
type Surroundings struct {
	ID, Title        string
	C, D             float64
	UpperDB, LowerDB float64
	LowHz, HighHz    float64
	Note             string
}

const galactic = "galactic"

// places are the constants of P.372 (section on man-made noise, tables of c, d
// and of the deciles; equation of galactic noise).
var places = []Surroundings{
	{ID: "city", Title: "city", C: 76.8, D: 27.7, UpperDB: 11.0, LowerDB: 6.7, LowHz: 0.3e6, HighHz: 250e6},
	{ID: "residential", Title: "residential", C: 72.5, D: 27.7, UpperDB: 10.6, LowerDB: 5.3, LowHz: 0.3e6, HighHz: 250e6},
	{ID: "rural", Title: "rural", C: 67.2, D: 27.7, UpperDB: 9.2, LowerDB: 4.6, LowHz: 0.3e6, HighHz: 250e6},
	{ID: "quiet_rural", Title: "quiet rural", C: 53.6, D: 28.6, UpperDB: 9.2, LowerDB: 4.6, LowHz: 0.3e6, HighHz: 30e6},
	{ID: galactic, Title: "galactic", C: 52.0, D: 23.0, UpperDB: 2, LowerDB: 2, LowHz: 10e6, HighHz: 100e6,
		Note: "counts only above the critical frequency of the ionosphere, about 10 MHz"},
}

// AllSurroundings returns the kinds of place, the noisiest first, galactic noise
// last.
func AllSurroundings() []Surroundings { return append([]Surroundings(nil), places...) }

// SurroundingsNames returns their ids.
func SurroundingsNames() []string {
	var out []string
	for _, p := range places {
		out = append(out, p.ID)
	}
	return out
}

// FindSurroundings returns the kind of place of an id or title.
func FindSurroundings(name string) (Surroundings, error) {
	key := strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(strings.TrimSpace(name)))
	for _, p := range places {
		if p.ID == key {
			return p, nil
		}
	}
	return Surroundings{}, fmt.Errorf("found %q, expected one of %s", name, strings.Join(SurroundingsNames(), ", "))
}

// RangeError is a frequency outside the range in which the constants hold.
type RangeError struct {
	Place Surroundings
	Hz    float64
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("external noise, %s: found %s, expected %s to %s, where the constants of ITU-R P.372 hold", e.Place.Title,
		quantity.FormatNumber(e.Hz, "Hz"), quantity.FormatNumber(e.Place.LowHz, "Hz"), quantity.FormatNumber(e.Place.HighHz, "Hz"))
}

// Median returns Fam in dB at a frequency in hertz, or a *RangeError.
func (p Surroundings) Median(hz float64) (float64, error) {
	if !(hz >= p.LowHz && hz <= p.HighHz) {
		return math.NaN(), &RangeError{p, hz}
	}
	return p.C - p.D*math.Log10(hz/1e6), nil
}

// decileSigmas is the number of standard deviations from the median to the
// decile of a normal distribution.
const decileSigmas = 1.2815515655446004

// External is the external noise that is to be expected at one frequency.
type External struct {
	Hz, MedianDB     float64
	UpperDB, LowerDB float64 // deciles above and below the median
	Parts            []Part  // what it is made of, the strongest first
}

// Part is one cause of external noise.
type Part struct {
	Place    Surroundings
	MedianDB float64
}

// At returns the external noise of a place: the man-made noise with the
// galactic noise added where that counts (10 to 100 MHz), as powers. The
// deciles are those of the stronger part.
func (p Surroundings) At(hz float64) (External, error) {
	median, err := p.Median(hz)
	if err != nil {
		return External{}, err
	}
	e := External{Hz: hz, MedianDB: median, UpperDB: p.UpperDB, LowerDB: p.LowerDB, Parts: []Part{{p, median}}}
	sky := places[len(places)-1]
	fromSky, err := sky.Median(hz)
	if err != nil || p.ID == galactic {
		return e, nil
	}
	e.MedianDB = DB(Ratio(median) + Ratio(fromSky))
	e.Parts = append(e.Parts, Part{sky, fromSky})
	if fromSky > median {
		e.UpperDB, e.LowerDB = sky.UpperDB, sky.LowerDB
		e.Parts[0], e.Parts[1] = e.Parts[1], e.Parts[0]
	}
	return e, nil
}

// Value returns the median with the standard deviation of one occasion about
// it, from the mean of both deciles over 1.28, as a source of its own.
func (e External) Value() quantity.Value {
	key := quantity.SourceKey{Kind: quantity.FromReference, Of: "ITU-R P.372", Quantity: "external noise", Cell: e.Parts[0].Place.ID}
	src := key.Source("external noise of the place and hour", 0)
	return quantity.New(e.MedianDB, quantity.Contribution{Source: src, C: (e.UpperDB + e.LowerDB) / 2 / decileSigmas})
}

// PowerDBm returns the external noise in dBm in a noise bandwidth in hertz, at
// the terminals of a lossless antenna, for a figure Fa in dB.
func PowerDBm(externalDB, bandwidthHz float64) float64 {
	return ThermalDBm(bandwidthHz) + externalDB
}

// FieldStrength returns the noise field strength in dB above 1 µV/m for an
// external noise figure Fa in dB of a short vertical monopole over perfect
// ground: E = Fa + 20 lg(f/MHz) + 10 lg(B/Hz) − 95.5 (ITU-R P.372; from memory,
// the constant derived again as −95.51).
func FieldStrength(externalDB, hz, bandwidthHz float64) float64 {
	return externalDB + 20*math.Log10(hz/1e6) + 10*math.Log10(bandwidthHz) - 95.5
}

// Antenna is what stands between the noise outside and the receiver: losses in
// dB (0 for none) at a temperature in kelvin (0 for T0).
type Antenna struct {
	CircuitLossDB, LineLossDB float64
	CircuitK, LineK           float64
}

// System returns the noise figure in dB of the whole, referred to a lossless
// antenna: f = fa + (fc−1) + lc(ft−1) + lc·lt(fr−1) (ITU-R P.372, section 2;
// from memory), fc = 1 + (lc−1)Tc/T0 and ft alike.
func System(externalDB, receiverDB float64, a Antenna) float64 {
	lc, lt := Ratio(a.CircuitLossDB), Ratio(a.LineLossDB)
	fc, ft := lossFactor(lc, a.CircuitK), lossFactor(lt, a.LineK)
	return DB(Ratio(externalDB) + (fc - 1) + lc*(ft-1) + lc*lt*(Ratio(receiverDB)-1))
}

// lossFactor is the noise factor of a loss at a temperature.
func lossFactor(loss, kelvin float64) float64 {
	if kelvin == 0 {
		kelvin = StandardTemperatureK
	}
	return 1 + (loss-1)*kelvin/StandardTemperatureK
}

// Rise returns by how many dB the output noise rises when a lossless antenna
// that brings the external noise Fa takes the place of a matched resistance at
// T0: 10 lg((fa + fr − 1)/fr). Ten dB and more: the receiver is as sensitive as
// it need be there.
func Rise(externalDB, receiverDB quantity.Value) quantity.Value {
	fr := receiverDB.PowerRatio()
	return externalDB.PowerRatio().Add(fr).Shift(-1).Div(fr).PowerRatioDB()
}

// FigureForRise returns the noise figure in dB of the receiver that adds so
// many dB to the external noise alone: fr − 1 = fa (10^(R/10) − 1).
func FigureForRise(externalDB, addedDB float64) float64 {
	return DB(1 + Ratio(externalDB)*math.Expm1(addedDB/10*math.Ln10))
}
