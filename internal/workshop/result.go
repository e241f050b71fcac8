package workshop

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/gob"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"setwright/internal/measure"
	"setwright/internal/run"
)

// Result returns a run with what its measurement makes of it, raw data with
// amendments applied, and with what follows from it and other runs of its state. Options in extra override the run's own for this look
// only; nothing is stored but the cache. progress may be nil.
func (s *Shop) Result(ctx context.Context, runID string, extra map[string]string, progress func(float64)) (Result, error) {
	res, err := s.own(ctx, runID, extra, progress)
	if err != nil {
		return res, err
	}
	return res, s.deriveAcross(ctx, &res)
}

// own is Result with the figures that follow from the run alone.
func (s *Shop) own(ctx context.Context, runID string, extra map[string]string, progress func(float64)) (Result, error) {
	res, digest, err := s.load(ctx, runID)
	if err != nil {
		return res, err
	}
	for k, v := range extra {
		res.Raw.Options[k] = v
	}
	m, err := s.Registry.Get(res.Run.Measurement)
	if err != nil {
		return res, fmt.Errorf("run %s: %w", runID, err)
	}
	key, err := cacheKey(res, digest)
	if err != nil {
		return res, err
	}
	if data, ok, err := s.Book.Figures(ctx, key); err == nil && ok {
		if a, err := decodeAnalysis(data); err == nil {
			res.Analysis = a
			return res, nil
		}
	}
	res.Analysis, err = s.analyse(ctx, m, res.Raw, progress)
	if err != nil {
		return res, fmt.Errorf("run %s: %w", runID, err)
	}
	if data, err := encodeAnalysis(res.Analysis); err == nil && !res.Run.Open {
		// The cache is a convenience: a book that cannot be written to just now
		// still answers.
		_ = s.Book.PutFigures(ctx, key, runID, res.About.Method, data)
	}
	return res, nil
}

// analyse runs a measurement and the derivations on its figures.
func (s *Shop) analyse(ctx context.Context, m measure.Measurement, raw measure.Raw, progress func(float64)) (measure.Analysis, error) {
	if len(raw.Recordings) > 0 {
		defer spareMemory()()
	}
	a, err := m.Analyse(ctx, raw, progress)
	if err != nil {
		return a, err
	}
	addSoundWarnings(&a, raw)
	a.Figures, err = s.Registry.Derive(a.Figures)
	return a, err
}

// load reads a run and everything that an analysis of it needs.
func (s *Shop) load(ctx context.Context, runID string) (Result, string, error) {
	var res Result
	var err error
	if res.Run, err = s.Book.Run(ctx, runID); err != nil {
		return res, "", err
	}
	if res.State, err = s.Book.State(ctx, res.Run.StateID); err != nil {
		return res, "", err
	}
	if res.Set, err = s.Book.Set(ctx, res.State.SetID); err != nil {
		return res, "", err
	}
	m, err := s.Registry.Get(res.Run.Measurement)
	if err != nil {
		return res, "", err
	}
	res.About = m.About()
	series, err := s.Book.Series(ctx, runID)
	if err != nil {
		return res, "", err
	}
	if res.Amendments, err = s.Book.Amendments(ctx, runID); err != nil {
		return res, "", err
	}
	digest, err := s.Book.SeriesDigest(ctx, runID)
	if err != nil {
		return res, "", err
	}
	seen := run.Apply(series, res.Run.Options, res.Amendments)
	res.Raw = measure.Raw{
		RunID: runID, Series: seen.Series, Rows: seen.Rows, Options: seen.Options,
		Setup: res.Run.Setup, Notes: seen.Notes, IFHz: res.Set.IFHz,
		Recordings: s.recordingsOf(run.ApplyToRecordings(res.Run.Recordings, res.Amendments)),
	}
	return res, digest, nil
}

// cacheKey is a digest of all that the figures depend on.
func cacheKey(res Result, seriesDigest string) (string, error) {
	data, err := json.Marshal(struct {
		Method, Series string
		Amendments     []run.Amendment
		Options        map[string]string
		Setup          run.Setup
		IFHz           float64
		Recordings     []run.Recording
	}{res.About.Method, seriesDigest, res.Amendments, res.Raw.Options, res.Raw.Setup, res.Raw.IFHz, res.Run.Recordings})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:]), nil
}

// cachedAnalysis is an analysis as the cache keeps it. Plots hold NaN, which
// JSON cannot, so they go as gob.
type cachedAnalysis struct {
	Sentences, Notes, Warnings []string
	Figures                    []run.Figure
	SetAside                   []byte
	Plots                      []byte
	Stretches                  []measure.Stretch
}

func encodeAnalysis(a measure.Analysis) ([]byte, error) {
	plots, err := toGob(a.Plots)
	if err != nil {
		return nil, err
	}
	aside, err := toGob(a.SetAside)
	if err != nil {
		return nil, err
	}
	return json.Marshal(cachedAnalysis{a.Sentences, a.Notes, a.Warnings, a.Figures, aside, plots, a.Stretches})
}

func decodeAnalysis(data []byte) (measure.Analysis, error) {
	var c cachedAnalysis
	if err := json.Unmarshal(data, &c); err != nil {
		return measure.Analysis{}, err
	}
	a := measure.Analysis{Sentences: c.Sentences, Notes: c.Notes, Warnings: c.Warnings, Figures: c.Figures, Stretches: c.Stretches}
	if err := gob.NewDecoder(bytes.NewReader(c.SetAside)).Decode(&a.SetAside); err != nil {
		return a, err
	}
	err := gob.NewDecoder(bytes.NewReader(c.Plots)).Decode(&a.Plots)
	return a, err
}

func toGob(v any) ([]byte, error) {
	var b bytes.Buffer
	err := gob.NewEncoder(&b).Encode(v)
	return b.Bytes(), err
}
