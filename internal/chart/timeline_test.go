package chart

import (
	"testing"
	"time"
)

func TestTimelineShowsStatesAndRuns(t *testing.T) {
	tl := history()
	p := LayoutTimeline(tl, Wide)
	if got := textsOf(p, "name"); len(got) != 3 || got[0] != "as found" {
		t.Errorf("names %q", got)
	}
	dots, _ := count1(p, "dot")
	rings, _ := count1(p, "ring")
	if dots != 4+2 || rings != 3 {
		t.Errorf("%d dots and %d diamonds", dots, rings)
	}
	var bars []Item
	for _, it := range p.Items {
		if it.Class == "state" {
			bars = append(bars, it)
		}
	}
	if len(bars) != 3 || len(bars[0].Paths[0]) != 4 || len(bars[2].Paths[0]) != 5 {
		t.Errorf("bars %v: the last state is still so and must end in a point", bars)
	}
	if a, b := bars[0].Paths[0][1].X, bars[1].Paths[0][0].X; a != b {
		t.Errorf("one state ends at %v, the next begins at %v", a, b)
	}
}

func TestTimelineOfOneMoment(t *testing.T) {
	at := time.Date(2024, 3, 4, 10, 0, 0, 0, time.UTC)
	for _, tl := range []Timeline{{}, {Until: at}, {Items: []Period{{Label: "as found", From: at, To: at, Runs: []time.Time{at}}}}, {Items: []Period{{Label: "unknown beginning"}}, Until: at}} {
		for _, size := range []Size{Wide, Narrow} {
			if f := faults(LayoutTimeline(tl, size)); f != nil {
				t.Errorf("%+v: %v", tl, f)
			}
		}
	}
}
