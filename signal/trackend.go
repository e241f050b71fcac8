package signal

import (
	"fmt"
	"math"
	"slices"
)

// track settles what can be settled only at the end.
func (t *toneTracker) track() *Track {
	if t.zone != nil && len(t.points) > 0 {
		t.zone.ToS = t.points[len(t.points)-1].TimeS
		t.zone.Why = "the recording ends in it"
		t.beats = append(t.beats, *t.zone)
	}
	out := &Track{StepS: t.o.StepS, Points: t.points, ZeroBeats: t.beats, UnsignedFromS: math.Inf(1),
		Gaps: append(slices.Clone(t.o.Gaps), t.feed.found...), Notes: t.notes}
	if n := len(t.feed.found); n > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("runs of zeros in the recording, which break it: %d, the first at %.3f s", n, float64(t.feed.found[0].Frame)/t.rate))
	}
	t.uncertainties()
	out.resolveSigns()
	return out
}

// noiseReach is how many points on either side the density beside the tone is
// averaged over.
const noiseReach = 7

// uncertainties sets the uncertainty of every point from the density beside the
// tone: the mean of the points round it, or the point's own where it is higher
// than chance allows.
func (t *toneTracker) uncertainties() {
	densities := make([]float64, len(t.points))
	for i, d := range t.detail {
		if d.gain != 0 {
			densities[i] = d.n1 / (d.gain * d.gain)
		}
	}
	for i := range t.points {
		p, d := &t.points[i], t.detail[i]
		if p.Lost {
			continue
		}
		n1, dof := t.densityAt(densities, i)
		p.NoiseDensity = n1
		n1 *= dof / (dof - 2) // so wide is a Student interval of a few points' density
		raw := n1 * d.gain * d.gain
		p.U = math.Sqrt(d.cov[1] * raw)
		p.CyclesU = math.Sqrt(d.cov[0]*raw) / (2 * math.Pi)
		p.AmplitudeU = math.Sqrt(n1 / d.seconds)
	}
}

// densityAt is the density round a point and its degrees of freedom.
func (t *toneTracker) densityAt(densities []float64, i int) (n1, dof float64) {
	near := make([]float64, 0, 2*noiseReach+1)
	for k := max(0, i-noiseReach); k <= min(len(densities)-1, i+noiseReach); k++ {
		if !t.points[k].Lost {
			near = append(near, densities[k])
			dof += float64(t.detail[k].dof)
		}
	}
	limit := 3 * medianOf(near)
	clipped := 0.0
	for _, v := range near {
		clipped += math.Min(v, limit)
	}
	// Of some twelve degrees of freedom one in a thousand lies above 2.7 times
	// the mean.
	if own := densities[i]; own > 2.7*clipped/float64(len(near)) {
		return own, math.Max(3, float64(t.detail[i].dof))
	}
	return clipped / float64(len(near)), math.Max(3, dof)
}

// resolveSigns decides for each zero beat whether the tone went through it, and
// gives what lies beyond its sign.
func (tr *Track) resolveSigns() {
	sign := 1.0
	for i := range tr.ZeroBeats {
		z := &tr.ZeroBeats[i]
		if z.Why == "" {
			tr.decide(z)
		}
		if !z.Followed && !z.Turned {
			tr.UnsignedFromS = z.ToS
			break
		}
		if z.Followed {
			sign = -sign
			tr.Signed = true
		}
		to := math.Inf(1)
		if i+1 < len(tr.ZeroBeats) {
			to = tr.ZeroBeats[i+1].ToS
		}
		tr.turnSign(z.ToS, to, sign)
	}
	if !math.IsInf(tr.UnsignedFromS, 1) && tr.UnsignedFromS < tr.endS() {
		tr.Notes = append(tr.Notes, fmt.Sprintf("the side of zero beat is not known from %.0f s on; frequencies there are sizes without sign", tr.UnsignedFromS))
	}
}

func (tr *Track) endS() float64 {
	if len(tr.Points) == 0 {
		return 0
	}
	return tr.Points[len(tr.Points)-1].TimeS
}

func (tr *Track) turnSign(from, to, sign float64) {
	if sign > 0 {
		return
	}
	for i := range tr.Points {
		if p := &tr.Points[i]; !p.Lost && p.TimeS >= from && p.TimeS < to {
			p.Hz, p.Cycles, p.SlopeHzS = -p.Hz, -p.Cycles, -p.SlopeHzS
		}
	}
}

// decide fits a parabola to both sides of a zero beat, once with the far side
// as it is and once with its sign turned: the one that fits clearly better is
// what happened.
func (tr *Track) decide(z *ZeroBeat) {
	span := math.Max(30*tr.StepS, 2*(z.ToS-z.FromS))
	var before, after []TrackPoint
	for _, p := range tr.Points {
		switch {
		case p.Lost:
		case p.TimeS <= z.FromS && p.TimeS > z.FromS-span:
			before = append(before, p)
		case p.TimeS >= z.ToS && p.TimeS < z.ToS+span:
			after = append(after, p)
		}
	}
	before, after = lastUnbroken(before, 6*tr.StepS), firstUnbroken(after, 6*tr.StepS)
	if len(before) < 3 || len(after) < 3 {
		z.Why = "too few points beside it to follow the slope"
		return
	}
	through, turned := misfit(before, after, -1), misfit(before, after, 1)
	far := 0.0
	for _, p := range append(slices.Clone(before), after...) {
		far = math.Max(far, math.Abs(p.Hz))
	}
	switch {
	case through < turned/3 && through < 0.1*far:
		z.Followed, z.Why = true, "the slope goes on through zero"
	case turned < through/3 && turned < 0.1*far:
		z.Turned, z.Why = true, "the slope turns round before zero"
	default:
		z.Why = "the slope before and after does not tell whether it went through"
	}
}

// lastUnbroken cuts points down to those after the last pause.
func lastUnbroken(p []TrackPoint, pause float64) []TrackPoint {
	for i := len(p) - 1; i > 0; i-- {
		if p[i].TimeS-p[i-1].TimeS > pause {
			return p[i:]
		}
	}
	return p
}

func firstUnbroken(p []TrackPoint, pause float64) []TrackPoint {
	for i := 1; i < len(p); i++ {
		if p[i].TimeS-p[i-1].TimeS > pause {
			return p[:i]
		}
	}
	return p
}

// misfit is the rms distance of the points, the later ones times sign, from
// their best parabola.
func misfit(before, after []TrackPoint, sign float64) float64 {
	mid := (before[len(before)-1].TimeS + after[0].TimeS) / 2
	scale := math.Max(mid-before[0].TimeS, after[len(after)-1].TimeS-mid)
	var info [6]float64
	var right [3]float64
	var yy, n float64
	take := func(p TrackPoint, y float64) {
		x := (p.TimeS - mid) / scale
		g := [3]float64{1, x, x * x}
		for i, v := range [6]float64{1, x, x * x, x * x, x * x * x, x * x * x * x} {
			info[i] += v
		}
		for i := range right {
			right[i] += g[i] * y
		}
		yy += y * y
		n++
	}
	for _, p := range before {
		take(p, math.Abs(p.Hz))
	}
	for _, p := range after {
		take(p, sign*math.Abs(p.Hz))
	}
	k, _ := solve3(info, right)
	return math.Sqrt(math.Max(0, yy-k[0]*right[0]-k[1]*right[1]-k[2]*right[2]) / n)
}
