package intake

import (
	"strconv"
	"strings"
)

func itoa(n int) string { return strconv.Itoa(n) }

// ColumnSpec is a column that the caller can use.
type ColumnSpec struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	// Units are the base units the column may be delivered in; the first is
	// taken where nothing is said. "Hz", "s", "°C", "V", "dBm" ...
	Units []string `json:"units"`
	// Bare is the unit of numbers without one, where it is not the first of
	// Units: "%" for what is kept as a fraction.
	Bare string `json:"bare,omitempty"`
	// Aliases are headings by which the column is known, in lower case, whole
	// headings or words of one.
	Aliases []string `json:"aliases,omitempty"`
	// Required columns are looked for by content where no heading names them.
	Required bool `json:"required,omitempty"`
	// Steady says that the values of a log stay near each other, so that a
	// jump by a thousand is another unit and not a reading.
	Steady bool `json:"steady,omitempty"`
}

// TimeColumn is the usual time column. A caller that wants it gets times from a
// time column, else from the number of the reading times the spacing.
func TimeColumn() ColumnSpec {
	return ColumnSpec{ID: RoleTime, Title: "time", Units: []string{"s"}, Required: true, Aliases: []string{
		"time", "t", "elapsed", "elapsed time", "timestamp", "time stamp", "date/time", "datetime", "date time", "clock",
		"uptime", "seconds", "minutes", "hours", "sec", "secs", "min", "mins", "utc", "gmt", "local time", "time of day",
		"zeit", "uhrzeit", "laufzeit", "zeitstempel", "temps", "heure", "durée", "tijd", "tiempo", "hora", "tempo", "ora",
		"tid", "čas", "aika", "idő", "czas", "время"}}
}

// FrequencyColumn is a steady frequency in Hz under the given id and title.
func FrequencyColumn(id, title string) ColumnSpec {
	return ColumnSpec{ID: id, Title: title, Units: []string{"Hz"}, Required: true, Steady: true, Aliases: []string{
		"frequency", "freq", "freq.", "f", "counter", "osc", "oscillator", "lo", "reading", "value", "frequenz", "messwert",
		"fréquence", "frequentie", "frecuencia", "frequenza", "frekvens", "taajuus", "frekvence", "częstotliwość", "частота"}}
}

// TemperatureColumn is a temperature in °C.
func TemperatureColumn(id, title string) ColumnSpec {
	return ColumnSpec{ID: id, Title: title, Units: []string{"°C"}, Aliases: []string{
		"temperature", "temp", "temp.", "ambient", "room", "ambient temperature", "room temperature", "shack",
		"temperatur", "umgebung", "raumtemperatur", "température", "temperatuur", "temperatura", "lämpötila", "teplota"}}
}

// VoltageColumn is a voltage in V known by the given headings.
func VoltageColumn(id, title string, aliases ...string) ColumnSpec {
	return ColumnSpec{ID: id, Title: title, Units: []string{"V"}, Aliases: aliases}
}

// indexAliases are headings of a column that only numbers the readings.
var indexAliases = []string{"no", "no.", "nr", "nr.", "#", "n", "index", "idx", "sample", "count", "line", "row", "number", "lfd", "lfd."}

// headerScore says how well a heading fits: 3 for a whole alias, 2 for a word
// of it, 0 for not at all.
func headerScore(heading string, aliases []string) int {
	best := 0
	for _, a := range aliases {
		switch {
		case heading == a:
			return 3
		case hasWord(heading, a):
			best = 2
		}
	}
	return best
}

// hasWord says that a stands in heading between characters that are no letters
// or digits.
func hasWord(heading, a string) bool {
	words := strings.FieldsFunc(heading, func(r rune) bool { return strings.ContainsRune(" _-/.,:;()[]", r) })
	for _, w := range words {
		if w == a {
			return true
		}
	}
	return len(a) > 3 && strings.Contains(a, " ") && strings.Contains(heading, a)
}
