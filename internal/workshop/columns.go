package workshop

import (
	"slices"

	"setwright/internal/intake"
	"setwright/internal/measure"
	"setwright/internal/run"
)

// wantedColumns turns a measurement's columns into what an import looks for.
// The usual headings of other languages come with the import's own specs.
func wantedColumns(a measure.About) []intake.ColumnSpec {
	var out []intake.ColumnSpec
	for _, c := range a.Columns {
		var spec intake.ColumnSpec
		switch c.Unit {
		case "s":
			spec = intake.TimeColumn()
		case "Hz":
			spec = intake.FrequencyColumn(c.Role, c.Title)
		case "°C":
			spec = intake.TemperatureColumn(c.Role, c.Title)
		default:
			spec = intake.ColumnSpec{ID: c.Role, Title: c.Title}
		}
		spec.Units, spec.Bare = c.BaseUnits(), c.Bare
		// Frequencies that are set, not watched, go from end to end of a range.
		spec.Steady = spec.Steady && wantsTime(a)
		spec.Required = c.Required
		spec.Aliases = append(spec.Aliases, c.Aliases...)
		out = append(out, spec)
	}
	return out
}

// wantsTime says that a measurement is of something that goes with time.
func wantsTime(a measure.About) bool {
	return slices.ContainsFunc(a.Columns, func(c measure.ColumnSpec) bool { return c.Role == "time" && c.Required })
}

// seriesOf turns a batch of an import into a series. Values are copied: the
// batch is used again.
func seriesOf(b *intake.Batch, columns []intake.ColumnReport) run.Series {
	var s run.Series
	if b.Time != nil {
		s.Columns = append(s.Columns, run.Column{Role: "time", Unit: "s", Values: append([]float64(nil), b.Time...)})
	}
	for i, c := range columns {
		s.Columns = append(s.Columns, run.Column{
			Role: c.Role, Unit: c.BaseUnit, Values: append([]float64(nil), b.Columns[i]...), Resolution: c.Resolution,
		})
	}
	return s
}
