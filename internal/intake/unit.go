package intake

import (
	"math"
	"strings"
	"sync"

	"setwright/quantity"
)

// unit converts a number typed in some unit to the base unit of its dimension:
// base = typed × 10^pow10 × mul + add. The power of ten stands apart because it
// is applied to decimal digits, exactly.
type unit struct {
	name  string
	base  string
	pow10 int
	mul   float64
	add   float64
}

// scale is the factor of the unit as one number.
func (u unit) scale() float64 { return u.mul * math.Pow10(u.pow10) }

// shown is the name as it was typed, with the letters in their usual case:
// "hz" is shown as Hz, "kc/s" as it is.
func (u unit) shown() string {
	if usual := loose[strings.ToLower(u.name)]; strings.EqualFold(usual, u.name) {
		return usual
	}
	return u.name
}

// exact says that only a power of ten lies between the unit and its base.
func (u unit) exact() bool { return u.mul == 1 && u.add == 0 }

// loose are spellings met in headings of logs and not among those that package
// quantity takes for a typed quantity: other languages, other case, meter
// language. Keys are in lower case. A heading "mhz" is megahertz: nobody logs a
// receiver in millihertz (common practice, no source).
var loose = map[string]string{
	"hz": "Hz", "khz": "kHz", "mhz": "MHz", "ghz": "GHz", "kc": "kHz", "kcs": "kHz", "kc/s": "kHz", "kcps": "kHz",
	"mc": "MHz", "mcs": "MHz", "mc/s": "MHz", "mcps": "MHz", "kilocycles": "kHz", "megacycles": "MHz", "kilohertz": "kHz",
	"megahertz": "MHz", "cycles/s": "Hz", "cycles/sec": "Hz",
	"sek": "s", "sekunden": "s", "sekunde": "s", "secondes": "s", "segundos": "s", "seconden": "s", "secondi": "s",
	"minuten": "min", "minutos": "min", "minuti": "min", "std": "h", "stunden": "h", "heures": "h", "horas": "h", "ore": "h", "uren": "h",
	"msec": "ms", "millisecond": "ms", "milliseconds": "ms", "sec": "s", "min": "min", "hr": "h", "'": "min", "′": "min",
	"v": "V", "vac": "V", "vdc": "V", "v ac": "V", "v dc": "V", "veff": "V", "vrms": "V", "v~": "V", "v=": "V", "mv": "mV", "kv": "kV", "uv": "µV",
	"deg c": "°C", "deg. c": "°C", "degc": "°C", "degrees c": "°C", "° c": "°C", "deg f": "°F", "degf": "°F", "deg. f": "°F", "° f": "°F",
	"dbm": "dBm", "db": "dB", "dbuv": "dBµV", "dbµv": "dBµV", "ma": "mA", "ua": "µA",
}

// byBase are spellings that mean something else where the dimension is known.
var byBase = map[string]map[string]string{
	"°C": {"F": "°F", "f": "°F", "c": "°C", "K": "K"},
	"s":  {"m": "min", "M": "min", "H": "h", "S": "s", "D": "d"},
}

// lookUpUnit finds a unit by name. base, where not empty, is the base unit that
// the place allows.
func lookUpUnit(name, base string) (unit, bool) {
	name = strings.Trim(name, " \t.\u00a0")
	if name == "" || len(name) > 24 {
		return unit{}, false
	}
	return unitCache.find(unitKey{name, base})
}

type unitKey struct{ name, base string }

// unitStore remembers what was looked up, found or not: a log asks for the same
// few names again and again.
type unitStore struct {
	mu    sync.Mutex
	known map[unitKey]unit // the zero unit: not found
}

var unitCache = unitStore{known: map[unitKey]unit{}}

func (s *unitStore) find(k unitKey) (unit, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	u, ok := s.known[k]
	if !ok {
		if len(s.known) > 2000 {
			clear(s.known)
		}
		u = findUnit(k)
		s.known[k] = u
	}
	return u, u.mul != 0
}

// findUnit asks the table of package quantity, then the looser spellings.
func findUnit(k unitKey) unit {
	symbols := []string{byBase[k.base][k.name], k.name, loose[strings.ToLower(k.name)]}
	for _, symbol := range symbols {
		if symbol == "" {
			continue
		}
		u, ok := fromTable(symbol, k.name)
		if ok && k.base == "°C" && u.base == "K" {
			u.base, u.add = "°C", -273.15
		}
		if ok && (k.base == "" || u.base == k.base) {
			return u
		}
	}
	return unit{}
}

// fromTable is the unit of a symbol in the table of package quantity.
func fromTable(symbol, name string) (unit, bool) {
	q, exp, err := quantity.LookupUnit(symbol)
	if err != nil {
		return unit{}, false
	}
	u := unit{name: name, base: baseSymbols()[q.Dimension], pow10: exp, mul: q.Factor, add: q.Offset}
	if n := math.Round(math.Log10(q.Factor)); math.Pow10(int(n)) == q.Factor {
		u.pow10, u.mul = u.pow10+int(n), 1
	}
	return u, true
}

// baseSymbols gives the base unit of each dimension: the first one listed.
var baseSymbols = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, symbol := range quantity.UnitSymbols() {
		q, _, err := quantity.LookupUnit(symbol)
		if err == nil && out[q.Dimension] == "" {
			out[q.Dimension] = symbol
		}
	}
	return out
})
