package report

import (
	"time"

	"setwright/internal/chart"
	"setwright/internal/workshop"
	"setwright/quantity"
)

// Day writes a day: "3 February 2024".
func Day(t time.Time) string {
	if t.IsZero() {
		return "day unknown"
	}
	return t.Format("2 January 2006")
}

// Moment writes a day with its time: "3 February 2024, 07:40".
func Moment(t time.Time) string {
	if t.IsZero() {
		return "not known"
	}
	return t.Format("2 January 2006, 15:04")
}

// Count counts things: Count(3, "run", "runs") is "3 runs".
func Count(n int, one, many string) string {
	text := printer.Format(quantity.Exact(float64(n)), "1")
	if n == 1 {
		return text + " " + one
	}
	return text + " " + many
}

// Timeline draws the states of a set with their runs. now is the latest it can
// end at.
func Timeline(v workshop.SetView, now time.Time) chart.Timeline {
	tl := chart.Timeline{Title: "States of " + v.Set.Name, Until: v.TimelineEnd(now),
		Alt: Count(len(v.States), "state", "states") + " on a line of time, each run a dot; the list below says the same in words."}
	for _, st := range v.States {
		p := chart.Period{Label: st.State.Name, From: st.State.From, To: st.Until}
		for _, run := range st.Runs {
			if !run.Run.Started.IsZero() {
				p.Runs = append(p.Runs, run.Run.Started)
			}
		}
		tl.Items = append(tl.Items, p)
	}
	return tl
}
