package store

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// BenchmarkAddRun stores 10^5 readings in one go.
func BenchmarkAddRun(b *testing.B) {
	book := newBook(b)
	furnish(b, book)
	s := longLog(100000)
	n := 0
	for b.Loop() {
		n++
		must(b, book.AddRun(ctx, driftRun(fmt.Sprint("r", n)), s))
	}
	must(b, book.Close())
	info, err := os.Stat(filepath.Join(book.Dir(), dbName))
	must(b, err)
	b.ReportMetric(float64(info.Size())/float64(n*s.Len()), "bytes/reading")
}

// BenchmarkAppendReadings stores one reading durably.
func BenchmarkAppendReadings(b *testing.B) {
	book := newBook(b)
	furnish(b, book)
	must(b, book.OpenRun(ctx, driftRun("r")))
	s := part(longLog(1), 0, 1)
	for b.Loop() {
		must(b, book.AppendReadings(ctx, "r", s))
	}
}

// BenchmarkSeries reads 10^5 readings.
func BenchmarkSeries(b *testing.B) {
	book := newBook(b)
	furnish(b, book)
	must(b, book.AddRun(ctx, driftRun("r"), longLog(100000)))
	b.SetBytes(16 * 100000)
	for b.Loop() {
		if _, err := book.Series(ctx, "r"); err != nil {
			b.Fatal(err)
		}
	}
}
