package judge

import "testing"

func BenchmarkCompare(b *testing.B) {
	x, y := plain("a", 1200, 1250, 1230, 1180), plain("b", 1150, 1120, 1190, 1160)
	b.ReportAllocs()
	for b.Loop() {
		Compare(x, y, settling, quick)
	}
}

// With how many more runs are needed, where that has to be searched for.
func BenchmarkCompareAndNeeded(b *testing.B) {
	x, y := plain("a", 1200, 1250, 1230, 1180), plain("b", 1190, 1160, 1230, 1200)
	for b.Loop() {
		Compare(x, y, settling, Options{})
	}
}

// Six runs a side known only between two glances at a clock: 4096 corners.
func BenchmarkCompareIntervals(b *testing.B) {
	x := outcomes("a", between(40, 44), between(41, 45), between(40, 46), between(42, 44), between(39, 44), between(40, 43))
	y := outcomes("b", between(30, 34), between(31, 35), between(30, 36), between(32, 34), between(29, 34), between(30, 33))
	for b.Loop() {
		Compare(x, y, settling, quick)
	}
}

func BenchmarkMakePlan(b *testing.B) {
	in := thirdPlan()
	for b.Loop() {
		if _, err := MakePlan(in); err != nil {
			b.Fatal(err)
		}
	}
}
