package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/quantity"
	"setwright/signal"
)

// showListening shows on a terminal how the listening stands, and returns what
// ends that.
func showListening(w io.Writer, l *workshop.Listening) (done func()) {
	if !isTerminal(w) {
		return func() {}
	}
	seen, stop := l.Subscribe()
	over := make(chan struct{})
	go func() {
		defer close(over)
		width, told := 0, 0
		for s := range seen {
			for _, n := range s.Capture.Notes[min(told, len(s.Capture.Notes)):] {
				fmt.Fprintf(w, "\r%s\r%s\n", strings.Repeat(" ", width), n)
			}
			told = len(s.Capture.Notes)
			line := statusLine(s)
			width = max(width, len([]rune(line)))
			fmt.Fprintf(w, "\r%-*s", width, line)
		}
		fmt.Fprintf(w, "\r%s\r", strings.Repeat(" ", width))
	}()
	return func() { stop(); <-over }
}

func isTerminal(w any) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// statusLine is one line: time, level with a bar, tone, what failed.
func statusLine(s workshop.ListeningStatus) string {
	parts := []string{moment(s.ElapsedS), levelBar(s.Level.RMSdBFS, s.Level.HoldDBFS), levelText(s.Level.RMSdBFS)}
	if s.Tone != nil {
		parts = append(parts, toneText(*s.Tone))
	}
	if s.Level.Clipped > 0 {
		parts = append(parts, "CLIPPED")
	}
	if n := len(s.Capture.Gaps); n > 0 {
		parts = append(parts, countOf(n, "gap"))
	}
	if n := len(s.Marks); n > 0 {
		parts = append(parts, countOf(n, "mark"))
	}
	return strings.Join(append(parts, "[space marks, q stops]"), "  ")
}

func moment(seconds float64) string {
	return fmt.Sprintf("%d:%04.1f", int(seconds)/60, seconds-60*float64(int(seconds)/60))
}

// levelBar draws −60 to 0 dB of full scale in thirty places, the peak held as a
// line.
func levelBar(rms, hold float64) string {
	const places = 30
	at := func(db float64) int { return min(max(int((db+60)/60*places), 0), places) }
	bar := []rune(strings.Repeat("#", at(rms)) + strings.Repeat(" ", places-at(rms)))
	if p := at(hold); p > 0 {
		bar[p-1] = '|'
	}
	return "[" + string(bar) + "]"
}

func levelText(db float64) string {
	if db <= -199 {
		return "silent"
	}
	return strings.Replace(fmt.Sprintf("%5.1f dBFS", db), "-", "−", 1)
}

// toneText is a frequency with its uncertainty.
func toneText(t workshop.LiveToneReading) string {
	v := quantity.New(t.Hz, quantity.Contribution{Source: quantity.RunSource("live", "tone").Source("noise and sample rate", 0), C: t.U})
	return "tone " + printer.Format(v, "Hz")
}

func countOf(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// shownGaps is how many gaps are listed on a terminal; all are kept.
const shownGaps = 10

// printListened says what was recorded and how whole it is.
func printListened(w io.Writer, file string, got workshop.Listened, s workshop.ListeningStatus) {
	rec := got.Recording
	length := lengthText(float64(rec.Frames) / rec.RateHz)
	if file != "" {
		fmt.Fprintf(w, "%s of sound are in %s.\n", length, file)
	} else {
		fmt.Fprintf(w, "%s of sound (%s) are in the book as recording %d of run %s.\n", length, rec.Role, len(got.Run.Recordings), got.Run.ID)
	}
	fmt.Fprintf(w, "%.0f Hz, %s, by %s", rec.RateHz, countOf(rec.Channels, "channel"), rec.Capture.Path)
	if d := rec.Capture.Device; d != "" {
		fmt.Fprintf(w, " from %s", d)
	}
	fmt.Fprintf(w, "; last level %s, peak %s\n", strings.TrimSpace(levelText(s.Level.RMSdBFS)), strings.TrimSpace(levelText(s.Level.HoldDBFS)))
	if s.Level.Clipped > 0 {
		fmt.Fprintf(w, "%d samples stand at full scale: turn the level down and record again.\n", s.Level.Clipped)
	}
	for _, m := range rec.Marks {
		fmt.Fprintf(w, "  mark at %s  %s\n", moment(float64(m.Frame)/rec.RateHz), m.Text)
	}
	if rec.Capture.Whole() {
		fmt.Fprintln(w, "No sample is known to be missing or false.")
	} else {
		printGaps(w, rec)
	}
	printList(w, "About the recording", rec.Capture.Notes)
}

// printGaps lists the places that are not whole.
func printGaps(w io.Writer, rec run.Recording) {
	gaps := rec.Capture.Gaps
	verb := "places are"
	if len(gaps) == 1 {
		verb = "place is"
	}
	fmt.Fprintf(w, "%d %s not whole; figures take the stretches between:\n", len(gaps), verb)
	for _, g := range gaps[:min(len(gaps), shownGaps)] {
		fmt.Fprintf(w, "  at %s  %s\n", moment(float64(g.Frame)/rec.RateHz), gapText(g, rec.RateHz))
	}
	if len(gaps) > shownGaps {
		fmt.Fprintf(w, "  and %d more\n", len(gaps)-shownGaps)
	}
}

// gapText says what is wrong at a place.
func gapText(g signal.Gap, rate float64) string {
	text := cmp.Or(g.Why, "samples lost")
	if g.Frames > 0 {
		text += fmt.Sprintf(", %.1f ms", 1e3*float64(g.Frames)/rate)
	}
	if g.LostS > 0 {
		text += fmt.Sprintf(", %.0f ms lost", 1e3*g.LostS)
	}
	return text
}

func lengthText(seconds float64) string {
	if seconds < 90 {
		return fmt.Sprintf("%.1f s", seconds)
	}
	return time.Duration(seconds * float64(time.Second)).Round(time.Second).String()
}

// printListenedJSON prints the run and the recording as the book has them.
func printListenedJSON(w io.Writer, got workshop.Listened) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(struct {
		RunID     string        `json:"run_id,omitempty"`
		Recording run.Recording `json:"recording"`
	}{got.Run.ID, got.Recording})
}

