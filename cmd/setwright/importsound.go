package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/workshop"
)

// importGiven stores logs and recordings as runs.
func importGiven(cmd *cobra.Command, shop *workshop.Shop, n workshop.NewRun, about measure.About, files []givenFile, o intake.Override) error {
	var logs []intake.Source
	for _, f := range files {
		if !f.recorded {
			logs = append(logs, f.Source)
		}
	}
	if err := importFiles(cmd, shop, n, logs, o); err != nil {
		return err
	}
	for _, group := range soundRuns(about, files) {
		if err := importSound(cmd, shop, n, group); err != nil {
			return err
		}
	}
	return nil
}

// importSound stores recordings as one run and says what was stored.
func importSound(cmd *cobra.Command, shop *workshop.Shop, n workshop.NewRun, files []workshop.SoundFile) error {
	bar := newProgress(cmd.ErrOrStderr(), "importing")
	made, err := shop.ImportSound(cmd.Context(), n, files, bar.set)
	bar.done()
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	for _, rec := range made.Recordings {
		fmt.Fprintf(w, "%s: %s, is in the book as run %s.\n", workshop.RecordingTitle(rec), workshop.RecordingForm(rec), made.ID)
		printList(w, "About the recording", workshop.RecordingWarnings(rec))
	}
	return nil
}
