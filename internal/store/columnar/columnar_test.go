package columnar

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// same says whether two columns are equal bit for bit, NaN payloads included.
func same(a, b Column) bool {
	if len(a.Values) != len(b.Values) || (a.Text == nil) != (b.Text == nil) {
		return false
	}
	for i := range a.Values {
		if math.Float64bits(a.Values[i]) != math.Float64bits(b.Values[i]) {
			return false
		}
		if a.Text != nil && a.Text[i] != b.Text[i] {
			return false
		}
	}
	return true
}

func roundTrip(t interface{ Fatalf(string, ...any) }, columns []Column) int {
	block, err := Encode(columns)
	if err != nil {
		t.Fatalf("encode: %v", err)
	}
	got, err := Decode(block)
	if err != nil {
		t.Fatalf("decode: %v", err)
	}
	if len(got) != len(columns) {
		t.Fatalf("%d columns came back, expected %d", len(got), len(columns))
	}
	for i := range columns {
		if len(columns[i].Values) == 0 {
			columns[i].Text = nil
		}
		if !same(got[i], columns[i]) {
			t.Fatalf("column %d came back as %v, expected %v", i, got[i], columns[i])
		}
	}
	return len(block)
}

// counterLog is what a counter writes: even times, a frequency of 10 MHz with
// six decimals, drifting and noisy. The noise is simulated from a seed.
func counterLog(n int) []Column {
	r := rand.New(rand.NewPCG(1, 2))
	time, freq := make([]float64, n), make([]float64, n)
	for i := range n {
		time[i] = float64(i)
		freq[i] = math.Round((1e7+40*math.Exp(-float64(i)/9000)+0.01*r.NormFloat64())*1e6) / 1e6
	}
	return []Column{{Values: time}, {Values: freq}}
}

func TestCounterLogIsSmallAndExact(t *testing.T) {
	const n = 16384
	size := roundTrip(t, counterLog(n))
	if perRow := float64(size) / n; perRow > 3 {
		t.Errorf("%.2f bytes a reading, expected at most 3", perRow)
	}
}

func TestTypicalColumns(t *testing.T) {
	nan := math.NaN()
	tenths := make([]float64, 1000) // 0.1·i, not the nearest double to a decimal
	sparse := make([]float64, 1000) // ambient read once a minute in a log of seconds
	for i := range tenths {
		tenths[i] = 0.1 * float64(i)
		sparse[i] = nan
		if i%60 == 0 {
			sparse[i] = 21.3 + float64(i/60)/10
		}
	}
	cases := []struct {
		name   string
		values []float64
		most   int // bytes
	}{
		{"nothing", nil, 32},
		{"one reading", []float64{7065312.4}, 32},
		{"even times", counterLog(1000)[0].Values, 48},
		{"times by multiplying", tenths, 625},
		{"mostly missing", sparse, 400},
		{"one odd value among decimals", append([]float64{math.Pi}, counterLog(64)[1].Values...), 300},
		{"places that grow", []float64{1, 1.5, 1.25, 1.125, 1e-6, 2}, 48},
		{"too large for places", []float64{1e15, 0.5, 123456789012345.6, 1e22}, 80},
		{"specials", []float64{0, math.Copysign(0, -1), nan, math.Float64frombits(0xfff8000000000123), math.Inf(1), math.Inf(-1), 5e-324, math.MaxFloat64, -math.MaxFloat64, -5e-324}, 160},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if size := roundTrip(t, []Column{{Values: c.values}}); size > c.most {
				t.Errorf("%d bytes, expected at most %d", size, c.most)
			}
		})
	}
}

// anyFloat draws what instruments and accidents give: decimals, whole numbers,
// any bit pattern (NaN payloads, denormals, infinities, negative zero).
func anyFloat() *rapid.Generator[float64] {
	return rapid.OneOf(
		rapid.Map(rapid.Int64Range(-1e12, 1e12), func(m int64) float64 { return float64(m) / 1e6 }),
		rapid.Map(rapid.Int64(), func(m int64) float64 { return float64(m) }),
		rapid.Map(rapid.Uint64(), math.Float64frombits),
		rapid.SampledFrom([]float64{0, math.Copysign(0, -1), math.NaN(), math.Inf(1), math.Inf(-1), 5e-324}),
	)
}

func TestEveryBitComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.IntRange(0, 300).Draw(t, "rows")
		columns := make([]Column, rapid.IntRange(1, 4).Draw(t, "columns"))
		for i := range columns {
			kind := anyFloat()
			if rapid.Bool().Draw(t, "one kind") {
				kind = rapid.Map(rapid.Int64Range(-1e9, 1e9), func(m int64) float64 { return float64(m) / 100 })
			}
			columns[i].Values = rapid.SliceOfN(kind, rows, rows).Draw(t, "values")
			if rows > 0 && rapid.Bool().Draw(t, "with text") {
				columns[i].Text = rapid.SliceOfN(rapid.String(), rows, rows).Draw(t, "text")
			}
		}
		roundTrip(t, columns)
	})
}

func TestAppendToMixesTextAndNone(t *testing.T) {
	typed, _ := Encode([]Column{{Values: []float64{1, 2}, Text: []string{"1", "2.0"}}})
	wired, _ := Encode([]Column{{Values: []float64{3}}})
	var got []Column
	for _, block := range [][]byte{wired, typed, wired} {
		var err error
		if got, err = AppendTo(got, block); err != nil {
			t.Fatal(err)
		}
	}
	want := Column{Values: []float64{3, 1, 2, 3}, Text: []string{"", "1", "2.0", ""}}
	if !same(got[0], want) {
		t.Errorf("got %v, expected %v", got[0], want)
	}
}

func TestEncodeRefuses(t *testing.T) {
	cases := map[string][]Column{
		"no column":       nil,
		"too many":        make([]Column, MaxColumns+1),
		"unequal":         {{Values: []float64{1}}, {Values: []float64{1, 2}}},
		"unequal text":    {{Values: []float64{1, 2}, Text: []string{"1"}}},
		"more than fits":  {{Values: make([]float64, MaxRows+1)}},
		"text that large": {{Values: []float64{1}, Text: []string{string(make([]byte, maxText+1))}}},
	}
	for name, columns := range cases {
		if _, err := Encode(columns); err == nil {
			t.Errorf("%s: stored, expected an error", name)
		}
	}
}

// TestEveryDamageIsSeen flips each bit of a block in turn.
func TestEveryDamageIsSeen(t *testing.T) {
	block, err := Encode(counterLog(200))
	if err != nil {
		t.Fatal(err)
	}
	for i := range len(block) * 8 {
		bad := append([]byte(nil), block...)
		bad[i/8] ^= 1 << (i % 8)
		if _, err := Decode(bad); !errors.Is(err, ErrDamaged) {
			t.Fatalf("bit %d turned over: %v, expected ErrDamaged", i, err)
		}
	}
	for n := range block {
		if _, err := Decode(block[:n]); !errors.Is(err, ErrDamaged) {
			t.Fatalf("cut to %d bytes: %v, expected ErrDamaged", n, err)
		}
	}
}
