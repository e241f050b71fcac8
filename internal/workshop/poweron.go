package workshop

import (
	"setwright/internal/intake"
	"setwright/internal/measure"
)

// withPowerOn fills in the moment of power-on where the log itself says it:
// elapsed times ("10 min: 7065.3") count from power-on, so it is their zero. A
// column of plain numbers is taken so where it begins within the first quarter
// of the time covered; a logger's running count begins later. For clock times
// and time stamps the first reading stays the default. The note says what was
// taken.
func withPowerOn(options map[string]string, preview *intake.Preview, about measure.About) (map[string]string, []string) {
	if !hasOption(about, "power_on") || options["power_on"] != "" || !countsFromPowerOn(preview) {
		return options, nil
	}
	out := make(map[string]string, len(options)+1)
	for k, v := range options {
		out[k] = v
	}
	out["power_on"] = "0 s"
	return out, []string{"times are taken as counted from power-on; --power-on says otherwise"}
}

// countsFromPowerOn says whether the zero of a log's times is power-on.
func countsFromPowerOn(p *intake.Preview) bool {
	column := p.Layout.Column(intake.RoleTime)
	if column == nil {
		return false
	}
	switch column.TimeForm.Value {
	case intake.TimeElapsed, intake.TimeElapsedHM:
		return true
	case intake.TimeNumber:
		first, last, ok := timeSpan(p)
		return ok && first >= 0 && first <= last/4
	}
	return false
}

// timeSpan returns the first and the last time that a preview shows.
func timeSpan(p *intake.Preview) (first, last float64, ok bool) {
	rows := append(append([]intake.PreviewRow(nil), p.Head...), p.Tail...)
	for _, row := range rows {
		if row.TimeS == nil {
			continue
		}
		if !ok {
			first, ok = *row.TimeS, true
		}
		last = *row.TimeS
	}
	return first, last, ok
}

func hasOption(about measure.About, name string) bool {
	for _, o := range about.Options {
		if o.Name == name {
			return true
		}
	}
	return false
}
