package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"
)

// progress shows a line that fills while long work goes on. It shows nothing
// where nobody watches (a file, a pipe) and nothing for work that is done
// within a second.
type progress struct {
	out   io.Writer
	what  string
	began time.Time
	shown bool
	last  time.Time
}

// newProgress returns a progress line on w, silent unless w is a terminal.
func newProgress(w io.Writer, what string) *progress {
	p := &progress{what: what, began: time.Now()}
	if f, ok := w.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			p.out = w
		}
	}
	return p
}

// set shows the fraction done.
func (p *progress) set(fraction float64) {
	now := time.Now()
	if p.out == nil || now.Sub(p.began) < time.Second || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.shown = now, true
	full := int(30 * min(max(fraction, 0), 1))
	fmt.Fprintf(p.out, "\r%s [%s%s] %3.0f %%  (Ctrl-C stops)", p.what, strings.Repeat("=", full), strings.Repeat(" ", 30-full), 100*fraction)
}

// done takes the line away.
func (p *progress) done() {
	if p.shown {
		fmt.Fprintf(p.out, "\r%s\r", strings.Repeat(" ", len(p.what)+60))
	}
}