// sayUnfinished reminds of recordings that wait to be finished.
func sayUnfinished(cmd *cobra.Command, shop *workshop.Shop) {
	waiting, err := shop.UnfinishedListenings(cmd.Context(), false)
	if err == nil && len(waiting) > 0 {
		fmt.Fprintf(cmd.ErrOrStderr(), "setwright: %s left unfinished by a program that ended; store what there is with: setwright bench recover\n", countOf(len(waiting), "recording"))
	}
}

func newBenchRecover() *cobra.Command {
	var list, discard bool
	cmd := &cobra.Command{
		Use: "recover [ID...]", Short: "Store recordings that a program left unfinished when it ended",
		Long: "Without an ID all are stored. Each goes to the run it was meant for, marked as cut.",
	}
	cmd.Flags().BoolVar(&list, "list", false, "list them, change nothing")
	cmd.Flags().BoolVar(&discard, "discard", false, "delete those named instead of storing them")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if discard && len(args) == 0 {
			return usagef("bench recover: name the recordings to be deleted")
		}
		return withShop(cmd, false, func(shop *workshop.Shop) error {
			waiting, err := shop.UnfinishedListenings(cmd.Context(), list)
			if err != nil {
				return err
			}
			if list {
				printUnfinished(cmd.OutOrStdout(), waiting)
				return nil
			}
			if len(args) == 0 {
				for _, u := range waiting {
					args = append(args, u.ID)
				}
			}
			if len(args) == 0 {
				fmt.Fprintln(cmd.OutOrStdout(), "No recording waits to be finished.")
			}
			return recoverAll(cmd, shop, args, discard)
		})
	}
	return cmd
}

func recoverAll(cmd *cobra.Command, shop *workshop.Shop, ids []string, discard bool) error {
	for _, id := range ids {
		if discard {
			if err := shop.DiscardUnfinished(cmd.Context(), id); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "Recording %s is deleted.\n", id)
			continue
		}
		got, err := shop.Recover(cmd.Context(), id)
		if err != nil {
			return err
		}
		fmt.Fprintf(cmd.OutOrStdout(), "%s of sound (%s) are in the book as recording %d of run %s; less than a second of the end can be missing.\n",
			lengthText(float64(got.Recording.Frames)/got.Recording.RateHz), got.Recording.Role, len(got.Run.Recordings), got.Run.ID)
	}
	return nil
}

func printUnfinished(w io.Writer, all []workshop.UnfinishedListening) {
	if len(all) == 0 {
		fmt.Fprintln(w, "No recording waits to be finished.")
		return
	}
	rows := [][]string{{"recording", "begun", "length", "for run", "of", ""}}
	for _, u := range all {
		what := "waits to be recovered"
		if u.Living {
			what = "is being made"
		}
		rows = append(rows, []string{u.ID, u.Began.Local().Format("2006-01-02 15:04"), lengthText(u.Seconds), u.Run.ID, filepath.Base(u.Recording.Name), what})
	}
	printTable(w, rows)
}
