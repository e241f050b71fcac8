package stability

import (
	"errors"
	"math"
	"testing"
)

func TestRecordSaysWhatIsWrong(t *testing.T) {
	nan := math.NaN()
	var backwards *TimeBackwardsError
	_, err := Record{TimeS: []float64{0, 10, 5}, FrequencyHz: []float64{1, 2, 3}}.Check()
	if !errors.As(err, &backwards) || backwards.Index != 2 {
		t.Errorf("time backwards: %v", err)
	}
	var few *TooFewReadingsError
	_, err = Record{TimeS: []float64{0, 10, 20}, FrequencyHz: []float64{1, nan, nan}}.Check()
	if !errors.As(err, &few) || few.Found != 1 {
		t.Errorf("one reading: %v", err)
	}
	var bad *BadReadingError
	_, err = Record{TimeS: []float64{0, 10}, FrequencyHz: []float64{1, math.Inf(1)}}.Check()
	if !errors.As(err, &bad) || bad.Index != 1 || bad.Column != "frequency" {
		t.Errorf("infinite reading: %v", err)
	}
	_, err = Record{TimeS: []float64{0, nan}, FrequencyHz: []float64{1, 2}}.Check()
	if !errors.As(err, &bad) || bad.Column != "time" {
		t.Errorf("missing time: %v", err)
	}
	var unequal *UnequalColumnsError
	_, err = Record{TimeS: []float64{0, 1}, FrequencyHz: []float64{1}}.Check()
	if !errors.As(err, &unequal) {
		t.Errorf("unequal columns: %v", err)
	}
	if _, err = (Record{}).Check(); !errors.As(err, &few) {
		t.Errorf("empty record: %v", err)
	}
}

func TestOddThingsAreWarnedOf(t *testing.T) {
	r := Record{TimeS: []float64{0, 5, 5, 10, 15}, FrequencyHz: []float64{1, 2, 3, math.NaN(), 5}, FirstReadingAfterS: -5}
	w, err := r.Check()
	if err != nil || len(w) != 3 {
		t.Fatalf("warnings %+v, error %v", w, err)
	}
	if w[0].Indices[0] != 2 || w[1].Indices[0] != 3 || w[2].Indices[0] != 0 {
		t.Errorf("warnings %+v", w)
	}
	near(t, "end", r.EndS(), 10, 0)
}

func TestGaps(t *testing.T) {
	got := Gaps([]float64{0, 10, 20, 20, 30, 60, 70, 101})
	if len(got) != 1 || got[0] != 7 { // 30 s is three spacings, 31 s is more
		t.Errorf("gaps %v", got)
	}
}

func TestResolutionOfReadingsAsWritten(t *testing.T) {
	for _, row := range []struct {
		f    []float64
		want float64
	}{
		{[]float64{7065300, 7064800}, 100},
		{[]float64{7065312.1, 7065312.2}, 0.1},
		{[]float64{455000.123456, 455000.1}, 1e-6},
		{[]float64{math.Pi * 1e6, math.E * 1e6}, 0},
	} {
		near(t, "resolution", recResolution(row.f), row.want, row.want*1e-12)
	}
}
