package stability

import "context"

// takeApart finds jumps and trend in turn, then smooths. Jumps are looked for in
// what ambient leaves, where its effect is known; the trend is of the readings.
func (a *Analysis) takeApart(ctx context.Context, s recSeries, resolution float64, fit Fitter) error {
	gaps := Gaps(s.t)
	find := a.findJumps
	if a.ambient != nil && a.ambient.effect != nil {
		find = a.findJumpsBesideAmbient
	}
	if err := find(ctx, s, gaps, resolution, fit); err != nil {
		return err
	}
	a.level(s.f)
	for _, g := range gaps {
		a.Gaps = append(a.Gaps, s.idx[g])
	}
	for i := range a.Jumps {
		a.Jumps[i].Index = s.idx[a.Jumps[i].at]
	}
	a.Breaks = jmpBreaks(gaps, a.Jumps)
	a.Smoothed = Smooth(s.t, s.f, a.Breaks, a.shortest())
	a.Smoothed.Index = s.idx
	return nil
}

// findJumps finds jumps and trend in turn.
func (a *Analysis) findJumps(ctx context.Context, s recSeries, gaps []int, resolution float64, fit Fitter) error {
	a.Jumps = FindJumps(s.t, s.f, gaps, nil, resolution)
	for a.Rounds = 1; fit != nil && a.Rounds <= 5; a.Rounds++ {
		a.level(s.f)
		trend, err := fit(ctx, s.t, a.LevelledHz)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			a.Trend, a.NoTrend = nil, err
			break
		}
		a.Trend = trend
		before := a.Jumps
		a.Jumps = FindJumps(s.t, s.f, gaps, trend, resolution)
		if jmpSame(before, a.Jumps) {
			break
		}
	}
	return nil
}

// level takes the jumps out of readings.
func (a *Analysis) level(readings []float64) {
	a.LevelledHz = jmpOffsets(a.Jumps, len(readings))
	for i, f := range readings {
		a.LevelledHz[i] += f
	}
}

// jmpSame says whether two lists have the same places.
func jmpSame(a, b []Jump) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].at != b[i].at {
			return false
		}
	}
	return true
}

// jmpBreaks merges gaps and jumps into one sorted list.
func jmpBreaks(gaps []int, jumps []Jump) []int {
	var out []int
	for i, j := 0, 0; i < len(gaps) || j < len(jumps); {
		switch {
		case j == len(jumps) || i < len(gaps) && gaps[i] < jumps[j].at:
			out = append(out, gaps[i])
			i++
		case i == len(gaps) || jumps[j].at < gaps[i]:
			out = append(out, jumps[j].at)
			j++
		default: // a jump across a gap
			i++
		}
	}
	return out
}
