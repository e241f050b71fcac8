package workshop

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"time"

	"setwright/internal/measure"
	"setwright/internal/receiver"
	"setwright/quantity"
)

// ParseAmount reads the amount of a claim as people type it: "1/3" and "33 %"
// are shares of the value before, "500 Hz" an amount in the figure's unit.
// Empty is no amount: only a direction is claimed.
func ParseAmount(text, unit string) (amount float64, relative bool, err error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return 0, false, nil
	case strings.Contains(text, "/") && strings.Trim(text, "0123456789/ ") == "":
		r, ok := new(big.Rat).SetString(strings.ReplaceAll(text, " ", ""))
		if !ok {
			return 0, false, fmt.Errorf("amount %q: expected a fraction such as 1/3", text)
		}
		amount, _ = r.Float64()
		return amount, true, nil
	case strings.HasSuffix(text, "%"):
		amount, err = measure.ParseNumber(text, "1")
		return amount, true, err
	}
	amount, err = measure.ParseNumber(text, unit)
	return amount, false, err
}

// momentForms are how moments are typed; the first two come from date fields.
var momentForms = []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02", time.RFC3339}

// ParseMoment reads a date, or date and time, as people type it, in the time of
// this computer where none is said; empty is the zero time.
func ParseMoment(text string) (time.Time, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return time.Time{}, nil
	}
	for _, form := range momentForms {
		if t, err := time.ParseInLocation(form, text, time.Local); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("date %q: expected year, month and day, with a time if it matters, for example 2024-02-03 or \"2024-02-03 07:40\"", text)
}

// ParseBand reads "D = 3.1 MHz .. 8.6 MHz".
func ParseBand(text string) (receiver.Band, error) {
	name, span, ok := strings.Cut(text, "=")
	low, high, ok2 := strings.Cut(span, "..")
	if !ok || !ok2 {
		return receiver.Band{}, fmt.Errorf("band %q: expected NAME = LOW .. HIGH, for example D = 3.1 MHz .. 8.6 MHz", text)
	}
	b := receiver.Band{Name: strings.TrimSpace(name)}
	var err error
	if b.LowHz, err = measure.ParseNumber(low, "Hz"); err != nil {
		return b, fmt.Errorf("band %q: %w", b.Name, err)
	}
	if b.HighHz, err = measure.ParseNumber(high, "Hz"); err != nil {
		return b, fmt.Errorf("band %q: %w", b.Name, err)
	}
	if b.LowHz >= b.HighHz {
		return b, fmt.Errorf("band %q: its low end is not below its high end", b.Name)
	}
	return b, nil
}

// BandText writes a band as ParseBand reads it.
func BandText(b receiver.Band) string {
	return fmt.Sprintf("%s = %s .. %s", b.Name, quantity.FormatNumber(b.LowHz, "Hz"), quantity.FormatNumber(b.HighHz, "Hz"))
}

// ParseStage reads "V3 = local oscillator = 6J5".
func ParseStage(text string) (receiver.Stage, error) {
	p := strings.SplitN(text, "=", 3)
	if len(p) != 3 {
		return receiver.Stage{}, fmt.Errorf("stage %q: expected POSITION = DUTY = VALVE, for example V3 = local oscillator = 6J5", text)
	}
	return receiver.Stage{Position: strings.TrimSpace(p[0]), Duty: strings.TrimSpace(p[1]), Valve: strings.TrimSpace(p[2])}, nil
}

// StageText writes a stage as ParseStage reads it.
func StageText(s receiver.Stage) string {
	return fmt.Sprintf("%s = %s = %s", s.Position, s.Duty, s.Valve)
}

// ParseCondition reads a condition of a claim as people type it ("±100 Hz" for
// band_hz) and writes it as figures carry it ("100").
func ParseCondition(name, text string) (string, error) {
	text = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(text), "±"))
	for suffix, unit := range map[string]string{"_hz": "Hz", "_s": "s"} {
		if !strings.HasSuffix(name, suffix) {
			continue
		}
		x, err := measure.ParseNumber(text, unit)
		if err != nil {
			return "", fmt.Errorf("%s: %w", strings.TrimSuffix(name, suffix), err)
		}
		return strconv.FormatFloat(x, 'f', -1, 64), nil
	}
	return text, nil
}
