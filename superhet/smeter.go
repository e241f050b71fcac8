package superhet

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A signal meter by IARU Region 1 Technical Recommendation R.1: S9 is −73 dBm
// below 30 MHz and −93 dBm above (30 to 144 MHz is left open by a text of 1990
// and is "above" in a later edition of the handbook), a unit is 6 dB, and above
// S9 one reads decibels.
const (
	sNineDBm     = -73.0
	sNineHighDBm = -93.0
	sUnitDB      = 6.0
	sMeterSplit  = 30e6
)

func sNine(hz float64) float64 {
	if hz > sMeterSplit {
		return sNineHighDBm
	}
	return sNineDBm
}

// SMeter returns the reading of a standard signal meter at a level in dBm and a
// frequency in hertz, to the nearest unit, and to the nearest dB above S9:
// "S7", "S9", "S9+13 dB"; "below S1" under −121 dBm by half a unit.
func SMeter(dbm, hz float64) string {
	above := dbm - sNine(hz)
	if math.IsNaN(above) {
		return ""
	}
	if over := math.Round(above); over > 0 {
		return fmt.Sprintf("S9+%.0f dB", over)
	}
	unit := math.Round(9 + above/sUnitDB)
	if unit < 1 {
		return "below S1"
	}
	return fmt.Sprintf("S%.0f", math.Min(unit, 9))
}

// SMeterLevel returns the level in dBm of a reading of a standard signal meter:
// "S7", "S9+20", "S9 + 20 dB".
func SMeterLevel(reading string, hz float64) (float64, error) {
	text := strings.ToUpper(strings.ReplaceAll(reading, " ", ""))
	unit, over, plus := strings.Cut(strings.TrimSuffix(text, "DB"), "+")
	n, err := strconv.Atoi(strings.TrimPrefix(unit, "S"))
	if err != nil || !strings.HasPrefix(unit, "S") || n < 1 || n > 9 || plus && n != 9 {
		return math.NaN(), fmt.Errorf("found %q, expected S1 to S9, or decibels over S9 such as S9+20", reading)
	}
	level := sNine(hz) + sUnitDB*float64(n-9)
	if !plus {
		return level, nil
	}
	db, err := strconv.ParseFloat(over, 64)
	if err != nil || !(db >= 0 && db < 200) {
		return math.NaN(), fmt.Errorf("found %q, expected decibels over S9 such as S9+20", reading)
	}
	return level + db, nil
}
