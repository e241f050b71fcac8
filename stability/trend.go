package stability

import "context"

// ShortestTimeConstant is that of the fastest exponential, infinite without
// any: with it a WarmUp is a [Trend].
func (w WarmUp) ShortestTimeConstant() float64 { return w.ShortestTau() }

// ResidualNoise is the noise left by the fit; [Analyse] draws from it.
func (w WarmUp) ResidualNoise() Noise { return w.Noise }

// FitTrend is the [Fitter] of the drift measurement: [FitWarmUp] with its
// standing options. The Trend it returns is a [WarmUp].
func FitTrend(ctx context.Context, t, f []float64) (Trend, error) {
	w, err := FitWarmUp(ctx, t, f, WarmUpOptions{})
	if err != nil {
		return nil, err
	}
	return w, nil
}
