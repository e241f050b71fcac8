package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
	"setwright/internal/workshop"
)

// analysing is what "analyse" does with each of its files.
type analysing struct {
	cmd     *cobra.Command
	shop    *workshop.Shop
	about   measure.About
	over    intake.Override
	options map[string]string
	setup   run.Setup
}

// all analyses the files: each log is a run, and so is each recording, or the
// recordings together where the measurement takes many.
func (w analysing) all(files []givenFile) ([]workshop.FileAnalysis, error) {
	var out []workshop.FileAnalysis
	add := func(a workshop.FileAnalysis, err error) error {
		out = append(out, a)
		return err
	}
	for _, f := range files {
		if f.recorded {
			continue
		}
		if err := add(w.log(f.Source)); err != nil {
			return nil, err
		}
	}
	for _, group := range soundRuns(w.about, files) {
		if err := add(w.sound(group)); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (w analysing) log(src intake.Source) (workshop.FileAnalysis, error) {
	bar := newProgress(w.cmd.ErrOrStderr(), filepath.Base(src.Name))
	defer bar.done()
	return w.shop.AnalyseFile(w.cmd.Context(), w.about.ID, src, w.over, w.options, w.setup, bar.set)
}

func (w analysing) sound(files []workshop.SoundFile) (workshop.FileAnalysis, error) {
	bar := newProgress(w.cmd.ErrOrStderr(), filepath.Base(files[0].Name))
	defer bar.done()
	return w.shop.AnalyseSound(w.cmd.Context(), w.about.ID, files, w.options, w.setup, bar.set)
}

// benchSetup looks instruments up on the bench of the book; without any no book
// is opened.
func benchSetup(cmd *cobra.Command, ids []string) (setup run.Setup, err error) {
	if len(ids) == 0 {
		return setup, nil
	}
	err = withShop(cmd, false, func(shop *workshop.Shop) error {
		setup.Instruments, err = shop.BenchInstruments(cmd.Context(), ids)
		return err
	})
	return setup, err
}
