package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
)

// FileAnalysis is one file analysed without storing anything.
type FileAnalysis struct {
	File     string
	About    measure.About
	Layout   intake.Layout
	Report   *intake.Report
	Analysis measure.Analysis
	// Recordings are what was analysed in the place of a log.
	Recordings []run.Recording
}

// AnalyseFile analyses a log with one measurement. Nothing is stored. The
// source of uncertainty of the run is named by the file's digest, so that the
// same file given twice is known to be the same.
func (s *Shop) AnalyseFile(ctx context.Context, measurement string, src intake.Source, over intake.Override, options map[string]string, setup run.Setup, progress func(float64)) (FileAnalysis, error) {
	out := FileAnalysis{File: src.Name}
	m, err := s.Registry.Get(measurement)
	if err != nil {
		return out, err
	}
	out.About = m.About()
	if err := s.checkOptions(measurement, options); err != nil {
		return out, err
	}
	unchanged, err := src.Watch()
	if err != nil {
		return out, err
	}
	preview, err := s.Preview(measurement, src, over)
	if err != nil {
		return out, err
	}
	if err := usable(src.Name, preview); err != nil {
		return out, err
	}
	out.Layout = preview.Layout
	series, lines, report, err := readSeries(ctx, src, preview.Layout)
	out.Report = report
	if err == nil {
		err = allowed(report, src.Name)
	}
	if changed := unchanged(); changed != nil && ctx.Err() == nil {
		return out, changed // which explains whatever else was wrong
	}
	if err != nil {
		return out, err
	}
	id, err := digestOf(ctx, src)
	if err != nil {
		return out, err
	}
	if err := unchanged(); err != nil {
		return out, err
	}
	options, note := withPowerOn(options, preview, m.About())
	raw := measure.Raw{RunID: "file-" + id, Series: series, Options: options, Setup: setup, Notes: note}
	out.Analysis, err = s.analyse(ctx, m, raw, progress)
	return out, placed(err, src.Name, lines)
}

// readSeries reads a whole log.
func readSeries(ctx context.Context, src intake.Source, layout intake.Layout) (run.Series, []int, *intake.Report, error) {
	table, report, err := intake.ReadAll(ctx, src, layout)
	if err != nil {
		return run.Series{}, nil, report, err
	}
	var s run.Series
	if table.Time != nil {
		s.Columns = append(s.Columns, run.Column{Role: "time", Unit: "s", Values: table.Time, Resolution: report.TimeStep})
	}
	for _, c := range report.Columns {
		s.Columns = append(s.Columns, run.Column{Role: c.Role, Unit: c.BaseUnit, Values: table.Columns[c.Role], Resolution: c.Resolution})
	}
	return s, table.Lines, report, nil
}

// digestOf returns the first digits of the SHA-256 of a source.
func digestOf(ctx context.Context, src intake.Source) (string, error) {
	f, err := src.Open()
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, stoppable{ctx, f}); err != nil {
		return "", fmt.Errorf("%s: %w", src.Name, err)
	}
	return hex.EncodeToString(h.Sum(nil))[:16], nil
}

// stoppable is a reader that ends when the work is called off.
type stoppable struct {
	ctx context.Context
	io.Reader
}

func (s stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.Reader.Read(p)
}

// placed adds file and line to a measurement's refusal of a row.
func placed(err error, name string, lines []int) error {
	var r *measure.Refusal
	if !errors.As(err, &r) {
		return err
	}
	p := intake.Problem{File: filepath.Base(name), Found: r.Found, Expected: r.Expected, Advice: r.Advice}
	if r.Row >= 0 && r.Row < len(lines) {
		p.Line = lines[r.Row]
	}
	return &p
}
