package quantity

import "testing"

func BenchmarkParseAs(b *testing.B) {
	for _, text := range []string{"7065.123", "7.065123 MHz", "14m20s"} {
		unit := "Hz"
		if text == "14m20s" {
			unit = "s"
		}
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ParseAs(text, unit); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkFormat(b *testing.B) {
	v := uncertain(1260, 35)
	b.ReportAllocs()
	for b.Loop() {
		_ = Format(v, "s")
	}
}

func BenchmarkSub(b *testing.B) {
	var parts []Contribution
	for i, s := range benchSources {
		parts = append(parts, Contribution{s, float64(i + 1)})
	}
	v, w := New(1, parts...), New(2, parts...)
	b.ReportAllocs()
	for b.Loop() {
		_ = v.Sub(w)
	}
}
