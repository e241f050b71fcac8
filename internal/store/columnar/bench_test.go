package columnar

import "testing"

func BenchmarkEncode(b *testing.B) {
	log := counterLog(16384)
	b.SetBytes(16384 * 16)
	size := 0
	for b.Loop() {
		block, err := Encode(log)
		if err != nil {
			b.Fatal(err)
		}
		size = len(block)
	}
	b.ReportMetric(float64(size)/16384, "bytes/reading")
}

func BenchmarkDecode(b *testing.B) {
	block, err := Encode(counterLog(16384))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(16384 * 16)
	var columns []Column
	for b.Loop() {
		for i := range columns {
			columns[i].Values = columns[i].Values[:0]
		}
		if columns, err = AppendTo(columns, block); err != nil {
			b.Fatal(err)
		}
	}
}
