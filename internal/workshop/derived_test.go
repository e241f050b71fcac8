package workshop_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"setwright/internal/intake"
	"setwright/internal/receiver"
	"setwright/internal/run"
	"setwright/internal/workshop"
	"setwright/internal/workshop/shoptest"
)

// pairs are readings of a CW sensitivity run whose noise alone is 10 mV: the
// floor lies where the output rises by 3 dB, near -120 dBm.
const cwPairs = "input,output on,output off\n-130 dBm,0.0105,0.0100\n-120 dBm,0.0141,0.0100\n-110 dBm,0.0332,0.0100\n-100 dBm,0.1005,0.0100\n-125 dBm,0.0115,0.0100\n-115 dBm,0.0204,0.0100\n"

// stepped is the passband of one tuned circuit 3 kHz wide, by the level needed
// for one output.
func stepped() string {
	var b strings.Builder
	b.WriteString("offset (Hz),input (dBm)\n")
	for _, hz := range []float64{0, 300, 600, 1000, 1500, 2200, 3000, 4500, 7000, 11000, 20000, 40000, 90000, 200000} {
		for _, side := range []float64{-1, 1} {
			x := hz / 1500
			b.WriteString(strings.Join([]string{strconv.FormatFloat(side*hz, 'f', 0, 64), strconv.FormatFloat(-90+10*math.Log10(1+x*x), 'f', 2, 64)}, ",") + "\n")
			if hz == 0 {
				break
			}
		}
	}
	return b.String()
}

// A noise figure follows from the sensitivity of one run and the noise
// bandwidth of another of the same state, and both runs' own figures stay as
// they are; a run at another setting of the filter gives nothing to it.
func TestNoiseFigureFromTwoRuns(t *testing.T) {
	s := shoptest.New(t)
	ctx := t.Context()
	if _, err := s.AddSet(ctx, receiver.Set{Name: "Turnstone"}, shoptest.Now); err != nil {
		t.Fatal(err)
	}
	imported := func(measurement, data string, options map[string]string) string {
		t.Helper()
		got, err := s.Import(ctx, workshop.NewRun{State: "turnstone", Measurement: measurement, Options: options}, intake.BytesSource(measurement+".csv", []byte(data)), intake.Override{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return got.Run.ID
	}
	level := imported("sensitivity", cwPairs, map[string]string{"mode": "cw", "agc": "off", "dummy": "none", "filter": "wide"})
	before, err := s.Result(ctx, level, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if figure(before.Analysis.Figures, "noise_figure") != nil {
		t.Fatal("a noise figure without a noise bandwidth")
	}
	imported("selectivity", stepped(), map[string]string{"filter": "narrow", "agc": "off"})
	if r, _ := s.Result(ctx, level, nil, nil); figure(r.Analysis.Figures, "noise_figure") != nil {
		t.Error("the width of the narrow filter was taken for the wide one")
	}
	width := imported("selectivity", stepped(), map[string]string{"filter": "wide", "agc": "off"})
	after, err := s.Result(ctx, level, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	nf := figure(after.Analysis.Figures, "noise_figure")
	if nf == nil {
		t.Fatalf("no noise figure: %v", after.Analysis.Notes)
	}
	mds, bandwidth := figure(after.Analysis.Figures, "mds"), 1500*math.Pi
	// Twice the noise power: F = P / (k T0 B), with P in dBm behind 50 ohm EMF.
	dbm := 10*math.Log10(math.Pow(mds.Value.Estimate(), 2)/4/50) + 30
	if want := dbm + 173.975 - 10*math.Log10(bandwidth); math.Abs(nf.Value.Estimate()-want) > 0.15 {
		t.Errorf("noise figure %.2f dB, want %.2f", nf.Value.Estimate(), want)
	}
	if !slices.ContainsFunc(after.Analysis.Notes, func(n string) bool { return strings.Contains(n, "is taken from run "+width) }) {
		t.Errorf("the notes do not say where the bandwidth is from: %v", after.Analysis.Notes)
	}
	if len(before.Analysis.Figures) >= len(after.Analysis.Figures) {
		t.Error("figures of the run itself were lost")
	}
}

func figure(all []run.Figure, id string) *run.Figure {
	for i := range all {
		if all[i].ID == id {
			return &all[i]
		}
	}
	return nil
}
