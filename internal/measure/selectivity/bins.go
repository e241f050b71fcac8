package selectivity

import (
	"math"
	"sort"

	"setwright/internal/measure/selectivity/passband"
	"setwright/signal"
)

// bin is one bin of a spectrum: density, that of the floor, and the standard
// uncertainty of their difference.
type bin struct {
	k                     int
	hz, density, floor, u float64
}

// bins lists the bins of a band without lines of hum and whistles.
func bins(noise, under *signal.Spectrum, shape signal.Passband, from, to float64) []bin {
	df := noise.DF()
	lines := append([]float64(nil), shape.Lines...)
	sort.Float64s(lines)
	var out []bin
	for k := max(1, int(math.Ceil(from/df))); k < len(noise.Density) && float64(k)*df <= to; k++ {
		hz := float64(k) * df
		if near(lines, hz, 3*df) {
			continue
		}
		b := bin{k: k, hz: hz, density: noise.Density[k], u: noise.Density[k] / math.Sqrt(noise.Effective)}
		if under != nil && k < len(under.Density) {
			b.floor = under.Density[k]
			b.u = math.Hypot(b.u, b.floor/math.Sqrt(under.Effective))
		}
		out = append(out, b)
	}
	return out
}

func near(sorted []float64, x, within float64) bool {
	i := sort.SearchFloat64s(sorted, x-within)
	return i < len(sorted) && sorted[i] <= x+within
}

// How far the density must stand above the floor: 3 dB above one that was
// recorded and is taken off; 10 dB above the lowest density seen, which may be
// the floor and is not taken off.
const clearOfRecorded, clearOfSeen = 2.0, 10.0

// clearOf returns the bins round the maximum as far as the noise stands clear
// of the floor on either side.
func clearOf(all []bin, shape signal.Passband, recorded bool) []bin {
	at := sort.Search(len(all), func(i int) bool { return all[i].hz >= shape.PeakHz })
	if at >= len(all) {
		return nil
	}
	ok := func(i int) bool {
		if recorded {
			d, floor := meanAround(all, i)
			return d > clearOfRecorded*floor
		}
		j := min(max(all[i].k-shape.FirstBin, 0), len(shape.Smooth)-1)
		return shape.Smooth[j] > clearOfSeen*lowest(shape.Smooth)
	}
	lo, hi := at, at
	for lo > 0 && ok(lo-1) {
		lo--
	}
	for hi < len(all)-1 && ok(hi+1) {
		hi++
	}
	return all[lo : hi+1]
}

func lowest(x []float64) float64 {
	low := math.Inf(1)
	for _, v := range x {
		low = math.Min(low, v)
	}
	return low
}

// meanAround is the mean density and floor of the 21 bins about one.
func meanAround(all []bin, i int) (density, floor float64) {
	lo, hi := max(0, i-10), min(len(all), i+11)
	for _, b := range all[lo:hi] {
		density += b.density
		floor += b.floor
	}
	return density, floor
}

// hannShared is how much more the mean of neighbouring bins of a Hann window
// scatters than if they were independent: 1 + 2(ρ1² + ρ2²) with ρ1 = 2/3 and
// ρ2 = 1/6, the correlations of the window's transform.
const hannShared = 1 + 2*(4./9+1./36)

// grouped makes one point of all bins within each step of so many hertz.
func grouped(all []bin, step float64) []passband.Point {
	var out []passband.Point
	for from := 0; from < len(all); {
		to := from
		var hz, d, v float64
		for ; to < len(all) && (to == from || all[to].hz < all[from].hz+step); to++ {
			hz += all[to].hz
			d += all[to].density - all[to].floor
			v += all[to].u * all[to].u
		}
		n := float64(to - from)
		if d > 0 {
			out = append(out, passband.Point{
				Hz: hz / n, DB: 10 * math.Log10(d/n), UdB: 10 / math.Ln10 * math.Sqrt(v*hannShared) / d, Index: len(out),
			})
		}
		from = to
	}
	return out
}
