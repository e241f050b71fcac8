package demo

import (
	"fmt"
	"strings"
	"time"
)

// The museum's logs come from three people and two programs, so no two years
// look alike. Each function below writes one dialect.

// semicolonLog writes time of day, kHz and °C with decimal commas, CRLF line
// ends and a comment on top, in the encoding of an old desktop program.
func semicolonLog(s sitting, rs []reading) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# oscillator log, %s\r\n# set switched on at %s\r\n", s.start.Format("02.01.2006"), s.start.Format("15:04:05"))
	b.WriteString("Time;Frequency/kHz;Room/°C\r\n")
	for _, r := range rs {
		fmt.Fprintf(&b, "%s;%s;%s\r\n", s.start.Add(r.at).Format("15:04:05"), comma("%.4f", r.hz/1e3), comma("%.1f", r.ambientC))
	}
	return latin1(b.String())
}

// commaLog writes seconds from power-on and hertz, separated by commas.
func commaLog(_ sitting, rs []reading) []byte {
	var b strings.Builder
	b.WriteString("elapsed (s),frequency (Hz),ambient (degC)\n")
	for _, r := range rs {
		fmt.Fprintf(&b, "%.0f,%.1f,%.1f\n", r.at.Seconds(), r.hz, r.ambientC)
	}
	return []byte(b.String())
}

// stampLog writes full time stamps with the zone and MHz, separated by tabs.
func stampLog(s sitting, rs []reading) []byte {
	var b strings.Builder
	b.WriteString("timestamp\tLO MHz\n")
	for _, r := range rs {
		fmt.Fprintf(&b, "%s\t%.7f\n", s.start.Add(r.at).Format(time.RFC3339), r.hz/1e6)
	}
	return []byte(b.String())
}

func comma(format string, x float64) string {
	return strings.Replace(fmt.Sprintf(format, x), ".", ",", 1)
}

// latin1 encodes text whose characters all lie below 256.
func latin1(s string) []byte {
	out := make([]byte, 0, len(s))
	for _, r := range s {
		out = append(out, byte(r))
	}
	return out
}
