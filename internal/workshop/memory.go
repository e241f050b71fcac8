package workshop

import (
	"math"
	"runtime/debug"
	"sync"
)

// soundMemory is what the program's own memory should stay below while it
// works on recordings, bytes. Work on sound keeps little but throws much away;
// left to itself the collector lets as much garbage gather as there is in use.
// More is taken where it is needed. Set by measuring: less costs time.
const soundMemory = 30 << 20

// sparing counts the analyses that run under the bound.
var sparing struct {
	sync.Mutex
	running int
}

// spareMemory puts the bound up until done is called. A limit from the
// environment stands.
func spareMemory() (done func()) {
	sparing.Lock()
	defer sparing.Unlock()
	if sparing.running == 0 && debug.SetMemoryLimit(-1) != math.MaxInt64 {
		return func() {}
	}
	sparing.running++
	debug.SetMemoryLimit(soundMemory)
	return func() {
		sparing.Lock()
		defer sparing.Unlock()
		if sparing.running--; sparing.running == 0 {
			debug.SetMemoryLimit(math.MaxInt64)
		}
	}
}
