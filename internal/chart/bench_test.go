package chart

import (
	"io"
	"testing"

	"setwright/internal/measure"
)

func BenchmarkLayout(b *testing.B) {
	p := warmUp()
	for b.Loop() {
		Layout(p, Wide)
	}
}

func BenchmarkSVGOfAMillion(b *testing.B) {
	p := longRecord(1_000_000)
	for b.Loop() {
		if err := WriteSVG(io.Discard, Layout(p, Wide)); err != nil {
			b.Fatal(err)
		}
	}
}

func benchmarkFile(b *testing.B, format string) {
	plots := []measure.Plot{warmUp(), residuals(), allan()}
	for b.Loop() {
		if err := File(plots, format, io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFileSVG(b *testing.B) { benchmarkFile(b, "svg") }
func BenchmarkFilePNG(b *testing.B) { benchmarkFile(b, "png") }
func BenchmarkFilePDF(b *testing.B) { benchmarkFile(b, "pdf") }
